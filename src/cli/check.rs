//! `lastply check`: programs in, one report each out, the worst verdict as exit code.

use super::args::{CheckArgs, CheckFormat, FailOn};
use super::failure::Failure;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::{UNUSABLE, files, parallel};
use crate::check;
use crate::diagnostic::Severity;
use crate::patch::Patch;
use crate::render::{self, Format, Look, Page, Verdict};
use crate::source::Library;
use std::path::{Path, PathBuf};

/// What became of one program: notes on it, and its page.
struct Outcome {
    notes: Vec<String>,
    page: Result<Page, Failure>,
}

/// Checks every program; one that cannot be read does not keep the others from being checked.
pub fn run(args: &CheckArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let programs = files::programs(&args.files)?;
    let fail_on = severity(args.fail_on);
    let (look, note_look) = (streams.look, streams.note_look);
    let work = |path: &PathBuf| outcome(path, args, look, note_look);
    let progress = |done: usize| {
        if programs.len() > 1 {
            note(&format!("{done} of {} programs checked", programs.len()));
        }
    };
    let mut pages = Vec::with_capacity(programs.len());
    let mut unread = Vec::new();
    for outcome in parallel::each(&programs, work, progress) {
        for line in &outcome.notes {
            note(line);
        }
        match outcome.page {
            Ok(page) => pages.push(page),
            Err(failure) => {
                note(&failure.to_string());
                unread.push(failure.to_string());
            }
        }
    }
    let verdict = pages.iter().map(|page| page.verdict).fold(Verdict::default(), Verdict::and);
    streams.write(&render::bind(pages, format(args.format), fail_on, &unread));
    Ok(match (!unread.is_empty(), args.exit_zero) {
        (true, _) => UNUSABLE,
        (false, true) => 0,
        (false, false) => verdict.exit(),
    })
}

fn outcome(path: &Path, args: &CheckArgs, look: Look, note_look: Look) -> Outcome {
    let mut notes = Vec::new();
    let page = page(path, args, look, note_look, &mut notes);
    Outcome { notes, page }
}

fn page(path: &Path, args: &CheckArgs, look: Look, note_look: Look, notes: &mut Vec<String>) -> Result<Page, Failure> {
    let source = files::read_program(path)?;
    let given = Given::for_program(path, &args.setting, &note_look, notes)?;
    let given = given.measured(&args.measured, &args.setting)?;
    let (job, folder) = (given.job.as_ref(), Folder::of(path));
    let check = |source, library: &dyn Library| check::check(source, job, library, &given.options);
    let report = check(source, &folder);
    let fixes = match args.format {
        CheckFormat::Sarif => {
            let inputs = report.patch_inputs(job, &folder, &given.options);
            Patch::each(&inputs, &|source, library| check(source, library).into())
        }
        CheckFormat::Terminal | CheckFormat::Json => Vec::new(),
    };
    Ok(render::page(&report, &fixes, format(args.format), severity(args.fail_on), &look))
}

fn format(format: CheckFormat) -> Format {
    match format {
        CheckFormat::Terminal => Format::Terminal,
        CheckFormat::Json => Format::Json,
        CheckFormat::Sarif => Format::Sarif,
    }
}

fn severity(fail_on: FailOn) -> Severity {
    match fail_on {
        FailOn::Error => Severity::Error,
        FailOn::Warning => Severity::Warning,
        FailOn::Note => Severity::Note,
    }
}
