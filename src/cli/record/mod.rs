//! `lastply record`: a folder of evidence made, verified or signed.

pub mod args;
mod folder;
mod gather;
mod place;
mod sign;
mod verify;

use super::args::{NewRecord, RecordArgs, WithRecord};
use super::failure::Failure;
use super::streams::{Streams, note};
use crate::record::{self, MANIFEST, Manifest};
use crate::render::counted;
use crate::source::sha256;

/// Makes a record, or does with one what the arguments say.
pub fn run(args: &RecordArgs, streams: &mut Streams) -> Result<u8, Failure> {
    match (&args.with, &args.new) {
        (Some(WithRecord::Verify(args)), _) => verify::run(args, streams),
        (Some(WithRecord::Sign(args)), _) => sign::run(args, streams),
        (None, Some(new)) => make(args, new, streams),
        (None, None) => Err(Failure::Unusable("name a program and a folder for its record".to_owned())),
    }
}

/// Makes a record; the exit code is that of a check that fails on errors.
fn make(args: &RecordArgs, new: &NewRecord, streams: &mut Streams) -> Result<u8, Failure> {
    folder::may_be_made(&new.folder)?;
    let mut notes = Vec::new();
    let inputs = gather::gather(args, new, &streams.note_look, &mut notes)?;
    notes.iter().for_each(|line| note(line));
    let files = record::files(&inputs).map_err(|error| Failure::Unusable(error.to_string()))?;
    folder::store(&new.folder, &files)?;
    let list = files.get(MANIFEST).map_or(&[][..], Vec::as_slice);
    let verdict = Manifest::read(list).map_err(|error| Failure::Unusable(error.to_string()))?.verdict;
    let text = format!(
        "recorded in {}: {} about {}; {}",
        new.folder.display(),
        counted(files.len() as u64, "file"),
        inputs.this.program.name,
        verdict.words(),
    );
    streams.write(&streams.look.wrapped("", "  ", &text));
    streams.write(&format!("  {MANIFEST} sha256 {}\n", sha256(list)));
    Ok(verdict.code)
}
