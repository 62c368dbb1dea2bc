//! The reader: one block after another over the bytes of a program.

use memchr::memchr2;

use super::line::Line;
use super::{Block, Row};
use super::{SyntaxFault, SyntaxFaultKind};
use crate::source::{MAX_BYTES, Span};

/// Lexical facts that differ between dialects.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lexis {
    /// The strict language of NISTIR 6556: what it does not define is a fault.
    pub strict: bool,
}

/// Characters a line of the strict language may have with its end (NISTIR 6556, 3.3, as its interpreter counts them).
const STRICT_LINE: usize = 254;
/// Longer lines are no program text; bounding them bounds what one block can hold.
const LONGEST_LINE: usize = 65_536;
/// Byte-order mark of UTF-8, which some editors put before the text.
const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

/// Reads blocks one by one from `bytes`.
#[derive(Clone, Debug)]
pub struct Blocks<'a> {
    bytes: &'a [u8],
    at: usize,
    lexis: Lexis,
}

impl<'a> Blocks<'a> {
    /// Starts at byte `at` of `bytes`, which must be the start of a line. Text past `MAX_BYTES` is not read.
    #[must_use]
    pub fn new(bytes: &'a [u8], at: usize, lexis: Lexis) -> Self {
        let most = usize::try_from(MAX_BYTES).unwrap_or(usize::MAX);
        Self { bytes: bytes.get(..most).unwrap_or(bytes), at, lexis }
    }

    /// Reads the next block into `block`; false at the end of the text.
    pub fn next(&mut self, block: &mut Block) -> bool {
        block.clear();
        let Some(rest) = self.bytes.get(self.at..).filter(|rest| !rest.is_empty()) else { return false };
        let length = memchr2(b'\n', b'\r', rest).unwrap_or(rest.len());
        let (text, end) = rest.split_at(length);
        let end_length = match end {
            [b'\r', b'\n', ..] => 2,
            [] => 0,
            _ => 1,
        };
        block.span = span(self.at, length);
        block.end = span(self.at + length, end_length);
        self.read(text, rest, end_length, block);
        self.at += length + end_length;
        true
    }

    /// Reads the next line into `row` where it is a row; false, and the line is still to be read, where it is none.
    #[inline]
    pub fn next_row(&mut self, row: &mut Row) -> bool {
        let Some(rest) = self.bytes.get(self.at..) else { return false };
        let Some(length) = row.read(rest, offset(self.at), self.lexis.strict) else { return false };
        self.at += length;
        true
    }

    fn read(&self, text: &[u8], wide: &[u8], end_length: usize, block: &mut Block) {
        if text.len() > LONGEST_LINE {
            block.faults.push(SyntaxFault { kind: SyntaxFaultKind::LineUnreadable, span: block.span });
            return;
        }
        if self.lexis.strict && text.len() + end_length > STRICT_LINE {
            block.faults.push(SyntaxFault { kind: SyntaxFaultKind::LineTooLong, span: block.span });
        }
        let mark = if self.at == 0 && text.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len() } else { 0 };
        Line { text, wide, base: block.span.start, strict: self.lexis.strict }.read(mark, block);
    }
}

/// The bytes of a text no longer than `MAX_BYTES`.
fn span(start: usize, length: usize) -> Span {
    Span::new(offset(start), offset(start + length))
}

#[expect(clippy::cast_possible_truncation, reason = "offsets are bounded by MAX_BYTES")]
fn offset(at: usize) -> u32 {
    at as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], lexis: &Lexis) -> Vec<Block> {
        let (mut blocks, mut block, mut all) = (Blocks::new(bytes, 0, lexis.clone()), Block::default(), Vec::new());
        while blocks.next(&mut block) {
            all.push(block.clone());
        }
        all
    }

    #[test]
    fn every_line_end_ends_one_block() {
        let text = b"G1\r\nG2\rG3\n\nG4";
        let blocks = read(text, &Lexis::default());
        let ends: Vec<_> = blocks.iter().map(|block| (block.span.of(text), block.end.of(text))).collect();
        let expected: [(&[u8], &[u8]); 5] =
            [(b"G1", b"\r\n"), (b"G2", b"\r"), (b"G3", b"\n"), (b"", b"\n"), (b"G4", b"")];
        assert_eq!(ends, expected);
    }

    #[test]
    fn what_editors_and_tapes_leave_behind_means_nothing() {
        let text = b"\xEF\xBB\xBF%\n\0\0\0G1 X1 (\xC4nderung \xFF)\n\x1A";
        let blocks = read(text, &Lexis::default());
        assert_eq!(blocks[0].percent, Some(Span::new(3, 4)));
        assert_eq!(blocks[1].words.len(), 2);
        assert!(blocks.iter().all(|block| block.faults.is_empty()));
        let moved = read(b"G1\n\xEF\xBB\xBFG1", &Lexis::default());
        assert_eq!(moved[1].faults[0].kind, SyntaxFaultKind::BadCharacter);
    }

    #[test]
    fn reading_may_start_at_any_line() {
        let (text, mut block) = (b"O1\nG1\nO2\nG2 X5\n", Block::default());
        let mut blocks = Blocks::new(text, 9, Lexis::default());
        assert!(blocks.next(&mut block));
        assert_eq!(block.words[1].span.of(text), b"X5");
        assert!(!blocks.next(&mut block));
    }

    #[test]
    fn a_line_without_end_is_one_fault_and_reading_goes_on() {
        let text = [vec![b'X'; LONGEST_LINE + 1], b"\nG1".to_vec()].concat();
        let blocks = read(&text, &Lexis::default());
        assert_eq!(blocks[0].faults, [SyntaxFault { kind: SyntaxFaultKind::LineUnreadable, span: blocks[0].span }]);
        assert!(blocks[0].words.is_empty());
        assert_eq!(blocks[1].words.len(), 1);
    }
}
