//! `lastply check`: programs in, one report each out, the worst verdict as exit code.

use super::args::{CheckArgs, CheckFormat, FailOn};
use super::failure::Failure;
use super::files::shown_name;
use super::job_files::{Given, NO_JOB};
use super::known::{Known, Told};
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::walk::{self, Found};
use super::{UNUSABLE, files, parallel, write};
use crate::baseline::Judgement;
use crate::check;
use crate::diagnostic::Severity;
use crate::patch::Patch;
use crate::program::own_number;
use crate::render::{self, Format, Look, Page, Round, TableRow, Verdict};
use crate::source::Library;
use indicatif::{ProgressBar, ProgressStyle};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Programs of one number that are named; more are counted.
const TWINS_SHOWN: usize = 4;

/// Notes of one kind that are said one by one; more are said in one sentence.
const LONE_NOTES: usize = 3;

/// What is the same for every program of a run.
struct Course<'a> {
    args: &'a CheckArgs,
    format: Format,
    fail_on: Severity,
    look: Look,
    note_look: Look,
    known: Option<Known<'a>>,
}

/// What became of one program: notes on it, and its answers.
struct Outcome {
    notes: Vec<String>,
    answers: Result<Answers, Failure>,
}

/// All that is kept of one program.
struct Answers {
    page: Page,
    judgement: Judgement,
    /// Its program number.
    number: Option<u32>,
    /// Its rows of the table, if one was asked for.
    records: Vec<TableRow>,
}

/// Checks every program; one that cannot be read does not keep the others from being checked.
pub fn run(args: &CheckArgs, streams: &mut Streams) -> Result<u8, Failure> {
    if args.table.is_some() {
        // Asked before the work: a build without tables says so at once.
        render::parquet(&[]).map_err(Failure::Unusable)?;
    }
    let Found { programs, jobs, others, notes, failures, .. } = walk::programs(&args.files, &args.endings)?;
    notes.iter().for_each(|line| note(line));
    if programs.len() > 1 && !args.measured.is_empty() {
        let (count, why) = (programs.len(), "what was measured is of one part and its tools");
        return Err(Failure::Unusable(format!("{why}; name one program to check with it, not {count}")));
    }
    let course = Course {
        args,
        format: format(args),
        fail_on: severity(args.fail_on),
        look: streams.look,
        note_look: streams.note_look,
        known: Known::open(&args.known)?,
    };
    let outcomes = check_all(&programs, &course);
    let mut round = Round { jobs, others, ..Round::default() };
    for failure in failures {
        note(&failure.to_string());
        round.unread.push(failure.to_string());
    }
    let answers = gather(outcomes, &mut round);
    round.twins = twins(&programs, &answers);
    let (pages, judgements, records) = part(answers);
    let told = course.known.map(|known| known.close(&judgements, &programs)).transpose()?.unwrap_or_default();
    tell(told, course.format, &mut round);
    if let Some(table) = &args.table {
        write::replace(table, &render::parquet(&records).map_err(Failure::Unusable)?)?;
        note(&format!("wrote `{}`", table.display()));
    }
    let verdict = pages.iter().map(|page| page.verdict).fold(Verdict::default(), Verdict::and);
    streams.write(&render::bind(pages, course.format, course.fail_on, &round, &course.look));
    Ok(match (!round.unread.is_empty(), args.exit_zero) {
        (true, _) => UNUSABLE,
        (false, true) => 0,
        (false, false) => verdict.exit(),
    })
}

/// Every program on all cores, with a bar on standard error where that is a terminal.
fn check_all(programs: &[PathBuf], course: &Course<'_>) -> Vec<Outcome> {
    let bar = if programs.len() > 1 { ProgressBar::new(programs.len() as u64) } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} programs checked [{bar:30}] {eta} to go") {
        bar.set_style(style.progress_chars("=> "));
    }
    let outcomes = parallel::each(programs, |path| course.outcome(path), |done| bar.set_position(done as u64));
    bar.finish_and_clear();
    outcomes
}

