//! What lies open in the editor, over what is on disk: an open text counts, saved or not.

use super::text::{Columns, Text};
use crate::job::{Date, JobFiles};
use crate::source::{Library, MAX_BYTES, Source};
use lsp_types::{TextDocumentContentChangeEvent, Uri};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_encode};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// The world outside the editor's open texts.
pub trait Disk {
    /// The bytes of a file.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    fn read(&self, path: &Path) -> Result<Vec<u8>, String>;
    /// The job file that belongs to a program.
    fn job_of(&self, program: &Path) -> Option<PathBuf>;
    /// Files beside a program whose names are program numbers.
    fn subprograms(&self, main: &Path) -> Vec<(u32, PathBuf)>;
    /// The day waivers are judged on when the job names none.
    fn today(&self) -> Option<Date>;
}

/// One open text.
#[derive(Clone, Debug)]
pub struct Document {
    /// The editor's name for it, which answers must repeat to the letter.
    pub uri: Uri,
    /// Counts the edits.
    pub version: i32,
    /// Its text.
    pub text: Text,
}

/// What an open text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An NC program.
    Program,
    /// A job file.
    Job,
    /// A library of job files or anything else.
    Other,
}

/// All open texts, by path.
pub struct Desk<'d> {
    /// What is not open.
    pub disk: &'d dyn Disk,
    /// What a column counts.
    pub columns: Columns,
    documents: BTreeMap<PathBuf, Document>,
}

/// Signs that stand for themselves in the path of a URI (RFC 3986, `pchar` and the slash).
const KEPT: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~').remove(b'/').remove(b':');

impl<'d> Desk<'d> {
    /// An empty desk.
    pub fn new(disk: &'d dyn Disk, columns: Columns) -> Self {
        Self { disk, columns, documents: BTreeMap::new() }
    }

    /// Puts a text on the desk.
    pub fn open(&mut self, uri: Uri, version: i32, text: String) -> PathBuf {
        let path = path_of(&uri);
        self.documents.insert(path.clone(), Document { uri, version, text: Text::new(text.into_bytes()) });
        path
    }

    /// Takes a text off the desk.
    pub fn close(&mut self, path: &Path) {
        self.documents.remove(path);
    }

    /// Carries out edits in order. Answers what was wrong with them: the text may then differ from the editor's.
    pub fn edit(
        &mut self,
        path: &Path,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
    ) -> Result<(), String> {
        let Some(document) = self.documents.get_mut(path) else {
            return Err(format!("an edit for `{}`, which is not open", path.display()));
        };
        let mut broken = 0;
        for change in changes {
            let mut bytes = std::mem::take(&mut document.text.bytes);
            match change.range {
                None => bytes = change.text.into_bytes(),
                Some(range) => {
                    document.text.bytes = bytes;
                    let (span, sound) = document.text.span(range, self.columns);
                    bytes = std::mem::take(&mut document.text.bytes);
                    bytes.splice(span.start as usize..span.end as usize, change.text.into_bytes());
                    broken += u32::from(!sound);
                }
            }
            if bytes.len() as u64 > MAX_BYTES {
                bytes.clear();
                broken += 1;
            }
            document.text = Text::new(bytes);
        }
        document.version = version;
        if broken == 0 {
            return Ok(());
        }
        Err(format!("{broken} edits of `{}` lay outside its text; close and open it again", path.display()))
    }

    /// An open text.
    pub fn document(&self, path: &Path) -> Option<&Document> {
        self.documents.get(path)
    }

    /// Paths of all open texts, in order.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        self.documents.keys().map(PathBuf::as_path)
    }

    /// The text of a file: as open, else as on disk.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn read(&self, path: &Path) -> Result<Vec<u8>, String> {
        match self.documents.get(path) {
            Some(document) => Ok(document.text.bytes.clone()),
            None => self.disk.read(path),
        }
    }

    /// The editor's name for a file.
    pub fn uri(&self, path: &Path) -> Option<Uri> {
        match self.documents.get(path) {
            Some(document) => Some(document.uri.clone()),
            None => uri_of(path),
        }
    }

    /// Where the subprograms of a program are found.
    pub fn library<'a>(&'a self, main: &Path) -> Beside<'a> {
        let files = if main.is_absolute() { self.disk.subprograms(main) } else { Vec::new() };
        Beside { desk: self, files }
    }

    /// The files that a job file names.
    pub fn job_files<'a>(&'a self, job: &Path) -> Named<'a> {
        Named { desk: self, job: job.to_owned() }
    }
}

