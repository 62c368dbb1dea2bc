//! Job files: every sample loads, twins in inch and millimetres say the same, and every fault is told with its place.

mod edges;
mod faults;
mod keys;
mod libraries;
mod values;

use jsonschema::Validator;
use lastply::job::{Job, JobError, JobFiles, NoFiles, schema};
use lastply::source::Source;
use proptest::prelude::*;
use std::path::{Path, PathBuf};

/// Files that stand beside a job file on disk.
struct Beside(PathBuf);

impl JobFiles for Beside {
    fn read(&self, name: &str) -> Result<Source, String> {
        std::fs::read(self.0.join(name)).map(|bytes| Source::new(name, bytes)).map_err(|fault| fault.to_string())
    }
}

/// Files given in the test itself.
struct Given(&'static [(&'static str, &'static str)]);

impl JobFiles for Given {
    fn read(&self, name: &str) -> Result<Source, String> {
        let file = self.0.iter().find(|(known, _)| *known == name);
        file.map(|(name, text)| Source::new(*name, *text)).ok_or_else(|| "there is no such file".to_owned())
    }
}

fn load(text: &str) -> Result<Job, Vec<JobError>> {
    Job::load(&Source::new("a.job.toml", text), &NoFiles)
}

/// Faults as a person would read them: message, the text pointed at, help.
fn told(errors: &[JobError]) -> String {
    let line = |error: &JobError| {
        let text = String::from_utf8_lossy(error.span.of(&error.file.bytes)).into_owned();
        let help = error.help.as_deref().map(|help| format!("    help: {help}\n")).unwrap_or_default();
        format!("{}: {}\n    at: {}\n{help}", error.file.name, error.message, text.lines().next().unwrap_or_default())
    };
    errors.iter().map(line).collect()
}

/// Snapshots without the expression, which would repeat the test.
fn settings() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_omit_expression(true);
    settings
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn load_from(path: &Path) -> Job {
    let source = Source::new(path.file_name().unwrap().to_str().unwrap(), std::fs::read(path).unwrap());
    let beside = Beside(path.parent().unwrap().to_owned());
    Job::load(&source, &beside).unwrap_or_else(|errors| panic!("{}\n{}", path.display(), told(&errors)))
}

/// Job files of the test jobs and of every sample program.
fn samples() -> Vec<PathBuf> {
    let inside = |folder: &Path| -> Vec<PathBuf> {
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect()
    };
    let programs = inside(&root().join("programs")).into_iter().filter(|path| path.is_dir());
    let named = |path: &PathBuf| path.to_str().is_some_and(|path| path.ends_with(".job.toml"));
    let mut jobs: Vec<PathBuf> = programs.flat_map(|folder| inside(&folder)).filter(named).collect();
    jobs.extend(
        inside(&root().join("tests/jobs")).into_iter().filter(|path| path.extension() == Some("toml".as_ref())),
    );
    assert!(jobs.len() >= 8, "found only {jobs:?}");
    jobs
}

#[test]
fn every_sample_loads_and_fits_the_schema() {
    let validator = jsonschema::validator_for(&schema(&lastply::rules::names())).unwrap();
    for path in samples() {
        load_from(&path);
        let table: toml::Table = toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
        let json = serde_json::to_value(table).unwrap();
        let faults: Vec<String> = validator.iter_errors(&json).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{}: {faults:?}", path.display());
    }
}

#[test]
fn the_schema_refuses_what_the_loader_refuses() {
    let refuses = |validator: &Validator, text: &str| {
        let json = serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap();
        !validator.is_valid(&json) && load(text).is_err()
    };
    let validator = jsonschema::validator_for(&schema(&lastply::rules::names())).unwrap();
    for text in [
        "",
        "[job]\npart = 'a'\nentry_z = '0 mm'\nunit = 'mm'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\nunits = 'cm'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.x]\nkind = 'router'\ndiameter = '8 mm'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[tool.1]\nkind = 'router'",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[machine]\ntravel = { x = [1] }",
        "[job]\npart = 'a'\nentry_z = '0 mm'\n[rules]\n'exit-feed-high' = 'off'",
        "[job]\npart = 'a'",
    ] {
        assert!(refuses(&validator, text), "{text}");
    }
}

#[test]
fn the_schema_describes_every_key() {
    fn walk(value: &serde_json::Value, bare: &mut Vec<String>) {
        let keys = value.get("properties").and_then(|keys| keys.as_object()).into_iter().flatten();
        let chosen =
            value.get("description").is_some() && value["properties"].as_object().is_some_and(|keys| keys.len() == 1);
        for (name, key) in keys {
            // A way of several with one key carries its description on the whole.
            if key.get("description").is_none() && !chosen {
                bare.push(name.clone());
            }
        }
        match value {
            serde_json::Value::Object(members) => members.values().for_each(|member| walk(member, bare)),
            serde_json::Value::Array(items) => items.iter().for_each(|item| walk(item, bare)),
            _ => {}
        }
    }
    let mut bare = Vec::new();
    walk(&schema(&lastply::rules::names()), &mut bare);
    assert!(bare.is_empty(), "no description: {bare:?}");
}

proptest! {
    /// Any damage to a job file ends in a job or in faults that lie inside the text.
    #[test]
    fn damage_never_panics(at in 0usize..4000, cut in 0usize..40, put in "[ -~\n\u{e9}]{0,12}") {
        let text = include_str!("jobs/plate.toml");
        let floor = |mut at: usize| {
            at = at.min(text.len());
            while !text.is_char_boundary(at) { at -= 1; }
            at
        };
        let damaged = format!("{}{put}{}", &text[..floor(at)], &text[floor(at + cut)..]);
        for error in load(&damaged).err().into_iter().flatten() {
            prop_assert!(error.span.end as usize <= damaged.len() + 1, "{error:?}");
            prop_assert!(!error.message.is_empty());
        }
    }
}
