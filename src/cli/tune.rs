//! `lastply tune`: a faster program as a proved diff; files are written only when asked for.

use super::args::{TuneArgs, TuneFormat};
use super::failure::Failure;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::{INCONCLUSIVE, files, write};
use crate::check;
use crate::diagnostic::{Severity, Status};
use crate::render;
use crate::source::Source;
use crate::tune::{Part, Task, tune};

/// Proposes a faster program. Exit code 1 when the program has errors already, 3 when not everything could be checked.
pub fn run(args: &TuneArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    let mut notes = Vec::new();
    let mut given = Given::for_program(&args.file, &args.setting, &streams.note_look, &mut notes)?;
    given.options.keep_stretches = true;
    notes.iter().for_each(|line| note(line));
    let Some(job) = &given.job else {
        let why = "no job file: without it no window is known; `lastply start` drafts one";
        return Err(Failure::Unusable(why.to_owned()));
    };
    let folder = Folder::of(&args.file);
    let check = |source: Source| check::check(source, Some(job), &folder, &given.options);
    let task = Task {
        job,
        settings: &given.options.settings,
        tools: &given.options.tools,
        library: &folder,
        replay: &|source| check(source).into(),
        progress: &|text| note(&format!("tuning {text}")),
    };
    let parts: Vec<Part> =
        Part::ALL.into_iter().filter(|part| args.only.is_empty() || args.only.contains(part)).collect();
    let tuned = tune(source, &parts, &task);
    if let Some(contradiction) = tuned.steps.iter().find_map(|step| step.contradiction.as_ref()) {
        return Err(Failure::Unusable(format!(
            "nothing was tuned: what must come first contradicts itself: {contradiction}; mend `tune.pin` in {}",
            job.name
        )));
    }
    match args.format {
        TuneFormat::Diff => {
            streams.write_bytes(&tuned.diff());
            note(render::tune_report(&tuned, job, &streams.note_look).trim_end());
        }
        TuneFormat::Report => streams.write(&render::tune_report(&tuned, job, &streams.look)),
        TuneFormat::Json => streams.write(&render::tune_json(&tuned, job)),
    }
    if let Some(out) = &args.write {
        write::replace(out, tuned.text())?;
    }
    let open = |severity| {
        move |finding: &crate::diagnostic::Finding| finding.status == Status::Open && finding.severity >= severity
    };
    let after = &tuned.after;
    Ok(if after.findings.iter().any(open(Severity::Error)) {
        1
    } else if after.not_checked.iter().any(|missing| missing.needed) {
        INCONCLUSIVE
    } else {
        0
    })
}
