//! The command line: the only part that touches disk, clock, environment and terminal.

mod args;
mod check;
mod clock;
mod compare;
mod completions;
mod edges;
mod editor;
mod failure;
mod files;
mod fit;
mod holes;
mod job_files;
mod known;
mod man;
mod moves;
mod parallel;
mod patch;
mod record;
mod rules;
mod schema;
mod sheet;
mod start;
mod streams;
mod subprograms;
mod tune;
mod walk;
mod write;

use args::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use std::ffi::OsString;
use std::panic::{self, AssertUnwindSafe};
use std::process::ExitCode;
use streams::{Streams, note};

/// Unusable input or arguments.
const UNUSABLE: u8 = 2;
/// Something needed could not be concluded.
const INCONCLUSIVE: u8 = 3;
/// Our own fault (the value of `EX_SOFTWARE` in BSD `sysexits.h`).
const OUR_FAULT: u8 = 70;

/// Runs the command this process was started with.
pub fn run() -> ExitCode {
    panic::set_hook(Box::new(|fault| note(&format!("lastply: internal fault: {fault}"))));
    ExitCode::from(guarded(|| command(std::env::args_os())))
}

/// Runs `work`; a panic in it is named our fault and ends in exit code 70.
fn guarded(work: impl FnOnce() -> u8) -> u8 {
    panic::catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| {
        note(
            "This is a fault of lastply, not of your program. Do not rely on what it printed before.\n\
             Please report it with the command and the files it was given.",
        );
        OUR_FAULT
    })
}

/// Reads the arguments and runs the command they name.
fn command(line: impl Iterator<Item = OsString>) -> u8 {
    let arguments = match Arguments::try_parse_from(line) {
        Ok(arguments) => arguments,
        Err(error) => return usage(&error),
    };
    let mut streams = Streams::open(arguments.color);
    let result = match &arguments.command {
        Command::Check(args) => check::run(args, &mut streams),
        Command::Moves(args) => moves::run(args, &mut streams),
        Command::Holes(args) => holes::run(args, &mut streams),
        Command::Edges(args) => edges::run(args, &mut streams),
        Command::Patch(args) => patch::run(args, &mut streams),
        Command::Tune(args) => tune::run(args, &mut streams),
        Command::Compare(args) => compare::run(args, &mut streams),
        Command::Fit(args) => fit::run(args, &mut streams),
        Command::Record(args) => record::run(args, &mut streams),
        Command::Sheet(args) => sheet::run(args, &mut streams),
        Command::Start(args) => start::run(args, &mut streams),
        Command::Schema(args) => schema::run(args, &mut streams),
        Command::Completions(args) => completions::run(args, &mut streams),
        Command::Man(args) => man::run(args, &mut streams),
        Command::Rules(args) => rules::run(args, &mut streams),
        Command::Editor(args) => editor::run(args),
    };
    let result = result.and_then(|code| streams.finish().map(|()| code));
    result.unwrap_or_else(|failure: Failure| {
        note(&failure.to_string());
        UNUSABLE
    })
}

/// Prints what clap has to say: help and version are answers, the rest are complaints.
fn usage(error: &clap::Error) -> u8 {
    let mut streams = Streams::open(args::When::Auto);
    let (text, look) = (error.render(), if error.use_stderr() { streams.note_look } else { streams.look });
    let text = if look.colour { text.ansi().to_string() } else { text.to_string() };
    if error.use_stderr() {
        note(text.trim_end());
        return UNUSABLE;
    }
    streams.write(&text);
    streams.finish().map_or(UNUSABLE, |()| 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_our_fault_and_a_verdict_is_not() {
        assert_eq!(guarded(|| panic!("a fault made for this test")), OUR_FAULT);
        assert_eq!(guarded(|| 3), 3);
    }
}
