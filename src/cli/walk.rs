//! Which programs the arguments mean: files as they are, folders with the programs in and below them, ignore rules kept.

use super::failure::Failure;
use super::files::ENDINGS;
use super::job_files;
use ignore::{DirEntry, WalkBuilder};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Files that say what a walk leaves out, in the syntax of `.gitignore`; the latter is read too.
const IGNORE_FILE: &str = ".lastplyignore";

/// What a walk came upon.
#[derive(Debug, Default)]
pub struct Found {
    /// Programs in order of name, each once however often it was named or linked.
    pub programs: Vec<PathBuf>,
    /// Job files.
    pub jobs: u64,
    /// Files that are neither.
    pub others: u64,
    /// What the user should know of the walk.
    pub notes: Vec<String>,
    /// What could not be walked.
    pub failures: Vec<Failure>,
    /// Real paths of the programs.
    real: BTreeSet<PathBuf>,
}

/// Every program the arguments name. `endings` are those of programs, without the point; the usual ones when empty.
pub fn programs(arguments: &[PathBuf], endings: &[String]) -> Result<Found, Failure> {
    let usual = ENDINGS.map(str::to_owned);
    let endings = if endings.is_empty() { &usual } else { endings };
    let mut found = Found::default();
    for argument in arguments {
        if !argument.is_dir() {
            found.add(argument);
            continue;
        }
        let before = found.programs.len() + found.failures.len();
        found.walk(argument, endings);
        if found.programs.len() + found.failures.len() == before {
            found.none_in(argument, endings)?;
        }
    }
    Ok(found)
}

impl Found {
    fn add(&mut self, path: &Path) {
        let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        if self.real.insert(real) {
            self.programs.push(path.to_owned());
        }
    }

    /// Links are followed, and what is reached twice is taken once; one that leads back up is named and left.
    fn walk(&mut self, folder: &Path, endings: &[String]) {
        let mut builder = WalkBuilder::new(folder);
        builder.follow_links(true).ignore(false).git_global(false).git_exclude(false).require_git(false);
        builder.add_custom_ignore_filename(IGNORE_FILE).sort_by_file_path(Ord::cmp);
        for entry in builder.build() {
            match entry {
                Ok(entry) => self.meet(&entry, endings),
                Err(error) => self.fault(&error),
            }
        }
    }

    fn meet(&mut self, entry: &DirEntry, endings: &[String]) {
        if let Some(error) = entry.error() {
            self.notes.push(format!("note: an ignore rule was not understood: {error}"));
        }
        let path = entry.path();
        if entry.file_type().is_none_or(|kind| !kind.is_file()) {
            return;
        }
        if job_files::is_job_file(path) {
            self.jobs += 1;
        } else if ends_in(path, endings) {
            self.add(path);
        } else {
            self.others += 1;
        }
    }

    fn fault(&mut self, error: &ignore::Error) {
        match in_ring(error) {
            Some((child, ancestor)) => self.notes.push(format!(
                "note: the link `{}` leads back to `{}`, which is walked once",
                child.display(),
                ancestor.display()
            )),
            None => self.failures.push(Failure::Unusable(format!("cannot walk everything: {error}"))),
        }
    }

    /// A folder without programs is a mistake of the caller, unless all of them came by another way.
    fn none_in(&self, folder: &Path, endings: &[String]) -> Result<(), Failure> {
        if !self.programs.is_empty() {
            return Ok(());
        }
        let points: Vec<String> = endings.iter().map(|ending| format!(".{ending}")).collect();
        Err(Failure::Unusable(format!(
            "no program in folder `{}`: files ending in {} count as programs",
            folder.display(),
            points.join(", ")
        )))
    }
}

/// The link that leads back to a folder above it, and that folder.
fn in_ring(error: &ignore::Error) -> Option<(&Path, &Path)> {
    match error {
        ignore::Error::Loop { ancestor, child } => Some((child, ancestor)),
        ignore::Error::WithPath { err, .. }
        | ignore::Error::WithDepth { err, .. }
        | ignore::Error::WithLineNumber { err, .. } => in_ring(err),
        _ => None,
    }
}

fn ends_in(path: &Path, endings: &[String]) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    endings.iter().any(|known| known.trim_start_matches('.').eq_ignore_ascii_case(ending))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(names: &[&str]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for name in names {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "%").unwrap();
        }
        folder
    }

    fn names(found: &Found, folder: &Path) -> Vec<String> {
        let names = found.programs.iter().map(|path| path.strip_prefix(folder).unwrap());
        names.map(|name| name.to_string_lossy().replace('\\', "/")).collect()
    }

    #[test]
    fn folders_give_their_programs_in_order_and_count_the_rest() {
        let folder = folder(&["b/2.NC", "a.nc", "a.job.toml", "job.toml", "c.tap", "d.pdf"]);
        let found = programs(&[folder.path().to_owned()], &[]).unwrap();
        assert_eq!(names(&found, folder.path()), ["a.nc", "b/2.NC", "c.tap"]);
        assert_eq!((found.jobs, found.others), (2, 1));
        let found = programs(&[folder.path().to_owned()], &["pdf".to_owned(), ".tap".to_owned()]).unwrap();
        assert_eq!(names(&found, folder.path()), ["c.tap", "d.pdf"]);
    }

    #[test]
    fn ignore_rules_hold_for_folders_and_not_for_files_named() {
        let folder = folder(&["a.nc", "old/b.nc", "try.nc", "keep.nc"]);
        fs::write(folder.path().join(".lastplyignore"), "old/\n").unwrap();
        fs::write(folder.path().join(".gitignore"), "try.nc\n").unwrap();
        let found = programs(&[folder.path().to_owned()], &[]).unwrap();
        assert_eq!(names(&found, folder.path()), ["a.nc", "keep.nc"]);
        let found = programs(&[folder.path().join("try.nc")], &[]).unwrap();
        assert_eq!(names(&found, folder.path()), ["try.nc"]);
    }

    #[cfg(unix)]
    #[test]
    fn links_in_a_ring_are_named_and_everything_is_taken_once() {
        let folder = folder(&["a/1.nc", "b/2.nc"]);
        let link = |to: &str, from: &str| std::os::unix::fs::symlink(folder.path().join(to), folder.path().join(from));
        link("a", "a/again").unwrap();
        link("a", "b/side").unwrap();
        let found = programs(&[folder.path().to_owned(), folder.path().join("b/2.nc")], &[]).unwrap();
        assert_eq!(names(&found, folder.path()), ["a/1.nc", "b/2.nc"]);
        assert!(found.failures.is_empty());
        assert!(found.notes.iter().any(|note| note.contains("a/again` leads back to")), "{:?}", found.notes);
    }

    #[test]
    fn a_folder_without_programs_is_a_mistake() {
        let folder = folder(&["a.txt"]);
        let told = programs(&[folder.path().to_owned()], &[]).unwrap_err().to_string();
        assert!(told.contains("files ending in .nc,"), "{told}");
    }
}
