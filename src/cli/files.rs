//! Programs on disk: read whole, named as the user named them, found in folders.

use super::failure::Failure;
use crate::source::{MAX_BYTES, Source};
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Endings of file names that hold programs, compared without case.
const ENDINGS: [&str; 6] = ["nc", "cnc", "tap", "iso", "eia", "ngc"];

/// Reads a program, or any other text that a program comes with.
pub fn read_program(path: &Path) -> Result<Source, Failure> {
    let source = Source::new(shown_name(path), read(path)?);
    if source.is_binary() {
        let why = "it holds binary data, not text".to_owned();
        return Err(Failure::Read { path: path.display().to_string(), why });
    }
    Ok(source)
}

/// Reads a file, refusing what spans cannot address.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let meta = fs::metadata(path).map_err(|error| Failure::read(path, &error))?;
    if meta.is_dir() {
        return Err(Failure::read(path, &std::io::ErrorKind::IsADirectory.into()));
    }
    if meta.len() > MAX_BYTES {
        return Err(Failure::Read {
            path: path.display().to_string(),
            why: format!("it has {} bytes, and at most {MAX_BYTES} can be read; split the program", meta.len()),
        });
    }
    fs::read(path).map_err(|error| Failure::read(path, &error))
}

/// Every program the arguments name: files as they are, folders with the programs in them and below, in order of name.
pub fn programs(arguments: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut found = Vec::new();
    for argument in arguments {
        if !argument.is_dir() {
            found.push(argument.clone());
            continue;
        }
        let before = found.len();
        walk(argument, &mut found)?;
        if found.len() == before {
            return Err(Failure::Unusable(format!(
                "no program in folder `{}`: files ending in {} count as programs",
                argument.display(),
                ENDINGS.map(|ending| format!(".{ending}")).join(", ")
            )));
        }
    }
    Ok(found)
}

/// Adds the programs of a folder. Links to folders are not followed, so no walk runs in a ring.
fn walk(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let failure = |error| Failure::read(folder, &error);
    let entries = fs::read_dir(folder).map_err(failure)?.collect::<Result<Vec<_>, _>>().map_err(failure)?;
    let mut paths: Vec<PathBuf> = entries.into_iter().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() && !path.is_symlink() {
            walk(&path, found)?;
        } else if path.is_file() && ending_of_program(&path) {
            found.push(path);
        }
    }
    Ok(())
}

/// Whether a file name ends as those of programs do.
pub fn ending_of_program(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    ENDINGS.iter().any(|known| known.eq_ignore_ascii_case(ending))
}

/// The name reports print: relative, with forward slashes. A path from the root would differ from machine to machine.
pub fn shown_name(path: &Path) -> String {
    let here = std::env::current_dir().ok();
    let relative = here.and_then(|here| path.strip_prefix(here).ok());
    let path = match relative {
        Some(relative) => relative,
        None if path.is_absolute() => path.file_name().map_or(path, Path::new),
        None => path,
    };
    let parts = path.components().filter(|part| !matches!(part, Component::CurDir));
    parts.map(|part| part.as_os_str().to_string_lossy().into_owned()).collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_relative_with_forward_slashes() {
        let here = std::env::current_dir().unwrap();
        assert_eq!(shown_name(Path::new("./a/b.nc")), "a/b.nc");
        assert_eq!(shown_name(&here.join("a/b.nc")), "a/b.nc");
        assert_eq!(shown_name(Path::new("/elsewhere/b.nc")), "b.nc");
        assert_eq!(shown_name(Path::new("../b.nc")), "../b.nc");
    }

    #[test]
    fn folders_give_their_programs_in_order() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("b")).unwrap();
        for name in ["b/2.NC", "a.nc", "a.job.toml", "c.tap"] {
            fs::write(folder.path().join(name), "%").unwrap();
        }
        let found = programs(&[folder.path().to_owned()]).unwrap();
        let names: Vec<_> = found.iter().map(|path| path.strip_prefix(folder.path()).unwrap()).collect();
        assert_eq!(names, ["a.nc", "b/2.NC", "c.tap"].map(Path::new));
    }

    #[test]
    fn a_file_too_large_for_spans_is_refused_unread() {
        let file = tempfile::NamedTempFile::new().unwrap();
        file.as_file().set_len(MAX_BYTES + 1).unwrap();
        assert!(read(file.path()).unwrap_err().to_string().contains("split the program"));
    }
}
