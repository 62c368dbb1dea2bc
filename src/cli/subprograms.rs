//! Subprograms on disk: the files beside the main program, found by number.

use super::files::{ending_of_program, read_program};
use crate::source::{Library, Source};
use std::fs;
use std::path::{Path, PathBuf};

/// The folder of a main program.
pub struct Folder {
    /// Number and path of every file whose name is a program number, in order.
    files: Vec<(u32, PathBuf)>,
}

impl Folder {
    /// The files beside `main`. A folder that cannot be listed holds nothing.
    pub fn of(main: &Path) -> Self {
        let folder = main.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let entries = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok);
        let numbered = entries.filter_map(|entry| Some((number(&entry.path())?, entry.path())));
        let mut files: Vec<_> = numbered.filter(|(_, path)| path.is_file()).collect();
        files.sort();
        Self { files }
    }

    /// Numbers and paths, in order.
    pub fn into_files(self) -> Vec<(u32, PathBuf)> {
        self.files
    }

    /// The file that holds program number `number`.
    pub fn path(&self, number: u32) -> Option<&Path> {
        self.files.iter().find(|(known, _)| *known == number).map(|(_, path)| path.as_path())
    }
}

impl Library for Folder {
    fn find(&self, number: u32) -> Option<Source> {
        read_program(self.path(number)?).ok()
    }
}

/// The program number a file name stands for: digits, perhaps an O before them, perhaps a program's ending.
fn number(path: &Path) -> Option<u32> {
    if path.extension().is_some() && !ending_of_program(path) {
        return None;
    }
    let stem = path.file_stem()?.to_str()?;
    let digits = stem.strip_prefix(['O', 'o']).unwrap_or(stem);
    digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| digits.parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stand_for_numbers() {
        for name in ["1234.nc", "O1234.nc", "O1234", "o1234.NC", "1234", "O01234.tap"] {
            assert_eq!(number(Path::new(name)), Some(1234), "{name}");
        }
        for name in ["1234.txt", "OP1234.nc", "O.nc", "part.nc", "O1234.job.toml"] {
            assert_eq!(number(Path::new(name)), None, "{name}");
        }
    }

    #[test]
    fn a_subprogram_is_read_from_beside_the_caller() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("o8001.nc"), "O8001\nM99\n").unwrap();
        let found = Folder::of(&folder.path().join("main.nc")).find(8001).unwrap();
        assert_eq!((found.name.as_str(), found.bytes.as_slice()), ("o8001.nc", b"O8001\nM99\n".as_slice()));
        assert_eq!(Folder::of(&folder.path().join("main.nc")).find(8002), None);
    }
}
