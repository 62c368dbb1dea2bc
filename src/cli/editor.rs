//! `lastply editor`: the language server on standard input and output.

use super::args::EditorArgs;
use super::failure::Failure;
use super::files::read;
use super::subprograms::Folder;
use super::{clock, job_files};
use crate::editor::{Disk, Parting, serve};
use crate::job::Date;
use lsp_server::Connection;
use std::path::{Path, PathBuf};

/// The editor left without saying so, as the protocol's specification has it.
const LEFT: u8 = 1;

/// The disk of this machine.
struct Machine;

impl Disk for Machine {
    fn read(&self, path: &Path) -> Result<Vec<u8>, String> {
        read(path).map_err(|failure| failure.to_string())
    }

    fn job_of(&self, program: &Path) -> Option<PathBuf> {
        job_files::discover(program)
    }

    fn subprograms(&self, main: &Path) -> Vec<(u32, PathBuf)> {
        Folder::of(main).into_files()
    }

    fn today(&self) -> Option<Date> {
        clock::today()
    }
}

/// Serves until the editor says goodbye or is gone.
pub fn run(_: &EditorArgs) -> Result<u8, Failure> {
    let (connection, threads) = Connection::stdio();
    let parting = serve(&connection, &Machine);
    // The writing thread ends when nobody can send any more.
    drop(connection);
    match parting {
        Parting::Goodbye => {
            threads.join().map_err(|error| Failure::Output(super::failure::reason(&error)))?;
            Ok(0)
        }
        // A reader that still waits for an editor that is gone would keep this process alive.
        Parting::Left => Ok(LEFT),
    }
}
