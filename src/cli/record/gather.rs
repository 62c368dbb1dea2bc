//! Everything a check reads, gathered from disk under names that do not depend on the machine.

use super::super::args::{Measurements as Given, NewRecord, RecordArgs, Setting};
use super::super::failure::Failure;
use super::super::files::read_program;
use super::super::job_files::{self, faults, job_path, options};
use super::super::{clock, subprograms};
use super::place::{Places, plain};
use crate::job::{Date, JobFiles};
use crate::program::ProgramGraph;
use crate::record::{Inputs, Measurements, Revision};
use crate::render::Look;
use crate::rules;
use crate::source::{Library, Source};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A file with where it stands on this machine.
#[derive(Clone)]
struct Found {
    path: PathBuf,
    source: Source,
}

impl Found {
    fn read(path: &Path) -> Result<Self, Failure> {
        Ok(Self { path: plain(path)?, source: read_program(path)? })
    }

    fn placed(self, places: &Places) -> Source {
        Source::new(places.name(&self.path), self.source.bytes)
    }
}

/// A program with everything read for it.
struct FoundRevision {
    program: Found,
    subprograms: BTreeMap<u32, Found>,
    job: Option<Found>,
    job_files: BTreeMap<String, Found>,
    /// The day the job file is judged on.
    date: Option<Date>,
}

/// Reads a program and what it is judged by, and the revision before where one is named.
pub fn gather(args: &RecordArgs, new: &NewRecord, look: &Look, notes: &mut Vec<String>) -> Result<Inputs, Failure> {
    let given = &args.setting;
    let setting = |job: Option<PathBuf>| Setting { job, ..given.clone() };
    let job = job_path(&new.file, given);
    if job.is_none() && given.tools.is_none() {
        let name = new.file.display();
        notes.push(format!("note: no job file for `{name}`; `lastply start {name}` drafts one"));
    }
    let this = found(&new.file, &setting(job.clone()), look)?;
    let old_job = |old: &Path| job_path(old, &setting(new.old_job.clone().or(given.job.clone()))).or(job.clone());
    let previous = new.against.as_ref().map(|old| found(old, &setting(old_job(old)), look)).transpose()?;
    let tools = given.tools.as_ref().map(|path| Found::read(path)).transpose()?;
    let all = std::iter::once(&this).chain(&previous).flat_map(FoundRevision::files).chain(&tools);
    let places = Places::of(&this.program.path, all.map(|found| found.path.clone()).collect());
    Ok(Inputs {
        date: given.date.or(this.date).or_else(clock::today),
        dialect: given.dialect.clone(),
        tools: tools.map(|found| found.placed(&places)),
        measured: measured(args),
        this: this.placed(&places),
        previous: previous.map(|revision| revision.placed(&places)),
    })
}

/// What was measured; its day is the one given, or today: never that of the job file.
fn measured(args: &RecordArgs) -> Option<Measurements> {
    let Given { measured, tool } = args.measured.clone();
    let day = args.setting.date.or_else(clock::today).map(|day| day.to_string());
    (!measured.is_empty() || !tool.is_empty()).then_some(Measurements { day, measured, tool })
}

/// Reads one revision by the job file in `setting`.
fn found(program: &Path, setting: &Setting, look: &Look) -> Result<FoundRevision, Failure> {
    let source = read_program(program)?;
    let job_main = setting.job.as_ref().map(|path| Found::read(path)).transpose()?;
    let folder = JobFolder::of(setting.job.as_deref().unwrap_or(Path::new("")));
    let job = job_main
        .as_ref()
        .map(|main| rules::load_job(&main.source, &folder).map_err(|errors| faults(&main.source, &errors, look)));
    let job = job.transpose()?;
    let lexis = options(job.as_ref(), setting)?.settings.lexis();
    let library = ProgramFolder::of(program);
    let _ = ProgramGraph::read(source.clone(), &library, &lexis);
    Ok(FoundRevision {
        program: Found { path: plain(program)?, source },
        subprograms: library.read.into_inner(),
        job: job_main,
        job_files: folder.read.into_inner(),
        date: job.and_then(|job| job.head.date),
    })
}

impl FoundRevision {
    fn files(&self) -> impl Iterator<Item = &Found> {
        let others = self.subprograms.values().chain(&self.job).chain(self.job_files.values());
        std::iter::once(&self.program).chain(others)
    }

    fn placed(self, places: &Places) -> Revision {
        let place = |found: Found| found.placed(places);
        Revision {
            program: place(self.program),
            subprograms: self.subprograms.into_iter().map(|(number, found)| (number, place(found))).collect(),
            job: self.job.map(place),
            job_files: self.job_files.into_iter().map(|(called, found)| (called, place(found))).collect(),
        }
    }
}

/// The folder of a job file, which remembers what was read from it.
struct JobFolder {
    folder: job_files::Folder,
    read: RefCell<BTreeMap<String, Found>>,
}

impl JobFolder {
    fn of(job: &Path) -> Self {
        Self { folder: job_files::Folder::of(job), read: RefCell::default() }
    }
}

impl JobFiles for JobFolder {
    fn read(&self, name: &str) -> Result<Source, String> {
        let source = self.folder.read(name)?;
        let path = plain(&self.folder.path(name)).map_err(|failure| failure.to_string())?;
        self.read.borrow_mut().insert(name.to_owned(), Found { path, source: source.clone() });
        Ok(source)
    }
}

/// The folder of a program, which remembers the subprograms that were asked for and are there.
struct ProgramFolder {
    folder: subprograms::Folder,
    read: RefCell<BTreeMap<u32, Found>>,
}

impl ProgramFolder {
    fn of(program: &Path) -> Self {
        Self { folder: subprograms::Folder::of(program), read: RefCell::default() }
    }
}

impl Library for ProgramFolder {
    fn find(&self, number: u32) -> Option<Source> {
        let source = self.folder.find(number)?;
        let path = plain(self.folder.path(number)?).ok()?;
        self.read.borrow_mut().insert(number, Found { path, source: source.clone() });
        Some(source)
    }
}
