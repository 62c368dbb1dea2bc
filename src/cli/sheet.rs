//! `lastply sheet`: the operator's page, on standard output or in a file.

use super::args::{JudgeArgs, PaperSize, SheetArgs};
use super::failure::Failure;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::{files, write};
use crate::check;
use crate::diagnostic::Severity;
use crate::motion;
use crate::operation::CourseWatch;
use crate::program::ProgramGraph;
use crate::render::{self, Paper, SheetSource, Verdict};

/// Writes the page; the exit code is that of a check that fails on errors.
pub fn run(args: &SheetArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let JudgeArgs { file, setting, measured } = &args.program;
    let source = files::read_program(file)?;
    let mut notes = Vec::new();
    let given = Given::for_program(file, setting, &streams.note_look, &mut notes)?;
    let mut given = given.measured(measured, setting)?;
    notes.iter().for_each(|line| note(line));
    given.options.keep_stretches = true;
    let (job, folder) = (given.job.as_ref(), Folder::of(file));
    let report = check::check(source.clone(), job, &folder, &given.options);
    let programs = ProgramGraph::read(source, &folder, &given.options.settings.lexis());
    let mut watch = CourseWatch::new(&report.survey, job.map(|job| job.head.entry_z.0));
    motion::run(&programs, &given.options.settings, &given.options.tools, &mut watch);
    let course = watch.finish();
    let paper = match args.paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::Letter,
    };
    let from = SheetSource { report: &report, job, course: &course, fail_on: Severity::Error, paper };
    let page = render::sheet(&from).map_err(|error| Failure::Unusable(format!("cannot draw up the sheet: {error}")))?;
    match &args.out {
        Some(out) => write::replace(out, page.as_bytes())?,
        None => streams.write(&page),
    }
    Ok(Verdict::of(&report, Severity::Error).exit())
}