/// What a text is, by its name.
pub fn kind(path: &Path) -> Kind {
    let name = file_name(path);
    match name.as_str() {
        "job.toml" => Kind::Job,
        name if name.ends_with(".job.toml") => Kind::Job,
        name if name.ends_with(".toml") => Kind::Other,
        _ => Kind::Program,
    }
}

/// The name of a file without its folder, as reports print it.
pub fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
}

/// A file as the source of a run. Its folder stays out of the name, so that reports are the same on every machine.
pub fn source(path: &Path, bytes: Vec<u8>) -> Source {
    Source::new(file_name(path), bytes)
}

/// The file beside `main` that a source of its run stands for.
pub fn beside(main: &Path, name: &str) -> PathBuf {
    main.with_file_name(name)
}

/// Subprograms beside a main program.
pub struct Beside<'a> {
    desk: &'a Desk<'a>,
    files: Vec<(u32, PathBuf)>,
}

impl Library for Beside<'_> {
    fn find(&self, number: u32) -> Option<Source> {
        let (_, path) = self.files.iter().find(|(known, _)| *known == number)?;
        Some(source(path, self.desk.read(path).ok()?))
    }
}

/// Files that a job file names.
pub struct Named<'a> {
    desk: &'a Desk<'a>,
    job: PathBuf,
}

impl Named<'_> {
    /// Where a file stands that the job file names.
    pub fn path(&self, name: &str) -> PathBuf {
        straight(&self.job.parent().unwrap_or(Path::new("")).join(name))
    }
}

/// A path without steps up and back, as an editor names it.
pub fn straight(path: &Path) -> PathBuf {
    let mut straight = PathBuf::new();
    for part in path.components() {
        match part {
            Component::ParentDir if straight.file_name().is_some() => _ = straight.pop(),
            Component::CurDir => {}
            part => straight.push(part),
        }
    }
    straight
}

impl JobFiles for Named<'_> {
    fn read(&self, name: &str) -> Result<Source, String> {
        Ok(Source::new(name, self.desk.read(&self.path(name))?))
    }
}

/// The path a URI names; for a text that is no file the URI itself, which is no absolute path.
pub fn path_of(uri: &Uri) -> PathBuf {
    if !uri.scheme().is_some_and(|scheme| scheme.as_str().eq_ignore_ascii_case("file")) {
        return PathBuf::from(uri.as_str());
    }
    let decoded = uri.path().as_estr().decode().into_bytes();
    let path = String::from_utf8_lossy(&decoded);
    // `/C:/shop` of a system with drive letters.
    let drive = path.strip_prefix('/').filter(|rest| rest.as_bytes().get(1) == Some(&b':'));
    PathBuf::from(drive.unwrap_or(&path))
}

fn uri_of(path: &Path) -> Option<Uri> {
    let path = path.to_str()?.replace('\\', "/");
    let slash = if path.starts_with('/') { "" } else { "/" };
    format!("file://{slash}{}", percent_encode(path.as_bytes(), KEPT)).parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_with_blanks_and_letters_of_any_alphabet_comes_back() {
        for path in ["/shop/Größe 6/孔#1.nc", "/a/b%20c.nc", "C:/shop/part.nc"] {
            let uri = uri_of(Path::new(path)).unwrap();
            assert_eq!(path_of(&uri), Path::new(path), "{}", uri.as_str());
        }
        let other: Uri = "file:///c%3A/part.nc".parse().unwrap();
        assert_eq!(path_of(&other), Path::new("c:/part.nc"));
    }

    #[test]
    fn names_tell_what_a_text_is() {
        assert_eq!(kind(Path::new("/a/part.job.toml")), Kind::Job);
        assert_eq!(kind(Path::new("/a/job.toml")), Kind::Job);
        assert_eq!(kind(Path::new("/a/laminates.toml")), Kind::Other);
        assert_eq!(kind(Path::new("/a/part.NC")), Kind::Program);
    }
}
