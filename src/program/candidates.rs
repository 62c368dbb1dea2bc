//! Lines that may open a program or call one, found without reading any other line.

use std::collections::BTreeSet;

use memchr::{memchr2_iter, memchr3_iter, memmem, memrchr2};

/// Bytes besides digits that may stand before an O or N word: blanks, marks, NUL, an N word, a byte-order mark.
const MARKS: &[u8] = b" \t%/\0Nn\xEF\xBB\xBF";
/// Most bytes before an O or N word, for tapes that open with a row of NUL.
const LONGEST_LEADER: usize = 1024;

/// Start offsets of the lines that may hold an O word, M97, M98, M99, G65 or G66, in order. Comments may be among them.
pub(super) fn lines(bytes: &[u8]) -> Vec<usize> {
    let mut line = LineStart { bytes, searched: 0, start: 0 };
    let headings = memchr3_iter(b'O', b'o', b':', bytes).filter_map(|at| {
        let start = line.of(at);
        (number(bytes, at + 1).is_some() && only_marks(bytes, start, at)).then_some(start)
    });
    let mut starts: Vec<usize> = headings.collect();
    let mut line = LineStart { bytes, searched: 0, start: 0 };
    let calls = memchr2_iter(b'M', b'm', bytes).filter(|at| code_behind(bytes, at + 1, &[97, 98, 99]));
    starts.extend(calls.map(|at| line.of(at)));
    for digits in ["65", "66"] {
        let mut line = LineStart { bytes, searched: 0, start: 0 };
        let macros = memmem::find_iter(bytes, digits).filter_map(|at| macro_code(bytes, at));
        starts.extend(macros.map(|at| line.of(at)));
    }
    starts.sort_unstable();
    starts.dedup();
    starts
}

/// Offsets of the lines whose N word is one of `wanted`, as (number, line start).
pub(super) fn sequence_numbers(bytes: &[u8], wanted: &BTreeSet<u32>) -> Vec<(u32, usize)> {
    let mut line = LineStart { bytes, searched: 0, start: 0 };
    memchr2_iter(b'N', b'n', bytes)
        .filter_map(|at| {
            let start = line.of(at);
            let number = number(bytes, at + 1).filter(|number| wanted.contains(number))?;
            only_marks(bytes, start, at).then_some((number, start))
        })
        .collect()
}

/// Start of the line each of a row of rising offsets lies in; every byte is searched once.
struct LineStart<'a> {
    bytes: &'a [u8],
    searched: usize,
    start: usize,
}

impl LineStart<'_> {
    fn of(&mut self, at: usize) -> usize {
        let new = self.bytes.get(self.searched..at).unwrap_or_default();
        if let Some(end) = memrchr2(b'\n', b'\r', new) {
            self.start = self.searched + end + 1;
        }
        self.searched = self.searched.max(at);
        self.start
    }
}

/// Whether nothing but marks and digits stands between `start` and `at`.
fn only_marks(bytes: &[u8], start: usize, at: usize) -> bool {
    let before = bytes.get(start..at).unwrap_or_default();
    before.len() <= LONGEST_LEADER && before.iter().all(|byte| MARKS.contains(byte) || byte.is_ascii_digit())
}

/// The G of a code whose digits start at `at`.
fn macro_code(bytes: &[u8], at: usize) -> Option<usize> {
    let before = bytes.get(..at)?;
    let letter = before.iter().rposition(|byte| !matches!(byte, b'0' | b' ' | b'\t'))?;
    let is_g = matches!(bytes.get(letter), Some(b'G' | b'g'));
    (is_g && code_behind(bytes, letter + 1, &[65, 66])).then_some(letter)
}

fn code_behind(bytes: &[u8], at: usize, codes: &[u32]) -> bool {
    number(bytes, at).is_some_and(|number| codes.contains(&number))
}

/// The unsigned integer at `at`, blanks before and inside it left out.
fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let mut value = None;
    for byte in bytes.get(at..)? {
        match byte {
            b'0'..=b'9' => {
                value = Some(value.unwrap_or(0_u32).saturating_mul(10).saturating_add(u32::from(byte - b'0')))
            }
            b' ' | b'\t' => {}
            _ => break,
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_program_has_only_its_heading() {
        let text = b"%\nO1000 (PLATE OP 20)\nN10 G0 X65. Y98.97\nM6 T65\nG1 X1 M8\nM30\n%\n";
        assert_eq!(lines(text), [2]);
    }

    #[test]
    fn calls_are_found_however_they_are_spaced() {
        for call in
            ["M98P2", "N5 m 98 p2", "/M098 P2", "X1 M97 P5", "G65 P9", "g065p9", "G 66 P9", "M99P3", ":12", "%O4"]
        {
            assert_eq!(lines(call.as_bytes()), [0], "{call}");
        }
        for other in ["M980", "M9", "G1 X65", "G650", "(TOOL O4)", "X1 O", "o<drill> call"] {
            assert!(lines(other.as_bytes()).is_empty(), "{other}");
        }
    }

    #[test]
    fn one_endless_line_is_no_trouble() {
        let text = b"N1M98".repeat(400_000);
        assert_eq!(lines(&text), [0]);
        assert_eq!(sequence_numbers(&text, &[1].into()), [(1, 0)]);
    }

    #[test]
    fn sequence_numbers_are_found_at_line_starts_only() {
        let text = b"N10 X1\rN20 (N30)\r\n/ N030 X2\nN10\n";
        let wanted = [10, 30].into();
        assert_eq!(sequence_numbers(text, &wanted), [(10, 0), (30, 18), (10, 28)]);
    }
}
