//! The `lastply` command: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    lastply::cli::run()
}
