//! `lastply completions`: what a shell needs to complete the command line.

use super::args::{Arguments, CompletionsArgs};
use super::failure::Failure;
use super::streams::Streams;
use clap::CommandFactory;

/// Prints it.
pub fn run(args: &CompletionsArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let mut command = Arguments::command();
    let name = command.get_name().to_owned();
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, name, &mut script);
    streams.write_bytes(&script);
    Ok(0)
}
