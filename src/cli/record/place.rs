//! Names of inputs in a record: as the files stand to each other, whatever folder of whatever machine that is in.

use super::super::failure::Failure;
use crate::record::INPUTS;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::path::{Component, Path, PathBuf};

/// Folder for files that share no folder with the program.
const ELSEWHERE: &str = "elsewhere";

/// The name of each file.
pub struct Places {
    names: BTreeMap<PathBuf, String>,
}

impl Places {
    /// Names for files by their plain paths. Those that share a folder with the program keep their place to it; others
    /// keep their file name alone.
    pub fn of(program: &Path, files: BTreeSet<PathBuf>) -> Self {
        let near = |path: &Path| top(path) == top(program);
        let base = files.iter().filter(|path| near(path)).map(|path| folder(path)).reduce(shared).unwrap_or_default();
        let mut taken = BTreeSet::new();
        let mut names = BTreeMap::new();
        for path in files {
            let name = match path.strip_prefix(&base) {
                Ok(rest) if near(&path) => slashed(rest),
                _ => format!("{ELSEWHERE}/{}", path.file_name().unwrap_or_default().to_string_lossy()),
            };
            let numbered = (2..).map(|number: u64| format!("{INPUTS}/{number}/{name}"));
            let mut candidates = std::iter::once(format!("{INPUTS}/{name}")).chain(numbered);
            if let Some(free) = candidates.find(|candidate| taken.insert(candidate.clone())) {
                names.insert(path, free);
            }
        }
        Self { names }
    }

    /// The name of one of them.
    pub fn name(&self, path: &Path) -> String {
        self.names.get(path).cloned().unwrap_or_default()
    }
}

/// A path from the root without `.` and `..`, taken as it is written: links are not followed.
pub fn plain(path: &Path) -> Result<PathBuf, Failure> {
    let whole = std::path::absolute(path).map_err(|error| Failure::read(path, &error))?;
    let mut plain = PathBuf::new();
    for component in whole.components() {
        match component {
            Component::ParentDir => _ = plain.pop(),
            Component::CurDir => {}
            other => plain.push(other),
        }
    }
    Ok(plain)
}

fn folder(path: &Path) -> PathBuf {
    path.parent().unwrap_or(Path::new("")).to_owned()
}

/// The first folder below the root that a file stands in.
fn top(path: &Path) -> Option<&OsStr> {
    path.parent()?.components().find_map(|component| match component {
        Component::Normal(name) => Some(name),
        _ => None,
    })
}

/// The part that two paths begin with alike.
fn shared(one: PathBuf, other: PathBuf) -> PathBuf {
    one.components().zip(other.components()).take_while(|(a, b)| a == b).map(|(a, _)| a).collect()
}

fn slashed(path: &Path) -> String {
    let parts = path.components().map(|part| part.as_os_str().to_string_lossy().into_owned());
    parts.collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(program: &str, others: &[&str]) -> Vec<String> {
        let files: BTreeSet<PathBuf> = others.iter().chain([&program]).map(PathBuf::from).collect();
        let places = Places::of(Path::new(program), files);
        std::iter::once(&program).chain(others).map(|path| places.name(Path::new(path))).collect()
    }

    #[test]
    fn files_keep_their_place_to_each_other() {
        assert_eq!(names("/a/jobs/p.nc", &["/a/jobs/p.job.toml"]), ["inputs/p.nc", "inputs/p.job.toml"]);
        assert_eq!(
            names("/a/jobs/p.nc", &["/a/shop/tools.toml", "/a/job.toml"]),
            ["inputs/jobs/p.nc", "inputs/shop/tools.toml", "inputs/job.toml"]
        );
    }

    #[test]
    fn files_from_elsewhere_keep_their_name_alone() {
        assert_eq!(
            names("/a/p.nc", &["/b/x/tools.toml", "/b/y/tools.toml"]),
            ["inputs/p.nc", "inputs/elsewhere/tools.toml", "inputs/2/elsewhere/tools.toml"]
        );
    }

    #[test]
    fn a_plain_path_has_no_steps_up() {
        let path = plain(Path::new("/a/./b/../c.nc")).unwrap();
        assert_eq!(path, Path::new("/a/c.nc"));
    }
}
