//! The command line.

use std::process::ExitCode;

/// Runs the command.
pub fn run() -> ExitCode {
    ExitCode::SUCCESS
}
