//! What a record is made from: every file a check reads, in memory, under the name it has in the record.

use super::measured::{MEASURED, Measurements};
use super::{Files, RecordError};
use crate::check::{self, Options, Report};
use crate::job::{Date, Job, JobFiles};
use crate::motion::ToolTable;
use crate::program::ProgramGraph;
use crate::rules;
use crate::source::{Library, Source};
use std::collections::BTreeMap;

/// The folder of a record that holds what was read; names of sources begin with it.
pub const INPUTS: &str = "inputs";

/// Everything the results follow from.
#[derive(Clone, Debug, PartialEq)]
pub struct Inputs {
    /// The program the record is about.
    pub this: Revision,
    /// The revision released before it, to tell what changed.
    pub previous: Option<Revision>,
    /// The day waivers are judged on.
    pub date: Option<Date>,
    /// Dialect over that of the job file.
    pub dialect: Option<String>,
    /// Tool table in place of a job file.
    pub tools: Option<Source>,
    /// What was measured at the machine.
    pub measured: Option<Measurements>,
}

/// One program with everything it is read and judged by.
#[derive(Clone, Debug, PartialEq)]
pub struct Revision {
    /// The main program.
    pub program: Source,
    /// Files of subprograms by the number they are called by.
    pub subprograms: BTreeMap<u32, Source>,
    /// The job file.
    pub job: Option<Source>,
    /// Libraries and tables by the name the job file calls them.
    pub job_files: BTreeMap<String, Source>,
}

impl Library for Revision {
    fn find(&self, number: u32) -> Option<Source> {
        self.subprograms.get(&number).cloned()
    }
}

impl JobFiles for Revision {
    fn read(&self, name: &str) -> Result<Source, String> {
        self.job_files.get(name).cloned().ok_or_else(|| format!("`{name}` is not in the record"))
    }
}

impl Revision {
    /// Every file of the revision.
    pub fn sources(&self) -> impl Iterator<Item = &Source> {
        let others = self.subprograms.values().chain(&self.job).chain(self.job_files.values());
        std::iter::once(&self.program).chain(others)
    }
}

impl Inputs {
    /// Every file that was read.
    #[must_use]
    pub fn files(&self) -> Files {
        let revisions = std::iter::once(&self.this).chain(&self.previous);
        let sources = revisions.flat_map(Revision::sources).chain(&self.tools);
        let mut files: Files = sources.map(|source| (source.name.clone(), source.bytes.clone())).collect();
        files.extend(self.measured.as_ref().map(|measured| (MEASURED.to_owned(), measured.bytes())));
        files
    }
}

/// A revision checked.
pub(super) struct Run<'a> {
    pub revision: &'a Revision,
    pub job: Option<Job>,
    pub options: Options,
    pub programs: ProgramGraph,
    pub report: Report,
}

impl<'a> Run<'a> {
    /// Checks one revision of `inputs`.
    pub fn new(revision: &'a Revision, inputs: &Inputs) -> Result<Self, RecordError> {
        let job = revision.job.as_ref().map(|main| rules::load_job(main, revision)).transpose();
        let mut job = job.map_err(RecordError::Job)?;
        let mut dialect = inputs.dialect.clone();
        if let Some(job) = &mut job {
            job.head.date = inputs.date;
            job.machine.dialect = inputs.dialect.clone().or(job.machine.dialect.take());
            dialect = job.machine.dialect.clone();
        }
        if let Some(measured) = &inputs.measured {
            job = Some(measured.over(job)?);
        }
        let options = Options::in_dialect(job.as_ref(), dialect.as_deref());
        let mut options = options.ok_or_else(|| RecordError::Dialect(dialect.unwrap_or_default()))?;
        if let Some(table) = &inputs.tools {
            options.tools = ToolTable::read(table).map_err(RecordError::Tools)?;
        }
        let programs = ProgramGraph::read(revision.program.clone(), revision, &options.settings.lexis());
        // The sheet shows the stretches of cuts; the proofs of patches do without.
        let keeping = Options { keep_stretches: true, ..options.clone() };
        let report = check::check(revision.program.clone(), job.as_ref(), revision, &keeping);
        Ok(Self { revision, job, options, programs, report })
    }
}
