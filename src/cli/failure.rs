//! Why a command could not do its work; each message says what to do next.

use std::io;
use std::path::Path;
use thiserror::Error;

/// Everything that ends a command with exit code 2.
#[derive(Debug, Error)]
pub enum Failure {
    /// A file could not be read.
    #[error("cannot read `{path}`: {why}")]
    Read {
        /// Which.
        path: String,
        /// Why.
        why: String,
    },
    /// A file could not be written.
    #[error("cannot write `{path}`: {why}; {state}")]
    Write {
        /// Which.
        path: String,
        /// Why.
        why: String,
        /// What is on disk now.
        state: &'static str,
    },
    /// Standard output could not be written.
    #[error("cannot write standard output: {0}")]
    Output(String),
    /// The job file has mistakes, already worded.
    #[error("{0}")]
    Job(String),
    /// Anything else about the arguments or input.
    #[error("{0}")]
    Unusable(String),
}

impl Failure {
    /// A failed read.
    pub fn read(path: &Path, error: &io::Error) -> Self {
        Self::Read { path: path.display().to_string(), why: reason(error) }
    }

    /// A failed write that left `path` as it was.
    pub fn write(path: &Path, error: &io::Error) -> Self {
        let state = "nothing was changed";
        Self::Write { path: path.display().to_string(), why: reason(error), state }
    }
}

/// The reason in our own words where the trade of files has one, so that it reads the same on every system.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "permission denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder, not a file".to_owned(),
        io::ErrorKind::NotADirectory => "a part of the path is not a folder".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::QuotaExceeded => "the disk quota is used up".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        io::ErrorKind::AlreadyExists => "it is there already".to_owned(),
        _ => error.to_string(),
    }
}
