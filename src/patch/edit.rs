//! Byte edits on one text: a sorted list without overlap, applied to a copy.

use crate::source::Span;
use std::fmt;

/// Bytes that take the place of a span; an empty span inserts.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edit {
    /// What is replaced.
    pub span: Span,
    /// What takes its place.
    pub text: Vec<u8>,
}

impl Edit {
    /// Puts `text` in place of `span`.
    #[must_use]
    pub fn replace(span: Span, text: impl Into<Vec<u8>>) -> Self {
        Self { span, text: text.into() }
    }

    /// Puts `text` before byte `at`.
    #[must_use]
    pub fn insert(at: u32, text: impl Into<Vec<u8>>) -> Self {
        Self { span: Span::new(at, at), text: text.into() }
    }
}

/// Why a list of edits cannot be applied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// Two edits want different text at the same bytes.
    Overlap(Span, Span),
    /// An edit lies outside the text or ends before it starts.
    Outside(Span),
}

impl fmt::Display for Conflict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overlap(a, b) => {
                write!(f, "bytes {}..{} and {}..{} are wanted by two edits", a.start, a.end, b.start, b.end)
            }
            Self::Outside(span) => write!(f, "bytes {}..{} lie outside the text", span.start, span.end),
        }
    }
}

/// Edits in order of place, none overlapping another. The same edit asked for twice counts once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edits {
    list: Vec<Edit>,
    /// Where each edit's text begins after all edits.
    starts: Vec<i64>,
}

impl Edits {
    /// Sorts `edits` and makes sure they fit a text of `length` bytes.
    ///
    /// # Errors
    /// When two edits overlap, two different insertions share a place, or one lies outside the text.
    pub fn new(mut edits: Vec<Edit>, length: usize) -> Result<Self, Conflict> {
        edits.sort();
        edits.dedup();
        for edit in &edits {
            if edit.span.start > edit.span.end || edit.span.end as usize > length {
                return Err(Conflict::Outside(edit.span));
            }
        }
        for (a, b) in edits.iter().zip(edits.iter().skip(1)) {
            let two_insertions = a.span == b.span && a.span.is_empty();
            if b.span.start < a.span.end || two_insertions {
                return Err(Conflict::Overlap(a.span, b.span));
            }
        }
        let mut shift = 0_i64;
        let mut starts = Vec::with_capacity(edits.len());
        for edit in &edits {
            starts.push(i64::from(edit.span.start) + shift);
            shift += grown(edit);
        }
        Ok(Self { list: edits, starts })
    }

    /// The edits, first place first.
    #[must_use]
    pub fn as_slice(&self) -> &[Edit] {
        &self.list
    }

    /// Whether nothing changes.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// A copy of `bytes` with every edit applied; all other bytes stay as they are.
    #[must_use]
    pub fn apply(&self, bytes: &[u8]) -> Vec<u8> {
        let grown: usize = self.list.iter().map(|edit| edit.text.len()).sum();
        let mut out = Vec::with_capacity(bytes.len() + grown);
        let mut at = 0;
        for edit in &self.list {
            out.extend_from_slice(bytes.get(at..edit.span.start as usize).unwrap_or_default());
            out.extend_from_slice(&edit.text);
            at = edit.span.end as usize;
        }
        out.extend_from_slice(bytes.get(at..).unwrap_or_default());
        out
    }

    /// Where byte `after` of the edited text stood before; the start of the edit for text an edit brought in.
    #[must_use]
    pub fn origin_of(&self, after: u32) -> u32 {
        let after = i64::from(after);
        let before = self.starts.partition_point(|start| *start <= after);
        let last = before.checked_sub(1).and_then(|index| self.list.get(index).zip(self.starts.get(index)));
        let Some((edit, start)) = last else { return u32::try_from(after).unwrap_or(u32::MAX) };
        let end = start + i64::try_from(edit.text.len()).unwrap_or(i64::MAX);
        if after < end {
            return edit.span.start;
        }
        u32::try_from(i64::from(edit.span.end) + after - end).unwrap_or(u32::MAX)
    }
}

/// How many bytes longer an edit makes the text.
fn grown(edit: &Edit) -> i64 {
    i64::try_from(edit.text.len()).unwrap_or(i64::MAX) - i64::from(edit.span.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_are_applied_in_order_of_place() {
        let edits = vec![Edit::replace(Span::new(8, 12), "F80"), Edit::insert(0, "N5 ")];
        let edits = Edits::new(edits, 12).unwrap();
        assert_eq!(edits.apply(b"G1 Z-40 F159"), b"N5 G1 Z-40 F80");
        assert_eq!(edits.origin_of(0), 0);
        assert_eq!(edits.origin_of(3), 0);
        assert_eq!(edits.origin_of(6), 3);
        assert_eq!(edits.origin_of(12), 8);
    }

    #[test]
    fn an_overlap_is_a_conflict_and_a_repeat_is_not() {
        let edit = Edit::replace(Span::new(2, 6), "X");
        assert!(Edits::new(vec![edit.clone(), edit.clone()], 10).is_ok());
        let other = Edit::replace(Span::new(5, 8), "Y");
        assert_eq!(Edits::new(vec![edit, other], 10), Err(Conflict::Overlap(Span::new(2, 6), Span::new(5, 8))));
        let insertions = vec![Edit::insert(3, "a"), Edit::insert(3, "b")];
        assert!(matches!(Edits::new(insertions, 10), Err(Conflict::Overlap(..))));
        assert!(matches!(Edits::new(vec![Edit::insert(11, "a")], 10), Err(Conflict::Outside(_))));
    }
}
