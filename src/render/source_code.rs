//! Program lines for miette: only the lines a finding shows, cleaned byte for byte, so that no file is read twice.

use super::book::Line;
use crate::source::Span;
use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

/// Lines shown with one finding, laid one after another in an address space of their own.
#[derive(Debug, Default)]
pub(crate) struct Excerpt {
    pieces: Vec<Piece>,
}

/// One line, or the part of a long line around what is shown.
#[derive(Debug)]
struct Piece {
    name: String,
    /// Offset of the first byte in its source.
    start: u32,
    /// Offset of the first byte in the excerpt.
    base: usize,
    /// Line and column of the first byte, from 0.
    line: usize,
    column: usize,
    text: Vec<u8>,
}

impl Excerpt {
    /// Adds a line of the file `name` with a span that starts on it, at most `width` bytes of it around the span's start,
    /// and gives the span's address in the excerpt.
    pub(crate) fn add(&mut self, name: &str, line: Line<'_>, span: Span, width: usize) -> SourceSpan {
        if let Some(known) = self.pieces.iter().find(|piece| piece.name == name && piece.holds(span)) {
            return known.address(span);
        }
        let (from, to) = window(line, span, width);
        let bytes = line.bytes.get(from..to).unwrap_or_default();
        let piece = Piece {
            name: name.to_owned(),
            start: line.start + u32::try_from(from).unwrap_or(0),
            base: self.pieces.last().map_or(0, |last| last.base + last.text.len() + 1),
            line: line.number.saturating_sub(1) as usize,
            column: from,
            text: clean(bytes),
        };
        let address = piece.address(span);
        self.pieces.push(piece);
        address
    }
}

impl Piece {
    fn end(&self) -> u32 {
        self.start + u32::try_from(self.text.len()).unwrap_or(0)
    }

    fn holds(&self, span: Span) -> bool {
        self.start <= span.start && span.start <= self.end() && span.end <= self.end()
    }

    /// Where the part of `span` inside this piece stands in the excerpt; an empty part takes the letter beside it, for
    /// a marker needs one.
    fn address(&self, span: Span) -> SourceSpan {
        let start = span.start.clamp(self.start, self.end());
        let end = span.end.clamp(start, self.end());
        let (start, end) = ((start - self.start) as usize, (end - self.start) as usize);
        let (start, end) = if start == end { beside(&self.text, start) } else { (start, end) };
        (self.base + start, end - start).into()
    }
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        _before: usize,
        _after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let end = span.offset() + span.len();
        let inside = |piece: &&Piece| piece.base <= span.offset() && end <= piece.base + piece.text.len();
        let piece = self.pieces.iter().find(inside).ok_or(MietteError::OutOfBounds)?;
        let column = piece.column + span.offset() - piece.base;
        let whole = (piece.base, piece.text.len()).into();
        Ok(Box::new(MietteSpanContents::new_named(piece.name.clone(), &piece.text, whole, piece.line, column, 0)))
    }
}

/// The letter at a byte, or the last one where the text ends there.
fn beside(text: &[u8], at: usize) -> (usize, usize) {
    let opens = |index: &usize| text.get(*index).is_none_or(|byte| byte & 0xC0 != 0x80);
    let start = at.min(text.len().saturating_sub(1));
    let start = (0..=start).rev().find(opens).unwrap_or(0);
    let end = (start + 1..text.len()).find(opens).unwrap_or(text.len());
    (start, end)
}

/// The part of a line to show, as byte indices into it: all of it, or `width` bytes that hold the start of the span.
fn window(line: Line<'_>, span: Span, width: usize) -> (usize, usize) {
    let length = line.bytes.len();
    if length <= width {
        return (0, length);
    }
    let start = (span.start.saturating_sub(line.start) as usize).min(length);
    let from = start.saturating_sub(width / 2).min(length - width);
    (from, from + width)
}

/// A copy of the same length that miette can draw: invalid UTF-8 and control characters become `?`, other blanks spaces.
fn clean(bytes: &[u8]) -> Vec<u8> {
    let mut text = Vec::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        for letter in chunk.valid().chars() {
            match letter {
                '\t' => text.push(b'\t'),
                '\0' | '\r' | '\n' => text.push(b' '),
                control if control.is_control() => text.extend(std::iter::repeat_n(b'?', control.len_utf8())),
                other => text.extend_from_slice(other.encode_utf8(&mut [0; 4]).as_bytes()),
            }
        }
        text.extend(std::iter::repeat_n(b'?', chunk.invalid().len()));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn latin_1_nul_and_escape_keep_their_width() {
        assert_eq!(clean(b"\0%(\xc4\xd6) \x1b[31m"), b" %(??) ?[31m");
        assert_eq!(clean("(Größe)".as_bytes()), "(Größe)".as_bytes());
    }

    #[test]
    fn a_long_line_is_shown_around_the_span() {
        let line = Line { start: 100, number: 1, bytes: &[b'X'; 1000] };
        assert_eq!(window(line, Span::new(600, 604), 80), (460, 540));
        assert_eq!(window(line, Span::new(100, 104), 80), (0, 80));
        assert_eq!(window(line, Span::new(1098, 1100), 80), (920, 1000));
    }

    #[test]
    fn two_files_and_the_end_of_a_line_have_addresses_of_their_own() {
        let mut excerpt = Excerpt::default();
        let line = |start, bytes| Line { start, number: 7, bytes };
        let first = excerpt.add("a.nc", line(10, b"G1 X1"), Span::new(13, 15), 80);
        let second = excerpt.add("b.nc", line(10, b"G1 X1"), Span::new(15, 40), 80);
        // Nothing of the second is on its line: its last letter carries the marker.
        assert_eq!((first.offset(), first.len(), second.offset(), second.len()), (3, 2, 10, 1));
        let letter = excerpt.add("c.nc", line(10, "(Ö".as_bytes()), Span::new(13, 13), 80);
        assert_eq!((letter.offset(), letter.len()), (13, 2));
        assert_eq!(excerpt.add("a.nc", line(10, b"G1 X1"), Span::new(10, 12), 80).offset(), 0);
        let read = excerpt.read_span(&first, 0, 0).unwrap();
        assert_eq!((read.name(), read.line(), read.column(), read.data()), (Some("a.nc"), 6, 3, b"G1 X1".as_slice()));
    }

    proptest! {
        #[test]
        fn the_clean_copy_has_the_same_length_and_is_text(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            let text = clean(&bytes);
            prop_assert_eq!(text.len(), bytes.len());
            prop_assert!(std::str::from_utf8(&text).is_ok());
        }
    }
}
