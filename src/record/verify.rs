//! Whether a record is still what it was, and whether its inputs still give its results.

use super::manifest::{MANIFEST, MadeBy, Manifest, SUMS, sums};
use super::sign_off::is_sign_off;
use super::{Files, RecordError, build};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// How a folder differs from the record its list describes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Difference {
    /// A file of the record is not there.
    Missing(String),
    /// A file is not the one recorded.
    Changed(String),
    /// A file is not of the record.
    Extra(String),
    /// The inputs now give another result than the one recorded.
    Result(String),
    /// The run could not be made again.
    NoRun(String),
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(path) => write!(f, "missing: {path}"),
            Self::Changed(path) => write!(f, "changed: {path} is not the file that was recorded"),
            Self::Extra(path) => write!(f, "extra: {path} is not of the record"),
            Self::Result(path) => write!(f, "other result: {path} comes out differently from the recorded inputs"),
            Self::NoRun(why) => write!(f, "not run again: {why}"),
        }
    }
}

/// What became of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Verification {
    /// Its list.
    pub manifest: Manifest,
    /// How its files differ from the list.
    pub files: Vec<Difference>,
    /// How a run on its inputs differs from its results; `None` when the inputs are not those recorded.
    pub run: Option<Vec<Difference>>,
}

impl Verification {
    /// What made the record, where it was not this version with these rules.
    #[must_use]
    pub fn made_by_other(&self) -> Option<&MadeBy> {
        Some(&self.manifest.made_by).filter(|made| **made != MadeBy::this())
    }

    /// Whether the run gave the results recorded.
    #[must_use]
    pub fn run_holds(&self) -> bool {
        self.run.as_ref().is_some_and(Vec::is_empty)
    }
}

/// Holds the files of a folder against its list, and runs the check again on the inputs recorded.
///
/// # Errors
/// When there is no list, or none that this version reads.
pub fn verify(found: &Files) -> Result<Verification, RecordError> {
    let Some(list) = found.get(MANIFEST) else {
        return Err(RecordError::Manifest("is missing".to_owned()));
    };
    let manifest = Manifest::read(list)?;
    let files = differences(&manifest, found);
    let inputs_hold =
        manifest.inputs.iter().all(|input| found.get(&input.file.path).is_some_and(|is| input.file.is(is)));
    let run = inputs_hold.then(|| run_again(&manifest, found));
    Ok(Verification { manifest, files, run })
}

/// How the files of a folder differ from the list.
#[must_use]
pub fn differences(manifest: &Manifest, found: &Files) -> Vec<Difference> {
    let mut files = BTreeMap::new();
    for listed in manifest.listed() {
        let difference = match found.get(&listed.path) {
            None => Difference::Missing(listed.path.clone()),
            Some(bytes) if listed.is(bytes) => continue,
            Some(_) => Difference::Changed(listed.path.clone()),
        };
        files.insert(listed.path.as_str(), difference);
    }
    let mut files: Vec<Difference> = files.into_values().collect();
    files.extend(sums_differ(manifest, found));
    files.extend(extra(manifest, found));
    files
}

fn sums_differ(manifest: &Manifest, found: &Files) -> Option<Difference> {
    let mut digests: BTreeMap<&str, String> =
        manifest.listed().map(|listed| (listed.path.as_str(), listed.sha256.clone())).collect();
    digests.extend(found.get(MANIFEST).map(|bytes| (MANIFEST, crate::source::sha256(bytes))));
    match found.get(SUMS) {
        None => Some(Difference::Missing(SUMS.to_owned())),
        Some(bytes) => (*bytes != sums(&digests)).then(|| Difference::Changed(SUMS.to_owned())),
    }
}

fn extra(manifest: &Manifest, found: &Files) -> Vec<Difference> {
    let listed: BTreeSet<&str> = manifest.listed().map(|listed| listed.path.as_str()).collect();
    let known = |path: &str| listed.contains(path) || [MANIFEST, SUMS].contains(&path) || is_sign_off(path, found);
    found.keys().filter(|path| !known(path)).map(|path| Difference::Extra(path.clone())).collect()
}

/// Results that the recorded inputs do not give any more, held against the digests of the list, so that a file changed
/// since is told once.
fn run_again(manifest: &Manifest, found: &Files) -> Vec<Difference> {
    let again = match manifest.take_inputs(found).and_then(|inputs| build::files(&inputs)) {
        Ok(again) => again,
        Err(error) => return vec![Difference::NoRun(error.to_string())],
    };
    let other = |path: &str| Difference::Result(path.to_owned());
    let recorded = manifest.results.iter();
    let mut differences: Vec<Difference> = recorded
        .filter(|listed| again.get(&listed.path).is_none_or(|bytes| !listed.is(bytes)))
        .map(|listed| other(&listed.path))
        .collect();
    let Some(Ok(list)) = again.get(MANIFEST).map(|bytes| Manifest::read(bytes)) else { return differences };
    let listed: BTreeSet<&str> = manifest.results.iter().map(|listed| listed.path.as_str()).collect();
    differences
        .extend(list.results.iter().filter(|new| !listed.contains(new.path.as_str())).map(|new| other(&new.path)));
    if differences.is_empty() && (Manifest { made_by: manifest.made_by.clone(), ..list }) != *manifest {
        differences.push(other(MANIFEST));
    }
    differences
}
