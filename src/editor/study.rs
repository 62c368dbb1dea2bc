//! One program as the editor needs it: its job found and read, its report, and where its sources stand.

use super::actions::Proofs;
use super::desk::{Desk, Named, beside, source, straight};
use super::text::Text;
use crate::check::{self, Options, Report};
use crate::job::{Job, JobError};
use crate::motion::{Dialect, run};
use crate::patch::{Checked, Inputs};
use crate::program::ProgramGraph;
use crate::rules;
use crate::source::{Library, SourceId};
use lsp_types::Location;
use std::path::{Path, PathBuf};

/// A program that was read, and judged where its job allowed it.
pub struct Study {
    /// Where the program stands.
    pub path: PathBuf,
    /// Where its job file stands.
    pub job_path: Option<PathBuf>,
    /// What came of it.
    pub outcome: Result<Judged, Fault>,
    /// Patches proved since.
    pub proofs: Proofs,
}

/// Why nothing was judged.
pub enum Fault {
    /// The job file cannot be read.
    Unreadable(String),
    /// The job file has mistakes, each with the file it stands in.
    Job(Vec<(PathBuf, JobError)>),
    /// The job file names a dialect nobody knows.
    Dialect(String),
}

/// A judged program.
pub struct Judged {
    /// The job, if there is one.
    pub job: Option<Job>,
    /// Dialect and tool offsets.
    pub options: Options,
    /// What was found.
    pub report: Report,
    /// The sources of the report with their lines.
    pub texts: Vec<Text>,
}

impl Study {
    /// Reads and judges an open program.
    pub fn of(path: &Path, desk: &Desk<'_>) -> Self {
        // A text that is no file has no folder to look for a job in.
        let job_path = Some(path).filter(|path| path.is_absolute()).and_then(|path| desk.disk.job_of(path));
        let job_path = job_path.map(|job| straight(&job));
        let job = job_path.as_ref().map(|job| load(job, desk)).transpose();
        let outcome = job.and_then(|job| Judged::of(path, job, desk));
        Self { path: path.to_owned(), job_path, outcome, proofs: Proofs::default() }
    }

    /// What was judged, if anything.
    pub fn judged(&self) -> Option<&Judged> {
        self.outcome.as_ref().ok()
    }

    /// Which source of the run a file is.
    pub fn source_of(&self, path: &Path) -> Option<SourceId> {
        let mut sources = (0..).zip(self.judged()?.report.sources.iter());
        let found = sources.find(|(id, source)| match id {
            0 => path == self.path,
            _ => path == beside(&self.path, &source.name),
        });
        found.map(|(id, _)| SourceId(id))
    }

    /// Where a source of the run stands.
    pub fn path_of(&self, id: SourceId) -> PathBuf {
        let name = self.judged().and_then(|judged| judged.report.sources.get(usize::from(id.0)));
        match name {
            Some(source) if id != SourceId::default() => beside(&self.path, &source.name),
            _ => self.path.clone(),
        }
    }

    /// A place in one of the sources as the editor names it.
    pub fn location(&self, id: SourceId, span: crate::source::Span, desk: &Desk<'_>) -> Option<Location> {
        let text = self.judged()?.texts.get(usize::from(id.0))?;
        Some(Location { uri: desk.uri(&self.path_of(id))?, range: text.range(span, desk.columns) })
    }
}

impl Judged {
    fn of(path: &Path, job: Option<Job>, desk: &Desk<'_>) -> Result<Self, Fault> {
        let options = options(job.as_ref())?;
        let main = source(path, desk.read(path).map_err(Fault::Unreadable)?);
        let report = check::check(main, job.as_ref(), &desk.library(path), &options);
        let texts = report.sources.iter().map(|source| Text::new(source.bytes.clone())).collect();
        Ok(Self { job, options, report, texts })
    }

    /// The same as a patch starts from it.
    pub fn inputs<'a>(&'a self, library: &'a dyn Library) -> Inputs<'a> {
        self.report.patch_inputs(self.job.as_ref(), library, &self.options)
    }

    /// Judges a patched copy of the program.
    pub fn recheck(&self, program: crate::source::Source, library: &dyn Library) -> Checked {
        check::check(program, self.job.as_ref(), library, &self.options).into()
    }

    /// The programs of the run and their calls.
    pub fn programs(&self, library: &dyn Library) -> ProgramGraph {
        let main = self.report.sources.first().cloned().unwrap_or_else(|| crate::source::Source::new("", ""));
        ProgramGraph::read(main, library, &self.options.settings.lexis())
    }

    /// Runs the program once more past somebody who looks at single blocks.
    pub fn run(&self, library: &dyn Library, observer: &mut impl crate::motion::Observer) {
        run(&self.programs(library), &self.options.settings, &self.options.tools, observer);
    }
}

/// Every mistake of a job file, with the file it stands in; none when it can be used.
pub fn job_faults(path: &Path, desk: &Desk<'_>) -> Vec<(PathBuf, JobError)> {
    match load(path, desk) {
        Err(Fault::Job(faults)) => faults,
        Ok(_) | Err(Fault::Unreadable(_) | Fault::Dialect(_)) => Vec::new(),
    }
}

fn load(path: &Path, desk: &Desk<'_>) -> Result<Job, Fault> {
    let files: Named<'_> = desk.job_files(path);
    let main = source(path, desk.read(path).map_err(Fault::Unreadable)?);
    let placed = |error: JobError| {
        let at = if error.file.name == main.name { path.to_owned() } else { files.path(&error.file.name) };
        (at, error)
    };
    let mut job =
        rules::load_job(&main, &files).map_err(|errors| Fault::Job(errors.into_iter().map(placed).collect()))?;
    job.head.date = job.head.date.or_else(|| desk.disk.today());
    Ok(job)
}

fn options(job: Option<&Job>) -> Result<Options, Fault> {
    Options::of_job(job).ok_or_else(|| {
        let named = job.and_then(|job| job.machine.dialect.clone()).unwrap_or_default();
        let known = Dialect::names().collect::<Vec<_>>().join(", ");
        Fault::Dialect(format!("there is no dialect `{named}`; known are {known}"))
    })
}
