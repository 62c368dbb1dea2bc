//! Rows: the plain lines that patterns and contours are made of, read in one pass with no list of words.

use super::number::plain;
use super::text::short_count;
use crate::source::Span;

/// Digits a line number of the strict language may have (NISTIR 6556, section 3.3.1).
const STRICT_DIGITS: usize = 5;
/// Digits of a line number of any plain line.
const LONGEST: usize = 9;

/// A line of a line number and words of X, Y and Z with decimal points, each once at most, with blanks between
/// them or none; lengths in program units. Every other line is no row and is read as a `Block`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Row {
    /// The line without its line end.
    pub span: Span,
    /// The line end itself.
    pub end: Span,
    /// Words the line has: X lowest of three bits.
    pub axes: u8,
    /// Values of X, Y and Z.
    pub values: [f64; 3],
    /// Where X, Y and Z stand, letter and value.
    pub spans: [Span; 3],
}

impl Row {
    /// Reads the line that begins at `base` into this; how long it is with its end. `None` when it is no row: what this
    /// holds then means nothing.
    #[inline]
    pub(super) fn read(&mut self, text: &[u8], base: u32, strict: bool) -> Option<usize> {
        let mut rest = behind_number(text, strict)?;
        self.axes = 0;
        loop {
            let start = offset(text, rest);
            let axis = match rest {
                [letter @ b'X'..=b'Z', ..] => usize::from(letter - b'X'),
                [b' ', after @ ..] => {
                    rest = after;
                    continue;
                }
                [b'\n', ..] => return self.ends(base, start, 1),
                [b'\r', b'\n', ..] => return self.ends(base, start, 2),
                _ => return None,
            };
            let after = rest.get(1..)?;
            let (behind, number) = plain(after, after)?;
            if !number.point || self.axes & 1 << axis != 0 {
                return None;
            }
            rest = behind;
            self.axes |= 1 << axis;
            *self.values.get_mut(axis)? = number.value;
            *self.spans.get_mut(axis)? = span(base, start, offset(text, rest));
        }
    }

    #[inline]
    fn ends(&mut self, base: u32, length: usize, end: usize) -> Option<usize> {
        self.span = span(base, 0, length);
        self.end = span(base, length, length + end);
        (self.axes != 0).then_some(length + end)
    }
}

/// What stands behind a line number, if there is one that is plain.
#[inline]
fn behind_number(text: &[u8], strict: bool) -> Option<&[u8]> {
    let [b'N', number @ ..] = text else { return Some(text) };
    let count = short_count(number).or_else(|| count_before_blank(number))?;
    number.get(count..).filter(|_| !strict || count <= STRICT_DIGITS)
}

/// Digits in front of a blank that is no blank between digits.
fn count_before_blank(text: &[u8]) -> Option<usize> {
    let count = text.iter().position(|byte| !byte.is_ascii_digit()).filter(|count| (1..=LONGEST).contains(count))?;
    let [b' ', b' ' | b'X'..=b'Z', ..] = text.get(count..)? else { return None };
    Some(count)
}

fn offset(text: &[u8], rest: &[u8]) -> usize {
    text.len() - rest.len()
}

/// A row is shorter than any offset is bounded by.
#[expect(
    clippy::cast_possible_truncation,
    reason = "three numbers of at most 18 digits are no longer than a byte counts"
)]
fn span(base: u32, start: usize, end: usize) -> Span {
    Span::new(base + start as u32, base + end as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{Block, Blocks, Lexis, Value};
    use proptest::prelude::*;

    fn row(text: &str, strict: bool) -> Option<Row> {
        let mut row = Row::default();
        Blocks::new(text.as_bytes(), 0, Lexis { strict }).next_row(&mut row).then_some(row)
    }

    #[test]
    fn a_row_has_what_the_block_has() {
        let row = row("N40X10.Z-8.4Y-.5\r\nG0\n", false).unwrap();
        assert_eq!((row.axes, row.values), (0b111, [10.0, -0.5, -8.4]));
        assert_eq!((row.span, row.end), (Span::new(0, 16), Span::new(16, 18)));
        assert_eq!(row.spans, [Span::new(3, 7), Span::new(12, 16), Span::new(7, 12)]);
    }

    #[test]
    fn what_may_mean_more_is_no_row() {
        for text in [
            "",
            "\n",
            "N5\n",
            "X1",
            "X1.",
            "X1\n",
            "x1.\n",
            "X1. 5\n",
            "X 1.\n",
            "X1.X2.\n",
            "X1.F2.\n",
            "X1.5.\n",
            "G1X1.\n",
            "/X1.\n",
            "N5.X1.\n",
            "N5 5X1.\n",
            "N5 .X1.\n",
            "N5  \n",
            "N12345678X1.\n",
            "X1.(a)\n",
            "X#1\n",
            "X1.\rY1.\n",
            "X.\n",
            "X-\n",
        ] {
            assert_eq!(row(text, false), None, "{text:?}");
        }
        assert_eq!(row("N40 X10. Y-.5 \n", false).unwrap().spans[1], Span::new(9, 13));
        assert!(row("N123456X1.\n", false).is_some());
        assert_eq!(row("N123456X1.\n", true), None);
        assert!(row("N12345X1.\n", true).is_some());
    }

    proptest! {
        #[test]
        fn rows_and_blocks_read_alike(text in "(N[0-9]{1,6})? ?([XYZ] ?[-+]?[0-9]{0,9}[.]?[0-9]{0,9} ?){1,3}\r?\n", strict: bool) {
            let mut block = Block::default();
            let mut row = Row::default();
            let mut both = Blocks::new(text.as_bytes(), 0, Lexis { strict });
            prop_assert!(both.clone().next(&mut block));
            if both.next_row(&mut row) {
                prop_assert!(block.faults.is_empty(), "{:?}", block);
                prop_assert_eq!((block.span, block.end), (row.span, row.end));
                prop_assert_eq!(block.words.len(), row.axes.count_ones() as usize);
                for word in &block.words {
                    let axis = usize::from(word.letter - b'X');
                    let Value::Number(number) = word.value else { return Err(TestCaseError::fail("no number")) };
                    prop_assert_eq!(number.value.to_bits(), row.values[axis].to_bits());
                    prop_assert_eq!(word.span, row.spans[axis]);
                }
                prop_assert_eq!(both.next(&mut block), false);
            }
        }
    }
}
