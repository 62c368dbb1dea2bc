//! `lastply holes`: the holes of a program with layers, windows and breakthrough.

use super::INCONCLUSIVE;
use super::args::JudgeArgs;
use super::failure::Failure;
use super::files;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use crate::check;
use crate::render;

/// Prints them; exit code 3 when a block was not understood or a hole could not be judged.
pub fn run(args: &JudgeArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    let mut notes = Vec::new();
    let given = Given::for_program(&args.file, &args.setting, &streams.note_look, &mut notes)?;
    let given = given.measured(&args.measured, &args.setting)?;
    notes.iter().for_each(|line| note(line));
    let report = check::check(source, given.job.as_ref(), &Folder::of(&args.file), &given.options);
    streams.write(&render::holes(&report, given.job.as_ref(), &streams.look));
    let coverage = report.coverage;
    Ok(if coverage.understood < coverage.blocks || coverage.judged < coverage.holes { INCONCLUSIVE } else { 0 })
}