impl Course<'_> {
    fn outcome(&self, path: &Path) -> Outcome {
        let mut notes = Vec::new();
        let answers = self.answers(path, &mut notes);
        Outcome { notes, answers }
    }

    fn answers(&self, path: &Path, notes: &mut Vec<String>) -> Result<Answers, Failure> {
        let source = files::read_program(path)?;
        let number = own_number(&source.bytes);
        let given = Given::for_program(path, &self.args.setting, &self.note_look, notes)?;
        let given = given.measured(&self.args.measured, &self.args.setting)?;
        let (job, folder) = (given.job.as_ref(), Folder::of(path));
        let check = |source, library: &dyn Library| check::check(source, job, library, &given.options);
        let mut report = check(source, &folder);
        notes.extend(folder.doubts());
        report.narrow(&self.args.rule);
        let judgement = self.known.as_ref().map(|known| known.judge(path, &mut report)).unwrap_or_default();
        let fixes = match self.format {
            Format::Sarif => {
                let inputs = report.patch_inputs(job, &folder, &given.options);
                Patch::each(&inputs, &|source, library| check(source, library).into())
            }
            Format::Terminal | Format::Table | Format::Json | Format::Lines => Vec::new(),
        };
        let page = render::page(&report, &fixes, self.format, self.fail_on, &self.look);
        let table = self.args.table.is_some();
        let records = if table { render::table_rows(&report, job, self.fail_on) } else { Vec::new() };
        Ok(Answers { page, judgement, number, records })
    }
}

/// Says the notes in order, and keeps what was answered; what was not goes to `round`.
fn gather(outcomes: Vec<Outcome>, round: &mut Round) -> Vec<Option<Answers>> {
    let mut kept = Vec::with_capacity(outcomes.len());
    let lone = outcomes.iter().filter(|outcome| outcome.notes.iter().any(|line| line.starts_with(NO_JOB))).count();
    if lone > LONE_NOTES {
        note(&format!("{NO_JOB} {lone} programs; `lastply start PROGRAM` drafts one"));
    }
    for Outcome { notes, answers } in outcomes {
        let said = |line: &&String| lone <= LONE_NOTES || !line.starts_with(NO_JOB);
        notes.iter().filter(said).for_each(|line| note(line));
        kept.push(answers.map_err(|failure| {
            note(&failure.to_string());
            round.unread.push(failure.to_string());
        }));
    }
    kept.into_iter().map(Result::ok).collect()
}

/// Answers sorted by what is done with them.
fn part(answers: Vec<Option<Answers>>) -> (Vec<Page>, Vec<Judgement>, Vec<TableRow>) {
    let (mut pages, mut judgements, mut records) = (Vec::new(), Vec::new(), Vec::new());
    for answers in answers.into_iter().flatten() {
        pages.push(answers.page);
        judgements.push(answers.judgement);
        records.extend(answers.records);
    }
    (pages, judgements, records)
}

/// Programs that share a number: a control keeps one of them.
fn twins(programs: &[PathBuf], answers: &[Option<Answers>]) -> Vec<String> {
    let mut names: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    for (path, answers) in programs.iter().zip(answers) {
        if let Some(number) = answers.as_ref().and_then(|answers| answers.number) {
            names.entry(number).or_default().push(shown_name(path));
        }
    }
    let shared = names.into_iter().filter(|(_, names)| names.len() > 1);
    shared
        .map(|(number, names)| {
            let mut text = names.iter().take(TWINS_SHOWN).cloned().collect::<Vec<_>>().join(", ");
            if names.len() > TWINS_SHOWN {
                text.push_str(&format!(" and {} more", names.len() - TWINS_SHOWN));
            }
            format!("program number {number} stands in {} files: {text}", names.len())
        })
        .collect()
}

/// What became of the baseline goes into the report where that has a place for it, else to standard error.
fn tell(told: Told, format: Format, round: &mut Round) {
    told.notes.iter().for_each(|line| note(line));
    if matches!(format, Format::Json | Format::Sarif | Format::Terminal) {
        told.stale.iter().for_each(|entry| note(&format!("stale in the baseline: {entry}")));
    }
    round.stale = told.stale;
}

/// The format asked for; a folder is told as a table unless asked otherwise.
fn format(args: &CheckArgs) -> Format {
    match args.format {
        Some(CheckFormat::Terminal) => Format::Terminal,
        Some(CheckFormat::Table) => Format::Table,
        Some(CheckFormat::Json) => Format::Json,
        Some(CheckFormat::Jsonl) => Format::Lines,
        Some(CheckFormat::Sarif) => Format::Sarif,
        None if args.files.iter().any(|file| file.is_dir()) => Format::Table,
        None => Format::Terminal,
    }
}

fn severity(fail_on: FailOn) -> Severity {
    match fail_on {
        FailOn::Error => Severity::Error,
        FailOn::Warning => Severity::Warning,
        FailOn::Note => Severity::Note,
    }
}
