//! Subprograms on disk: the files beside the main program, found by number.

use super::files::{ending_of_program, read_program, shown_name};
use crate::source::{Library, Source};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

/// The folder of a main program.
pub struct Folder {
    /// Number and path of every file whose name is a program number, in order.
    files: Vec<(u32, PathBuf)>,
    /// Numbers asked for that several files stand for.
    doubtful: RefCell<BTreeSet<u32>>,
}

impl Folder {
    /// The files beside `main`. A folder that cannot be listed holds nothing.
    pub fn of(main: &Path) -> Self {
        let folder = main.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let entries = fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok);
        let numbered = entries.filter_map(|entry| Some((number(&entry.path(), main.extension())?, entry.path())));
        let mut files: Vec<_> = numbered.filter(|(_, path)| path.is_file()).collect();
        files.sort();
        Self { files, doubtful: RefCell::default() }
    }

    /// Numbers and paths, in order.
    pub fn into_files(self) -> Vec<(u32, PathBuf)> {
        self.files
    }

    /// The one file that holds program number `number`.
    pub fn path(&self, number: u32) -> Option<&Path> {
        let mut paths = self.files.iter().filter(|(known, _)| *known == number);
        let (_, path) = paths.next()?;
        paths.next().is_none().then_some(path)
    }

    /// Which subprograms were asked for and stand beside the program more than once: none of them is read, for the
    /// control may hold the other.
    pub fn doubts(&self) -> Vec<String> {
        let doubtful = self.doubtful.borrow();
        doubtful.iter().map(|number| format!("note: {}; none of them is read", self.all_of(*number))).collect()
    }

    fn all_of(&self, number: u32) -> String {
        let paths = self.files.iter().filter(|(known, _)| *known == number);
        let names: Vec<String> = paths.map(|(_, path)| format!("`{}`", shown_name(path))).collect();
        format!("program number {number} stands in {}", names.join(" and "))
    }
}

impl Library for Folder {
    fn find(&self, number: u32) -> Option<Source> {
        if self.files.iter().filter(|(known, _)| *known == number).count() > 1 {
            self.doubtful.borrow_mut().insert(number);
        }
        read_program(self.path(number)?).ok()
    }
}

/// The program number a file name stands for: digits, perhaps an O before them, perhaps a program's ending or that of the
/// program that calls it.
fn number(path: &Path, callers: Option<&OsStr>) -> Option<u32> {
    if path.extension().is_some() && path.extension() != callers && !ending_of_program(path) {
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
            assert_eq!(number(Path::new(name), None), Some(1234), "{name}");
        }
        for name in ["1234.txt", "OP1234.nc", "O.nc", "part.nc", "O1234.job.toml"] {
            assert_eq!(number(Path::new(name), None), None, "{name}");
        }
        assert_eq!(number(Path::new("O1234.mpf"), Some(OsStr::new("mpf"))), Some(1234));
    }

    #[test]
    fn a_subprogram_is_read_from_beside_the_caller() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("o8001.nc"), "O8001\nM99\n").unwrap();
        let found = Folder::of(&folder.path().join("main.nc")).find(8001).unwrap();
        assert_eq!((found.name.as_str(), found.bytes.as_slice()), ("o8001.nc", b"O8001\nM99\n".as_slice()));
        assert_eq!(Folder::of(&folder.path().join("main.nc")).find(8002), None);
    }
    #[test]
    fn a_number_that_two_files_stand_for_is_read_from_neither() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["o8001.nc", "8001.tap"] {
            fs::write(folder.path().join(name), "O8001\nM99\n").unwrap();
        }
        let beside = Folder::of(&folder.path().join("main.nc"));
        assert_eq!((beside.find(8001), beside.find(8002)), (None, None));
        let doubts = beside.doubts();
        assert!(doubts.len() == 1 && doubts[0].contains("8001.tap` and `o8001.nc`"), "{doubts:?}");
    }
}
