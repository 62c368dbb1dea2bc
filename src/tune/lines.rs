//! The edits between two texts, line by line.

use crate::patch::{Edit, Edits};
use crate::source::Span;
use similar::{Algorithm, DiffTag, capture_diff_slices};

/// The edits that turn `old` into `new`, each of whole lines. Patience finds the lines that stand once in both, so moved
/// blocks show as moved.
pub(super) fn edits(old: &[u8], new: &[u8]) -> Edits {
    let (before, after) = (lines(old), lines(new));
    let mut edits = Vec::new();
    let starts = starts(&before);
    let at = |line: usize| starts.get(line).copied().unwrap_or(0);
    for op in capture_diff_slices(Algorithm::Patience, &before, &after) {
        let (tag, old, new) = op.as_tag_tuple();
        if tag != DiffTag::Equal {
            let text = after.get(new).unwrap_or_default().concat();
            edits.push(Edit::replace(Span::new(at(old.start), at(old.end)), text));
        }
    }
    Edits::new(edits, old.len()).unwrap_or_default()
}

fn lines(text: &[u8]) -> Vec<&[u8]> {
    text.split_inclusive(|byte| *byte == b'\n').collect()
}

/// Where each line starts, and where the last one ends.
fn starts(lines: &[&[u8]]) -> Vec<u32> {
    let mut at = 0_u32;
    let mut starts = vec![0];
    for line in lines {
        at = at.saturating_add(u32::try_from(line.len()).unwrap_or(u32::MAX));
        starts.push(at);
    }
    starts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_turn_one_text_into_the_other() {
        for (old, new) in [
            ("a\nb\nc\n", "a\nc\nb\n"),
            ("a\nb", "a\nb\nc"),
            ("", "a\n"),
            ("a\r\nb\r\n", "b\r\n"),
            ("same\n", "same\n"),
        ] {
            let edits = edits(old.as_bytes(), new.as_bytes());
            assert_eq!(edits.apply(old.as_bytes()), new.as_bytes(), "{old:?} to {new:?}");
            assert_eq!(edits.is_empty(), old == new);
        }
    }
}
