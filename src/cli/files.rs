//! Programs on disk: read whole, named as the user named them.

use super::failure::Failure;
use crate::source::{MAX_BYTES, Source};
use std::fs;
use std::path::{Component, Path};

/// Endings of file names that hold programs, compared without case.
pub const ENDINGS: [&str; 6] = ["nc", "cnc", "tap", "iso", "eia", "ngc"];

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
    fn a_file_too_large_for_spans_is_refused_unread() {
        let file = tempfile::NamedTempFile::new().unwrap();
        file.as_file().set_len(MAX_BYTES + 1).unwrap();
        assert!(read(file.path()).unwrap_err().to_string().contains("split the program"));
    }
}
