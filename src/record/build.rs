//! From inputs to the files of a record.

use super::inputs::{Inputs, Run};
use super::manifest::{MANIFEST, Manifest, SUMS, VerdictOut, sums};
use super::summary::{Summary, summary};
use super::{Files, RecordError};
use crate::check::{self, Report};
use crate::compare::{self, Names};
use crate::diagnostic::Severity;
use crate::motion;
use crate::operation::CourseWatch;
use crate::patch::Patch;
use crate::render::{self, Comparison, Format, Look, Paper, Round, SheetSource};
use crate::source::{Library, Source, sha256};

/// Findings of this severity or above fail the check of a record.
const FAIL_ON: Severity = Severity::Error;

/// All files of the record of `inputs`. The same inputs give the same bytes.
///
/// # Errors
/// When a job file has mistakes, a dialect is not known or the sheet cannot be drawn up.
pub fn files(inputs: &Inputs) -> Result<Files, RecordError> {
    let run = Run::new(&inputs.this, inputs)?;
    let previous = inputs.previous.as_ref().map(|revision| Run::new(revision, inputs)).transpose()?;
    let patch = patch(&run);
    let mut results = reports(&run);
    results.extend(patch_files(&run, &patch));
    put(&mut results, "sheet.html", sheet(&run)?);
    put(&mut results, "waivers.json", render::waivers_json(&run.report, inputs.date));
    let headline = previous.as_ref().map(|previous| changes(previous, &run, &mut results));
    let verdict = VerdictOut::of(&run.report, FAIL_ON);
    let summed = Summary { inputs, run: &run, patch: &patch, headline: headline.as_deref(), verdict: &verdict };
    put(&mut results, "summary.txt", summary(&summed));
    let manifest = Manifest::new(inputs, verdict, &results);
    let mut files = inputs.files();
    files.extend(results);
    files.insert(MANIFEST.to_owned(), manifest.bytes());
    let digests = files.iter().map(|(path, bytes)| (path.as_str(), sha256(bytes))).collect();
    let sums = sums(&digests);
    files.insert(SUMS.to_owned(), sums);
    Ok(files)
}

fn put(files: &mut Files, name: &str, text: impl Into<Vec<u8>>) {
    files.insert(name.to_owned(), text.into());
}

/// The check of a changed program, as patches are proved.
fn recheck(run: &Run<'_>, source: Source, library: &dyn Library) -> Report {
    check::check(source, run.job.as_ref(), library, &run.options)
}

fn patch(run: &Run<'_>) -> Patch {
    let inputs = run.report.patch_inputs(run.job.as_ref(), run.revision, &run.options);
    Patch::propose(&inputs, &|source, library| recheck(run, source, library).into())
}

/// The report in every format, with the holes and edges it speaks of.
fn reports(run: &Run<'_>) -> Files {
    let (report, job, look) = (&run.report, run.job.as_ref(), Look::default());
    let inputs = report.patch_inputs(job, run.revision, &run.options);
    let fixes = Patch::each(&inputs, &|source, library| recheck(run, source, library).into());
    let mut files = Files::new();
    for (name, format) in
        [("check.txt", Format::Terminal), ("check.json", Format::Json), ("check.sarif", Format::Sarif)]
    {
        let page = render::page(report, &fixes, format, FAIL_ON, &look);
        put(&mut files, name, render::bind(vec![page], format, FAIL_ON, &Round::default(), &look));
    }
    put(&mut files, "holes.txt", render::holes(report, job, &look));
    put(&mut files, "edges.txt", render::edges(report, job, &look));
    files
}

/// The proposed patch and what checking the patched copy gave.
fn patch_files(run: &Run<'_>, patch: &Patch) -> Files {
    let findings = &run.report.findings;
    let mut files = Files::new();
    put(&mut files, "patch.diff", patch.diff());
    put(&mut files, "patch.json", render::patch_json(patch, &run.revision.program.name, findings));
    put(&mut files, "patch.txt", render::patch_notes(patch, findings, &Look::default()));
    files
}

/// The operator's sheet, for A4.
fn sheet(run: &Run<'_>) -> Result<String, RecordError> {
    let Run { job, options, programs, report, .. } = run;
    let mut watch = CourseWatch::new(&report.survey, job.as_ref().map(|job| job.head.entry_z.0));
    motion::run(programs, &options.settings, &options.tools, &mut watch);
    let course = watch.finish();
    let from = SheetSource { report, job: job.as_ref(), course: &course, fail_on: FAIL_ON, paper: Paper::A4 };
    render::sheet(&from).map_err(|error| RecordError::Sheet(error.to_string()))
}

/// What changed since the revision before; returns it in one line.
fn changes(previous: &Run<'_>, this: &Run<'_>, files: &mut Files) -> String {
    let names = |run: &Run<'_>| Names::new(&run.report.survey, &run.report.hole_names, run.job.as_ref());
    let (old_names, new_names) = (names(previous), names(this));
    let changes = compare::compare(&revision(previous, &old_names), &revision(this, &new_names));
    let findings = compare::finding_changes(&previous.report.findings, &this.report.findings);
    let compared = Comparison { old: &previous.report, new: &this.report, changes: &changes, findings: &findings };
    put(files, "changes.txt", render::comparison(&compared, &Look::default()));
    put(files, "changes.json", render::comparison_json(&compared));
    render::headline(&changes)
}

fn revision<'a>(run: &'a Run<'_>, names: &'a Names) -> compare::Revision<'a> {
    let Run { programs, options, .. } = run;
    compare::Revision { programs, settings: &options.settings, tools: &options.tools, names }
}
