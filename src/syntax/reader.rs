//! The reader: one block after another over the bytes of a program.

use memchr::memchr2;

use super::Block;
use super::line::Line;
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
        self.read(text, end_length, block);
        self.at += length + end_length;
        true
    }

    fn read(&self, text: &[u8], end_length: usize, block: &mut Block) {
        if text.len() > LONGEST_LINE {
            block.faults.push(SyntaxFault { kind: SyntaxFaultKind::LineUnreadable, span: block.span });
            return;
        }
        if self.lexis.strict && text.len() + end_length > STRICT_LINE {
            block.faults.push(SyntaxFault { kind: SyntaxFaultKind::LineTooLong, span: block.span });
        }
        let mark = if self.at == 0 && text.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len() } else { 0 };
        Line { text, base: block.span.start, strict: self.lexis.strict }.read(mark, block);
    }
}

/// The bytes of a text no longer than `MAX_BYTES`.
#[expect(clippy::cast_possible_truncation, reason = "offsets are bounded by MAX_BYTES")]
fn span(start: usize, length: usize) -> Span {
    Span::new(start as u32, (start + length) as u32)
}
