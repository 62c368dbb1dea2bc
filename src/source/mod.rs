//! Program text as bytes: spans into it, lines of it, and where further programs are found by name.

mod binary;
mod digest;
mod line_index;

pub use digest::sha256;
pub use line_index::{LineIndex, Position};

/// A byte range in one source, end exclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span from `start` to `end`.
    #[must_use]
    pub fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }

    /// The bytes it covers; empty when it lies outside `bytes`.
    #[must_use]
    pub fn of(self, bytes: &[u8]) -> &[u8] {
        bytes.get(self.start as usize..self.end as usize).unwrap_or_default()
    }

    /// Length in bytes.
    #[must_use]
    pub fn len(self) -> u32 {
        self.end.saturating_sub(self.start)
    }

    /// Whether it covers nothing.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.len() == 0
    }
}

/// Which of the sources of a run: 0 is the main program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct SourceId(pub u16);

/// The longest text that spans can address.
pub const MAX_BYTES: u64 = u32::MAX as u64 - 1;

/// One program file. Bytes, not text: posted files carry NUL leaders, lone CR and Latin-1 comments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// The name the user gave, relative and with forward slashes; never an absolute path.
    pub name: String,
    /// The file, unchanged.
    pub bytes: Vec<u8>,
}

impl Source {
    /// A source from its name and bytes.
    #[must_use]
    pub fn new(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self { name: name.into(), bytes: bytes.into() }
    }

    /// First byte of the line that byte `at` stands in.
    #[must_use]
    pub fn line_start(&self, at: u32) -> u32 {
        let before = self.bytes.get(..(at as usize).min(self.bytes.len())).unwrap_or_default();
        u32::try_from(memchr::memrchr2(b'\n', b'\r', before).map_or(0, |end| end + 1)).unwrap_or(u32::MAX)
    }
}

/// Where subprograms stand that the main file calls but does not contain.
pub trait Library {
    /// The source that holds program number `number`, if there is one beside the caller.
    fn find(&self, number: u32) -> Option<Source>;
}

/// A library with nothing in it.
pub struct NoLibrary;

impl Library for NoLibrary {
    fn find(&self, _number: u32) -> Option<Source> {
        None
    }
}
