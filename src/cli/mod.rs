//! The command line: the only part that touches disk, clock, environment and terminal.

mod args;
mod failure;
mod rules;
mod schema;
mod streams;

use args::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use std::ffi::OsString;
use std::io::Write;
use std::panic::{self, AssertUnwindSafe};
use std::process::ExitCode;
use streams::Streams;

/// Unusable input or arguments.
const UNUSABLE: u8 = 2;
/// Our own fault (the value of `EX_SOFTWARE` in BSD `sysexits.h`).
const OUR_FAULT: u8 = 70;

/// Runs the command this process was started with.
pub fn run() -> ExitCode {
    ExitCode::from(guarded(&mut std::io::stderr(), || command(std::env::args_os())))
}

/// Runs `work`; a panic in it becomes a message that names it our fault, and exit code 70.
fn guarded(errors: &mut dyn Write, work: impl FnOnce() -> u8) -> u8 {
    panic::set_hook(Box::new(|_| {}));
    let result = panic::catch_unwind(AssertUnwindSafe(work));
    result.unwrap_or_else(|payload| {
        let cause = payload.downcast_ref::<String>().map(String::as_str);
        let cause = cause.or_else(|| payload.downcast_ref::<&str>().copied()).unwrap_or("no message");
        // Nothing is left to do when even standard error is closed.
        let _ = writeln!(
            errors,
            "lastply: internal fault: {cause}\n  This is a fault of lastply, not of your program. Whatever it printed \
             so far must not be relied on.\n  Please report it with the command and the files it was given.",
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
        Command::Schema(args) => schema::run(args, &mut streams),
        Command::Rules(args) => rules::run(args, &mut streams),
    };
    let result = result.and_then(|code| streams.finish().map(|()| code));
    result.unwrap_or_else(|failure: Failure| {
        streams.note(&failure.to_string());
        UNUSABLE
    })
}

/// Prints what clap has to say: help and version are answers, the rest are complaints.
fn usage(error: &clap::Error) -> u8 {
    let mut streams = Streams::open(args::When::Auto);
    let (text, look) = (error.render(), if error.use_stderr() { streams.note_look } else { streams.look });
    let text = if look.colour { text.ansi().to_string() } else { text.to_string() };
    if error.use_stderr() {
        streams.note(text.trim_end());
        return UNUSABLE;
    }
    streams.write(&text);
    streams.finish().map_or(UNUSABLE, |()| 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_named_our_fault() {
        let mut errors = Vec::new();
        assert_eq!(guarded(&mut errors, || panic!("index {} of 3", 7)), OUR_FAULT);
        let text = String::from_utf8(errors).unwrap();
        assert!(text.contains("index 7 of 3") && text.contains("a fault of lastply"), "{text}");
        assert_eq!(guarded(&mut Vec::new(), || 3), 3);
    }
}
