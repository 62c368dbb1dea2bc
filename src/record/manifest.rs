//! The list of a record: what it was made by, from and into, every file with its digest.

use super::inputs::{Inputs, Revision};
use super::measured::{MEASURED, Measurements};
use super::rule_set::rule_set;
use super::{Files, RecordError};
use crate::check::Report;
use crate::diagnostic::Severity;
use crate::render::{CAUTION, Tally, Verdict, counted};
use crate::rules::ALL;
use crate::source::{Source, sha256};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Name of the list in the record's folder.
pub const MANIFEST: &str = "manifest.json";
/// Name of the same digests, the list's own among them, as `sha256sum --check` reads them.
pub const SUMS: &str = "SHA256SUMS";

/// Counts up when a field changes its meaning or goes away.
const SCHEMA_VERSION: u32 = 1;

/// The list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of this layout.
    pub schema_version: u32,
    /// What the record is good for.
    pub caution: String,
    /// What made it.
    pub made_by: MadeBy,
    /// The day waivers are judged on, YYYY-MM-DD.
    pub judged_on: Option<String>,
    /// Dialect over that of the job file.
    pub dialect: Option<String>,
    /// What the check came to.
    pub verdict: VerdictOut,
    /// What was read.
    pub inputs: Vec<Input>,
    /// What was made of it.
    pub results: Vec<Listed>,
}

/// The program and the rules that made a record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MadeBy {
    /// Name of the program.
    pub name: String,
    /// Its version.
    pub version: String,
    /// How many rules it has.
    pub rules: usize,
    /// Digest of their names, severities and manuals.
    pub rule_set: String,
}

impl MadeBy {
    /// This program and its rules.
    #[must_use]
    pub fn this() -> Self {
        let (name, version) = (env!("CARGO_PKG_NAME").to_owned(), env!("CARGO_PKG_VERSION").to_owned());
        Self { name, version, rules: ALL.len(), rule_set: rule_set() }
    }
}

/// The verdict of the check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictOut {
    /// Exit code of a check that fails on errors.
    pub code: u8,
    /// Errors stand open.
    pub failed: bool,
    /// Something needed could not be concluded.
    pub inconclusive: bool,
    /// Open errors.
    pub errors: u64,
    /// Open warnings.
    pub warnings: u64,
    /// Open notes.
    pub notes: u64,
    /// Findings accepted by a waiver.
    pub waived: u64,
    /// Checks that did not run.
    pub not_run: u64,
}

impl VerdictOut {
    /// The counts in words.
    #[must_use]
    pub fn words(&self) -> String {
        let counts = [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")];
        let counts = counts.map(|(count, noun)| counted(count, noun)).join(", ");
        let open = if self.inconclusive { "; not everything could be checked" } else { "" };
        format!("{counts}, {} waived, {} not run{open}", self.waived, counted(self.not_run, "check"))
    }

    pub(super) fn of(report: &Report, fail_on: Severity) -> Self {
        let (verdict, tally) = (Verdict::of(report, fail_on), Tally::of(report));
        let not_run: BTreeSet<&str> = report.not_checked.iter().map(|missing| missing.rule.as_str()).collect();

        // A record knows no baseline: what was there before counts like anything else.
        let Tally { errors, warnings, notes, waived, known: _ } = tally;
        let Verdict { failed, inconclusive } = verdict;
        let not_run = not_run.len() as u64;
        Self { code: verdict.exit(), failed, inconclusive, errors, warnings, notes, waived, not_run }
    }
}

/// One file of the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listed {
    /// Where it stands in the record's folder.
    pub path: String,
    /// Its digest.
    pub sha256: String,
    /// Its length.
    pub bytes: usize,
}

impl Listed {
    fn new(path: &str, bytes: &[u8]) -> Self {
        Self { path: path.to_owned(), sha256: sha256(bytes), bytes: bytes.len() }
    }

    /// Whether a file is the one listed.
    #[must_use]
    pub fn is(&self, bytes: &[u8]) -> bool {
        self.bytes == bytes.len() && self.sha256 == sha256(bytes)
    }
}

/// One file that was read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Input {
    /// Of which revision.
    pub revision: Which,
    /// What it was read as.
    #[serde(flatten)]
    pub role: Role,
    /// The file.
    #[serde(flatten)]
    pub file: Listed,
}

/// The revisions a record may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Which {
    /// The one the record is about.
    This,
    /// The one released before.
    Previous,
}

/// What a file was read as.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "role", rename_all = "kebab-case")]
pub enum Role {
    /// The main program.
    Program,
    /// A subprogram.
    Subprogram {
        /// The number it is called by.
        number: u32,
    },
    /// The job file.
    Job,
    /// A library or table of the job.
    JobFile {
        /// How the job file calls it.
        called: String,
    },
    /// The tool table in place of a job file; it holds for every revision.
    ToolTable,
    /// What was measured, laid over the job of every revision.
    Measured,
}

