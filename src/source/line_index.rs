//! Byte offsets to lines and columns, for CRLF, LF and lone CR line ends.

use memchr::memchr2_iter;

/// Where each line of a source starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineIndex {
    starts: Vec<u32>,
}

/// A place as a person counts it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 1.
    pub line: u32,
    /// Column in bytes, from 1.
    pub column: u32,
}

impl LineIndex {
    /// Reads all line starts of `bytes`.
    #[must_use]
    pub fn new(bytes: &[u8]) -> Self {
        let mut starts = vec![0];
        for at in memchr2_iter(b'\n', b'\r', bytes) {
            let lone_or_lf = bytes.get(at) == Some(&b'\n') || bytes.get(at + 1) != Some(&b'\n');
            if lone_or_lf {
                starts.push(u32::try_from(at + 1).unwrap_or(u32::MAX));
            }
        }
        starts.shrink_to_fit();
        Self { starts }
    }

    /// Line and column of a byte offset.
    #[must_use]
    pub fn position(&self, offset: u32) -> Position {
        let line = self.starts.partition_point(|start| *start <= offset);
        let start = line.checked_sub(1).and_then(|at| self.starts.get(at)).copied().unwrap_or(0);
        Position { line: u32::try_from(line.max(1)).unwrap_or(u32::MAX), column: offset - start + 1 }
    }

    /// First byte of line `line` (from 1); the end of the last line for a line past the end.
    #[must_use]
    pub fn line_start(&self, line: u32) -> Option<u32> {
        self.starts.get(line.checked_sub(1)? as usize).copied()
    }

    /// Number of lines, counting an empty last one.
    #[must_use]
    pub fn lines(&self) -> usize {
        self.starts.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_end_starts_one_new_line() {
        let index = LineIndex::new(b"a\r\nb\rc\nd");
        assert_eq!(index.lines(), 4);
        assert_eq!(index.position(3), Position { line: 2, column: 1 });
        assert_eq!(index.position(5), Position { line: 3, column: 1 });
        assert_eq!(index.position(7), Position { line: 4, column: 1 });
        assert_eq!(index.line_start(2), Some(3));
    }
}
