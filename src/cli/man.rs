//! `lastply man`: the manual page of a command, from the same text as its help.

use super::args::{Arguments, ManArgs};
use super::failure::Failure;
use super::streams::Streams;
use clap::CommandFactory;
use clap_mangen::Man;

/// Prints it.
pub fn run(args: &ManArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let mut whole = Arguments::command();
    whole.build();
    let (page, title) = match &args.command {
        None => (whole, "lastply".to_owned()),
        Some(name) => {
            let found = whole.find_subcommand(name).cloned();
            let command = found.ok_or_else(|| Failure::Unusable(format!("there is no command `{name}`")))?;
            (command, format!("lastply-{name}"))
        }
    };
    let mut text = Vec::new();
    let written = Man::new(page).title(title).render(&mut text);
    written.map_err(|error| Failure::Output(error.to_string()))?;
    streams.write_bytes(&text);
    Ok(0)
}
