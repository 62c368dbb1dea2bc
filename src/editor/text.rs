//! Places in a text as editors count them: lines from 0, columns in UTF-16 units or, where agreed, in bytes.

use crate::source::{LineIndex, Span};
use lsp_types::{Position, PositionEncodingKind, Range};

/// What a column counts (Language Server Protocol 3.17, `PositionEncodingKind`).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Columns {
    /// Bytes of UTF-8.
    Utf8,
    /// UTF-16 code units, which every editor understands.
    #[default]
    Utf16,
}

impl Columns {
    /// UTF-8 when the editor offers it, for then nothing has to be counted.
    pub fn agreed(offered: Option<&[PositionEncodingKind]>) -> Self {
        let utf8 = offered.is_some_and(|offered| offered.contains(&PositionEncodingKind::UTF8));
        if utf8 { Self::Utf8 } else { Self::Utf16 }
    }

    /// The name the protocol gives it.
    pub fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
        }
    }
}

/// A text with its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// The text; of a file on disk it need not be UTF-8.
    pub bytes: Vec<u8>,
    lines: LineIndex,
}

impl Text {
    /// Finds the lines of `bytes`.
    pub fn new(bytes: Vec<u8>) -> Self {
        let lines = LineIndex::new(&bytes);
        Self { bytes, lines }
    }

    /// Where a byte stands; one past the end stands at the end.
    pub fn position(&self, offset: u32, columns: Columns) -> Position {
        let offset = offset.min(self.end());
        let place = self.lines.position(offset);
        let before = Span::new(offset - (place.column - 1), offset).of(&self.bytes);
        Position { line: place.line - 1, character: units(before, columns) }
    }

    /// Where a span stands.
    pub fn range(&self, span: Span, columns: Columns) -> Range {
        Range { start: self.position(span.start, columns), end: self.position(span.end.max(span.start), columns) }
    }

    /// The byte at a place. A column beyond its line means the line's end, a line beyond the last the end of the text.
    pub fn offset(&self, position: Position, columns: Columns) -> u32 {
        let Some(line) = self.line(position.line) else { return self.end() };
        let mut left = position.character;
        let mut at = line.start;
        for chunk in line.of(&self.bytes).utf8_chunks() {
            let letters = chunk.valid().chars().map(|letter| (letter.len_utf8(), letter_units(letter, columns)));
            for (bytes, units) in letters.chain(chunk.invalid().iter().map(|_| (1, 1))) {
                if left < units {
                    return at;
                }
                left -= units;
                at += u32::try_from(bytes).unwrap_or(0);
            }
        }
        at
    }

    /// A range as bytes, and whether it was one: its ends in order and inside the text.
    pub fn span(&self, range: Range, columns: Columns) -> (Span, bool) {
        let (start, end) = (self.offset(range.start, columns), self.offset(range.end, columns));
        let sound = start <= end && (range.end.line as usize) < self.lines.lines();
        (Span::new(start.min(end), start.max(end)), sound)
    }

    /// A line, counted from 0, without its line end.
    pub fn line(&self, line: u32) -> Option<Span> {
        let start = self.lines.line_start(line.checked_add(1)?)?;
        let end = self.lines.line_start(line.checked_add(2)?).unwrap_or(self.end());
        let bytes = Span::new(start, end).of(&self.bytes);
        let ends = bytes.iter().rev().take(2).take_while(|byte| matches!(byte, b'\n' | b'\r')).count();
        Some(Span::new(start, end - u32::try_from(ends).unwrap_or(0)))
    }

    /// The line a byte stands on, without its line end.
    pub fn line_at(&self, offset: u32) -> Span {
        self.line(self.line_number(offset)).unwrap_or_default()
    }

    /// Number of the line a byte stands on, from 0.
    pub fn line_number(&self, offset: u32) -> u32 {
        self.lines.position(offset.min(self.end())).line - 1
    }

    /// One past the last byte.
    pub fn end(&self) -> u32 {
        u32::try_from(self.bytes.len()).unwrap_or(u32::MAX)
    }
}

/// Columns that `bytes` take; a byte that is no UTF-8 takes one, as a letter of an older alphabet does.
fn units(bytes: &[u8], columns: Columns) -> u32 {
    let count = match columns {
        Columns::Utf8 => bytes.len(),
        Columns::Utf16 if bytes.is_ascii() => bytes.len(),
        Columns::Utf16 => {
            bytes.utf8_chunks().map(|chunk| chunk.valid().encode_utf16().count() + chunk.invalid().len()).sum()
        }
    };
    u32::try_from(count).unwrap_or(u32::MAX)
}

fn letter_units(letter: char, columns: Columns) -> u32 {
    let count = match columns {
        Columns::Utf8 => letter.len_utf8(),
        Columns::Utf16 => letter.len_utf16(),
    };
    u32::try_from(count).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn letters_beyond_the_first_plane_take_two_units_and_four_bytes() {
        let text = Text::new("(Ø6 𝅘𝅥 x)F\r\nG1".as_bytes().to_vec());
        let f = u32::try_from(text.bytes.iter().position(|byte| *byte == b'F').unwrap()).unwrap();
        assert_eq!(text.position(f, Columns::Utf8), at(0, f));
        let utf16 = "(Ø6 𝅘𝅥 x)".encode_utf16().count() as u32;
        assert_eq!(text.position(f, Columns::Utf16), at(0, utf16));
        assert_eq!(text.offset(at(0, utf16), Columns::Utf16), f);
        assert_eq!(text.offset(at(0, 5), Columns::Utf16), 5, "half a letter means its start");
    }

    #[test]
    fn places_outside_the_text_are_brought_to_its_edges() {
        let text = Text::new(b"G1\r\nX5".to_vec());
        assert_eq!(text.offset(at(0, 90), Columns::Utf16), 2);
        assert_eq!(text.offset(at(9, 0), Columns::Utf16), 6);
        assert_eq!(text.offset(at(u32::MAX, u32::MAX), Columns::Utf8), 6);
        let (span, sound) = text.span(Range { start: at(1, 1), end: at(0, 1) }, Columns::Utf16);
        assert_eq!((span, sound), (Span::new(1, 5), false));
    }

    proptest! {
        #[test]
        fn every_letter_is_found_again(text in "[a-zØ孔𝅘\r\n]{0,40}", columns in prop_oneof![Just(Columns::Utf8), Just(Columns::Utf16)]) {
            let read = Text::new(text.as_bytes().to_vec());
            for (offset, letter) in text.char_indices().filter(|(_, letter)| !matches!(letter, '\r' | '\n')) {
                let position = read.position(offset as u32, columns);
                prop_assert_eq!(read.offset(position, columns), offset as u32, "{}", letter);
            }
        }

        #[test]
        fn any_bytes_and_places_are_taken(bytes in proptest::collection::vec(any::<u8>(), 0..60), line in 0..9_u32, character in 0..70_u32) {
            let read = Text::new(bytes);
            let offset = read.offset(at(line, character), Columns::Utf16);
            prop_assert!(offset <= read.end());
            let beyond = read.line(line).is_none();
            prop_assert!(beyond || read.position(offset, Columns::Utf16).character <= character);
        }
    }
}
