//! The job file that belongs to a program, and the files it names.

use super::args::{Measurements, Setting};
use super::clock;
use super::failure::Failure;
use super::files::{read, read_program, shown_name};
use crate::check::Options;
use crate::job::{Job, JobError, JobFiles};
use crate::motion::{Dialect, Settings, ToolTable};
use crate::render::{self, Look};
use crate::rules;
use crate::source::Source;
use std::path::{Path, PathBuf};

/// Ending of a job file that stands beside its program, and whole name of one that holds for a folder.
const ENDING: &str = "job.toml";

/// How the note begins that there is none.
pub const NO_JOB: &str = "note: no job file for";

/// The folder of a job file.
pub struct Folder(PathBuf);

impl Folder {
    /// That of a job file at `path`.
    pub fn of(path: &Path) -> Self {
        Self(path.parent().unwrap_or(Path::new("")).to_owned())
    }

    /// Where a file stands that the job file names.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }
}

impl JobFiles for Folder {
    fn read(&self, name: &str) -> Result<Source, String> {
        let path = self.path(name);
        let bytes = read(&path).map_err(|failure| failure.to_string())?;
        Ok(Source::new(shown_name(&path), bytes))
    }
}

/// What a program is read and judged with.
#[derive(Clone)]
pub struct Given {
    /// The job, if there is one.
    pub job: Option<Job>,
    /// Dialect, declared facts and tool offsets.
    pub options: Options,
}

impl Given {
    /// The job asked for, else the one found, else none; with what the arguments say over it.
    pub fn for_program(
        program: &Path,
        setting: &Setting,
        look: &Look,
        notes: &mut Vec<String>,
    ) -> Result<Self, Failure> {
        let path = job_path(program, setting);
        if path.is_none() && setting.tools.is_none() {
            let name = program.display();
            notes.push(format!("{NO_JOB} `{name}`; `lastply start {name}` drafts one"));
        }
        let mut job = path.map(|path| load(&path, look)).transpose()?;
        if let Some(job) = &mut job {
            job.head.date = setting.date.or(job.head.date).or_else(clock::today);
            job.machine.dialect = setting.dialect.clone().or(job.machine.dialect.take());
        }
        let options = options(job.as_ref(), setting)?;
        Ok(Self { job, options })
    }
}

impl Given {
    /// The same with measurements over the job.
    pub fn measured(self, measured: &Measurements, setting: &Setting) -> Result<Self, Failure> {
        if measured.is_empty() {
            return Ok(self);
        }
        let Some(job) = self.job else {
            let why = "what was measured lies over a job file, and there is none: name it with --job";
            return Err(Failure::Unusable(why.to_owned()));
        };
        // The day in the job file is the one it is judged on, not the one somebody measured on.
        let day = setting.date.or_else(clock::today);
        let job = job.measured(&measured.measured, &measured.tool, day).map_err(Failure::Unusable)?;
        let tools = ToolTable::of_job(&job);
        Ok(Self { options: Options { tools, ..self.options }, job: Some(job) })
    }

    /// No job, whatever stands beside the program.
    pub fn without_job(setting: &Setting) -> Result<Self, Failure> {
        Ok(Self { job: None, options: options(None, setting)? })
    }
}

/// The job file asked for, else the one found, unless a tool table takes its place.
pub fn job_path(program: &Path, setting: &Setting) -> Option<PathBuf> {
    match (&setting.job, &setting.tools) {
        (Some(path), _) => Some(path.clone()),
        (None, Some(_)) => None,
        (None, None) => discover(program),
    }
}

/// Dialect and tools from the job and the arguments.
pub fn options(job: Option<&Job>, setting: &Setting) -> Result<Options, Failure> {
    let declared = job.and_then(|job| job.machine.dialect.as_deref());
    let dialect = setting.dialect.as_deref().or(declared).map_or_else(|| Ok(Dialect::shop()), dialect)?;
    let tools = match &setting.tools {
        Some(path) => ToolTable::read(&read_program(path)?).map_err(Failure::Unusable)?,
        None => job.map(ToolTable::of_job).unwrap_or_default(),
    };
    Ok(Options { settings: Settings::of(dialect, job), tools, today: None, keep_stretches: false })
}

fn dialect(name: &str) -> Result<&'static Dialect, Failure> {
    Dialect::named(name).ok_or_else(|| {
        let known = Dialect::names().collect::<Vec<_>>().join(", ");
        Failure::Unusable(format!("there is no dialect `{name}`; known are {known}"))
    })
}

/// Reads a job file; its mistakes come drawn into its text.
fn load(path: &Path, look: &Look) -> Result<Job, Failure> {
    let main = read_program(path)?;
    rules::load_job(&main, &Folder::of(path)).map_err(|errors| faults(&main, &errors, look))
}

/// The mistakes of a job file as a failure.
pub fn faults(main: &Source, errors: &[JobError], look: &Look) -> Failure {
    let drawn = render::job_errors(errors, look);
    let faults = render::counted(errors.len() as u64, "fault");
    Failure::Job(format!("{drawn}{}: {faults} to put right before anything can be judged", main.name))
}

/// The job file of a program: `NAME.job.toml` beside `NAME.nc`, or beside a revision of it such as `NAME_b.nc`, else
/// `job.toml` there or in the nearest folder above. Another program's job file is never taken: a hole judged by the
/// wrong laminate is worse than one not judged.
pub fn discover(program: &Path) -> Option<PathBuf> {
    if let Some(own) = stems(program).into_iter().map(|stem| program.with_file_name(stem)).find(|own| own.is_file()) {
        return Some(own);
    }
    let folder = program.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let whole = std::path::absolute(folder).ok()?;
    for (index, above) in whole.ancestors().enumerate() {
        if above.join(ENDING).is_file() {
            // Said as the user would: with as many steps up as it takes from the program's own folder.
            let up: PathBuf = std::iter::repeat_n("..", index).collect();
            return Some(folder.join(up).join(ENDING));
        }
    }
    None
}

/// Whether a file is named as job files are.
pub fn is_job_file(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name == ENDING || name.ends_with(&format!(".{ENDING}"))
}

/// Names a program's own job file may have, the longest first: a revision's name goes on behind `_`, `-` or a point.
fn stems(program: &Path) -> Vec<String> {
    let name = program.file_stem().unwrap_or_default().to_string_lossy();
    let shorter = name.char_indices().rev().filter(|(_, letter)| matches!(letter, '_' | '-' | '.'));
    let ends = std::iter::once(name.len()).chain(shorter.map(|(at, _)| at)).filter(|end| *end > 0);
    ends.filter_map(|end| Some(format!("{}.{ENDING}", name.get(..end)?))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn the_own_job_file_comes_before_one_for_the_folder() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("a/b");
        fs::create_dir_all(&folder).unwrap();
        let program = folder.join("part.nc");
        assert_eq!(discover(&program), None);
        fs::write(root.path().join("job.toml"), "").unwrap();
        assert_eq!(discover(&program), Some(folder.join("../../job.toml")));
        fs::write(folder.join("other.job.toml"), "").unwrap();
        assert_eq!(discover(&program), Some(folder.join("../../job.toml")));
        fs::write(folder.join("part.job.toml"), "").unwrap();
        assert_eq!(discover(&program), Some(folder.join("part.job.toml")));
        assert_eq!(discover(&folder.join("part_rev-b.nc")), Some(folder.join("part.job.toml")));
        assert_eq!(discover(&folder.join("parting.nc")), Some(folder.join("../../job.toml")));
    }
}