impl Manifest {
    /// The list of a record with these results.
    pub(super) fn new(inputs: &Inputs, verdict: VerdictOut, results: &Files) -> Self {
        let mut read = entries(Which::This, &inputs.this);
        read.extend(inputs.previous.iter().flat_map(|revision| entries(Which::Previous, revision)));
        let shared =
            |role, path: &str, bytes: &[u8]| Input { revision: Which::This, role, file: Listed::new(path, bytes) };
        read.extend(inputs.tools.iter().map(|table| shared(Role::ToolTable, &table.name, &table.bytes)));
        read.extend(inputs.measured.iter().map(|measured| shared(Role::Measured, MEASURED, &measured.bytes())));
        Self {
            schema_version: SCHEMA_VERSION,
            caution: CAUTION.to_owned(),
            made_by: MadeBy::this(),
            judged_on: inputs.date.map(|date| date.to_string()),
            dialect: inputs.dialect.clone(),
            verdict,
            inputs: read,
            results: results.iter().map(|(path, bytes)| Listed::new(path, bytes)).collect(),
        }
    }

    /// Reads a list.
    ///
    /// # Errors
    /// When the bytes are none, or one of a layout that this version does not know.
    pub fn read(bytes: &[u8]) -> Result<Self, RecordError> {
        let wrong = |why: String| RecordError::Manifest(format!("cannot be read: {why}"));
        let manifest: Self = serde_json::from_slice(bytes).map_err(|error| wrong(error.to_string()))?;
        if manifest.schema_version != SCHEMA_VERSION {
            let version = manifest.schema_version;
            return Err(wrong(format!("it has layout {version}, and this version reads layout {SCHEMA_VERSION}")));
        }
        Ok(manifest)
    }

    /// The list as bytes.
    pub(super) fn bytes(&self) -> Vec<u8> {
        // Strings, numbers and lists cannot fail to serialise.
        (serde_json::to_string_pretty(self).unwrap_or_default() + "\n").into_bytes()
    }

    /// Every file listed; one read as two things is listed twice.
    pub fn listed(&self) -> impl Iterator<Item = &Listed> {
        self.inputs.iter().map(|input| &input.file).chain(&self.results)
    }

    /// The inputs, taken from the files of the record.
    ///
    /// # Errors
    /// When one of them is missing, or the day is none.
    pub fn take_inputs(&self, files: &Files) -> Result<Inputs, RecordError> {
        let wrong = |why: &str| RecordError::Manifest(format!("cannot be read: {why}"));
        let date = self.judged_on.as_ref().map(|day| day.parse()).transpose().map_err(|why: String| wrong(&why))?;
        let previous = self.inputs.iter().any(|input| input.revision == Which::Previous);
        let revision = |which| self.revision(which, files).ok_or_else(|| wrong("a file that was read is missing"));
        Ok(Inputs {
            this: revision(Which::This)?,
            previous: previous.then(|| revision(Which::Previous)).transpose()?,
            date,
            dialect: self.dialect.clone(),
            tools: self.shared(Role::ToolTable, files).map(|(path, bytes)| Source::new(path, bytes)),
            measured: self.shared(Role::Measured, files).map(|(_, bytes)| Measurements::read(bytes)).transpose()?,
        })
    }

    /// The file that was read as `role`, for every revision.
    fn shared<'a>(&'a self, role: Role, files: &'a Files) -> Option<(&'a str, &'a [u8])> {
        let input = self.inputs.iter().find(|input| input.role == role)?;
        Some((input.file.path.as_str(), files.get(&input.file.path)?.as_slice()))
    }

    fn revision(&self, which: Which, files: &Files) -> Option<Revision> {
        let (mut program, mut job) = (None, None);
        let (mut subprograms, mut job_files) = (BTreeMap::new(), BTreeMap::new());
        for input in self.inputs.iter().filter(|input| input.revision == which) {
            let source = Source::new(input.file.path.as_str(), files.get(&input.file.path)?.as_slice());
            match &input.role {
                Role::Program => program = Some(source),
                Role::Job => job = Some(source),
                Role::Subprogram { number } => _ = subprograms.insert(*number, source),
                Role::JobFile { called } => _ = job_files.insert(called.clone(), source),
                Role::ToolTable | Role::Measured => {}
            }
        }
        Some(Revision { program: program?, subprograms, job, job_files })
    }
}

fn entries(revision: Which, of: &Revision) -> Vec<Input> {
    let entry = |role, source: &Source| Input { revision, role, file: Listed::new(&source.name, &source.bytes) };
    let mut entries = vec![entry(Role::Program, &of.program)];
    let numbered = of.subprograms.iter();
    entries.extend(numbered.map(|(number, source)| entry(Role::Subprogram { number: *number }, source)));
    entries.extend(of.job.iter().map(|source| entry(Role::Job, source)));
    let called = of.job_files.iter();
    entries.extend(called.map(|(called, source)| entry(Role::JobFile { called: called.clone() }, source)));
    entries
}

/// Digests by path as `sha256sum` prints them (GNU Coreutils manual, "sha2 utilities"): a name with a backslash or
/// a line end is escaped, and its line opens with a backslash.
pub(super) fn sums(digests: &BTreeMap<&str, String>) -> Vec<u8> {
    let line = |(path, digest): (&&str, &String)| {
        let escaped = path.replace('\\', "\\\\").replace('\n', "\\n").replace('\r', "\\r");
        let mark = if escaped == **path { "" } else { "\\" };
        format!("{mark}{digest}  {escaped}\n")
    };
    digests.iter().map(line).collect::<String>().into_bytes()
}
