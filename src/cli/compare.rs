//! `lastply compare`: what changed in the machining between two revisions of a program.

use super::args::{CompareArgs, ReportFormat, Setting};
use super::failure::Failure;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::{files, parallel};
use crate::check::{self, Report};
use crate::compare::{self, Names, Revision};
use crate::program::ProgramGraph;
use crate::render::{self, CompareVerdict, Comparison};
use crate::source::Source;
use std::path::Path;

/// One revision read and checked.
struct Side {
    given: Given,
    programs: ProgramGraph,
    report: Report,
    names: Names,
}

/// Prints what changed; exit code 0 when both are identical in motion, 1 when not, 3 when nobody can tell.
pub fn run(args: &CompareArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let (old_source, new_source) = (files::read_program(&args.old)?, files::read_program(&args.new)?);
    let (old_given, new_given) = both_given(args, streams)?;
    let given = [(args.old.as_path(), old_source, old_given), (args.new.as_path(), new_source, new_given)];
    let mut sides = parallel::each(&given, |(path, source, given)| side(path, source, given), |_| {}).into_iter();
    let (Some(old), Some(new)) = (sides.next(), sides.next()) else {
        return Err(Failure::Unusable("a revision was lost while it was read".to_owned()));
    };
    let changes = compare::compare(&old.revision(), &new.revision());
    let findings = compare::finding_changes(&old.report.findings, &new.report.findings);
    let compared = Comparison { old: &old.report, new: &new.report, changes: &changes, findings: &findings };
    streams.write(&match args.format {
        ReportFormat::Terminal => render::comparison(&compared, &streams.look),
        ReportFormat::Json => render::comparison_json(&compared),
    });
    Ok(CompareVerdict::of(&changes).exit())
}

/// What each is read with: the job file given for it, else the one found for it, else that of the other. A control sends
/// programs back without their job files, and read without one they would seem to do other things.
fn both_given(args: &CompareArgs, streams: &Streams) -> Result<(Given, Given), Failure> {
    let setting = Setting {
        job: args.old_job.clone().or_else(|| args.setting.job.clone()),
        dialect: args.setting.dialect.clone(),
        tools: args.setting.tools.clone(),
        date: args.setting.date,
    };
    let (mut old_notes, mut new_notes) = (Vec::new(), Vec::new());
    let mut old = Given::for_program(&args.old, &setting, &streams.note_look, &mut old_notes)?;
    let mut new = Given::for_program(&args.new, &args.setting, &streams.note_look, &mut new_notes)?;
    let lent = |to: &Path, job: &str| vec![format!("note: no job file for `{}`; it is read by {job}", to.display())];
    match (&old.job, &new.job) {
        (None, Some(job)) => {
            old_notes = lent(&args.old, &job.name);
            old = new.clone();
        }
        (Some(job), None) => {
            new_notes = lent(&args.new, &job.name);
            new = old.clone();
        }
        (Some(_), Some(_)) | (None, None) => {}
    }
    old_notes.iter().chain(&new_notes).for_each(|line| note(line));
    Ok((old, new))
}

fn side(path: &Path, source: &Source, given: &Given) -> Side {
    let library = Folder::of(path);
    let job = given.job.as_ref();
    let programs = ProgramGraph::read(source.clone(), &library, &given.options.settings.lexis());
    let report = check::check(source.clone(), job, &library, &given.options);
    let names = Names::new(&report.survey, &report.hole_names, job);
    Side { given: given.clone(), programs, report, names }
}

impl Side {
    fn revision(&self) -> Revision<'_> {
        let options = &self.given.options;
        Revision { programs: &self.programs, settings: &options.settings, tools: &options.tools, names: &self.names }
    }
}
