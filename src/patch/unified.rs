//! A unified diff written straight from the edits, without comparing the two texts.
//!
//! Form: the unified format of POSIX.1-2017 `diff -u`, with `a/` and `b/` before the name. Lines end at LF, so a
//! CR stays part of its line and a file with lone CRs is one line.

use super::edit::Edits;
use memchr::{memchr, memchr_iter, memrchr};
use std::io::Write;
use std::ops::Range;

/// Unchanged lines shown around a change.
const CONTEXT: usize = 3;

/// The unified diff of `old` and its copy with `edits` applied; empty when nothing changes.
#[must_use]
pub fn unified(name: &str, old: &[u8], edits: &Edits) -> Vec<u8> {
    unified_with_headings(name, old, edits, &|_| String::new())
}

/// A unified diff whose hunks carry a heading, which the format leaves free for people. `heading` is asked for the
/// bytes of the old text that a hunk shows.
pub(super) fn unified_with_headings(
    name: &str,
    old: &[u8],
    edits: &Edits,
    heading: &dyn Fn(Range<usize>) -> String,
) -> Vec<u8> {
    let changes = line_changes(old, edits);
    let mut out = Vec::new();
    if changes.is_empty() {
        return out;
    }
    file_line(&mut out, "---", "a", name);
    file_line(&mut out, "+++", "b", name);
    let mut counter = LineCounter::default();
    let mut rest = changes.as_slice();
    while let Some(length) = hunk_length(old, rest) {
        let (hunk, next) = rest.split_at(length);
        let shown = shown(old, hunk);
        write_hunk(&mut out, old, hunk, &shown, &mut counter, &heading(shown.clone()));
        rest = next;
    }
    out
}

/// Whole lines that change, with their new text.
struct Change {
    old: Range<usize>,
    new: Vec<u8>,
}

/// Running line numbers, so that every byte before a hunk is looked at once.
#[derive(Default)]
struct LineCounter {
    at: usize,
    old: usize,
    grown: isize,
}

fn line_start(text: &[u8], at: usize) -> usize {
    memrchr(b'\n', text.get(..at).unwrap_or_default()).map_or(0, |lf| lf + 1)
}

fn line_end(text: &[u8], at: usize) -> usize {
    memchr(b'\n', text.get(at..).unwrap_or_default()).map_or(text.len(), |lf| at + lf + 1)
}

/// The lines of `text`, each with its LF.
fn lines(text: &[u8]) -> impl DoubleEndedIterator<Item = &[u8]> + Clone {
    text.split_inclusive(|byte| *byte == b'\n')
}

/// Edits widened to whole lines, those that touch joined, and lines that stay the same taken off both ends.
fn line_changes(old: &[u8], edits: &Edits) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut edits = edits.as_slice().iter().peekable();
    while let Some(first) = edits.next() {
        let start = line_start(old, first.span.start as usize);
        let mut new = old.get(start..first.span.start as usize).unwrap_or_default().to_vec();
        new.extend_from_slice(&first.text);
        let mut at = first.span.end as usize;
        let mut end = line_end(old, at);
        while let Some(next) = edits.next_if(|next| touches(old, next.span.start as usize, &new, at..end)) {
            new.extend_from_slice(old.get(at..next.span.start as usize).unwrap_or_default());
            new.extend_from_slice(&next.text);
            at = next.span.end as usize;
            end = end.max(line_end(old, at));
        }
        new.extend_from_slice(old.get(at..end).unwrap_or_default());
        changes.extend(without_common_lines(old, start..end, new));
    }
    changes
}

/// Whether an edit at `next` changes a line that ends at `rest.end`, or one that the edits so far leave without an end.
fn touches(old: &[u8], next: usize, new: &[u8], rest: Range<usize>) -> bool {
    let left = old.get(rest.clone()).unwrap_or_default();
    let open = if left.is_empty() { !new.ends_with(b"\n") } else { !left.ends_with(b"\n") };
    line_start(old, next) < rest.end || (next == rest.end && open && !new.is_empty())
}

fn without_common_lines(text: &[u8], old: Range<usize>, mut new: Vec<u8>) -> Option<Change> {
    let before = text.get(old.clone()).unwrap_or_default();
    let head: usize = lines(before).zip(lines(&new)).take_while(|(a, b)| a == b).map(|(a, _)| a.len()).sum();
    let before_tail = before.get(head..).unwrap_or_default();
    let new_tail = new.get(head..).unwrap_or_default();
    let tail: usize =
        lines(before_tail).rev().zip(lines(new_tail).rev()).take_while(|(a, b)| a == b).map(|(a, _)| a.len()).sum();
    if before_tail.len() == tail && new_tail.len() == tail {
        return None;
    }
    new.truncate(new.len() - tail);
    new.drain(..head);
    Some(Change { old: old.start + head..old.end - tail, new })
}

/// How many of the first changes share one hunk; `None` when there are none left.
fn hunk_length(old: &[u8], changes: &[Change]) -> Option<usize> {
    changes.first()?;
    let near = changes.iter().zip(changes.iter().skip(1)).take_while(|(a, b)| {
        let between = old.get(a.old.end..b.old.start).unwrap_or_default();
        memchr_iter(b'\n', between).take(2 * CONTEXT + 1).count() <= 2 * CONTEXT
    });
    Some(near.count() + 1)
}

/// The bytes a hunk shows: its changes and the lines around them.
fn shown(old: &[u8], hunk: &[Change]) -> Range<usize> {
    let (Some(first), Some(last)) = (hunk.first(), hunk.last()) else { return 0..0 };
    let start = (0..CONTEXT).fold(first.old.start, |at, _| line_start(old, at.saturating_sub(1)));
    let end = (0..CONTEXT).fold(last.old.end, |at, _| line_end(old, at));
    start..end
}

fn write_hunk(
    out: &mut Vec<u8>,
    old: &[u8],
    hunk: &[Change],
    shown: &Range<usize>,
    counter: &mut LineCounter,
    heading: &str,
) {
    let Range { start, end } = *shown;
    counter.old += memchr_iter(b'\n', old.get(counter.at..start).unwrap_or_default()).count();
    counter.at = start;

    let mut body = Vec::new();
    let (mut old_lines, mut new_lines) = (0, 0);
    let mut at = start;
    for change in hunk {
        let same = write_lines(&mut body, b' ', old.get(at..change.old.start).unwrap_or_default());
        old_lines += same + write_lines(&mut body, b'-', old.get(change.old.clone()).unwrap_or_default());
        new_lines += same + write_lines(&mut body, b'+', &change.new);
        at = change.old.end;
    }
    let same = write_lines(&mut body, b' ', old.get(at..end).unwrap_or_default());
    old_lines += same;
    new_lines += same;

    let new_before = counter.old.saturating_add_signed(counter.grown);
    // Writing to a Vec cannot fail.
    let gap = if heading.is_empty() { "" } else { " " };
    let (old_range, new_range) = (range(counter.old, old_lines), range(new_before, new_lines));
    let _ = writeln!(out, "@@ -{old_range} +{new_range} @@{gap}{heading}");
    out.extend_from_slice(&body);
    counter.grown += isize::try_from(new_lines).unwrap_or(0) - isize::try_from(old_lines).unwrap_or(0);
}

/// A line range as POSIX writes it: an empty one names the line before it, a single one leaves out the count.
fn range(before: usize, count: usize) -> String {
    match count {
        0 => format!("{before},0"),
        1 => format!("{}", before + 1),
        _ => format!("{},{count}", before + 1),
    }
}

fn write_lines(out: &mut Vec<u8>, mark: u8, text: &[u8]) -> usize {
    let mut count = 0;
    for line in lines(text) {
        out.push(mark);
        out.extend_from_slice(line);
        if !line.ends_with(b"\n") {
            out.extend_from_slice(b"\n\\ No newline at end of file\n");
        }
        count += 1;
    }
    count
}

/// A name with blanks ends in a tab, one with control characters, quotes or backslashes stands in C quotes.
fn file_line(out: &mut Vec<u8>, mark: &str, side: &str, name: &str) {
    let path = format!("{side}/{name}");
    let quoted = path.bytes().any(|byte| byte < b' ' || matches!(byte, b'"' | b'\\' | 0x7f));
    let text = if quoted {
        c_quoted(&path)
    } else if path.contains(' ') {
        format!("{path}\t")
    } else {
        path
    };
    let _ = writeln!(out, "{mark} {text}");
}

fn c_quoted(path: &str) -> String {
    let mut text = String::from("\"");
    for character in path.chars() {
        match character {
            '"' | '\\' => text.extend(['\\', character]),
            '\n' => text.push_str("\\n"),
            '\t' => text.push_str("\\t"),
            control if control.is_ascii_control() => text.push_str(&format!("\\{:03o}", u32::from(control))),
            other => text.push(other),
        }
    }
    text.push('"');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::patch::edit::Edit;
    use crate::source::Span;

    fn diff(old: &[u8], edits: Vec<Edit>) -> String {
        let edits = Edits::new(edits, old.len()).unwrap();
        String::from_utf8(unified("a.nc", old, &edits)).unwrap()
    }

    #[test]
    fn a_changed_word_shows_its_line_with_three_lines_around_it() {
        let old = b"1\n2\n3\n4\nF159\n6\n7\n8\n9\n";
        let text = diff(old, vec![Edit::replace(Span::new(9, 12), "80")]);
        assert_eq!(text, "--- a/a.nc\n+++ b/a.nc\n@@ -2,7 +2,7 @@\n 2\n 3\n 4\n-F159\n+F80\n 6\n 7\n 8\n");
    }

    #[test]
    fn inserted_lines_are_pure_additions() {
        let text = diff(b"G1\r\nM30\r\n", vec![Edit::insert(4, "G80\r\n")]);
        assert_eq!(text, "--- a/a.nc\n+++ b/a.nc\n@@ -1,2 +1,3 @@\n G1\r\n+G80\r\n M30\r\n");
    }

    #[test]
    fn a_missing_final_line_end_is_said() {
        let text = diff(b"G1\nM30", vec![Edit::replace(Span::new(5, 6), "2")]);
        let marker = "\\ No newline at end of file\n";
        assert_eq!(text, format!("--- a/a.nc\n+++ b/a.nc\n@@ -1,2 +1,2 @@\n G1\n-M30\n{marker}+M32\n{marker}"));
    }

    #[test]
    fn two_edits_of_an_open_last_line_are_one_change() {
        let edits = vec![Edit::replace(Span::new(3, 6), "X"), Edit::insert(8, "\nM9")];
        let marker = "\\ No newline at end of file\n";
        assert_eq!(
            diff(b"G1\nX4 Y2", edits),
            format!("--- a/a.nc\n+++ b/a.nc\n@@ -1,2 +1,3 @@\n G1\n-X4 Y2\n{marker}+XY2\n+M9\n{marker}")
        );
    }

    #[test]
    fn text_behind_a_line_that_lost_its_end_joins_it() {
        let edits = vec![Edit::replace(Span::new(2, 6), ""), Edit::insert(6, "F8")];
        let marker = "\\ No newline at end of file\n";
        let expected = format!("--- a/a.nc\n+++ b/a.nc\n@@ -1,2 +1 @@\n-G0\n-X1\n+G0F8\n{marker}");
        assert_eq!(diff(b"G0\nX1\n", edits), expected);
    }

    #[test]
    fn an_edit_that_changes_nothing_is_no_diff() {
        assert_eq!(diff(b"G1\n", vec![Edit::replace(Span::new(1, 2), "1")]), "");
    }

    #[test]
    fn names_that_need_it_are_quoted() {
        let edits = Edits::new(vec![Edit::insert(0, "G0\n")], 0).unwrap();
        let text = String::from_utf8(unified("a \"b\".nc", b"", &edits)).unwrap();
        assert!(text.starts_with("--- \"a/a \\\"b\\\".nc\"\n"), "{text}");
        let text = String::from_utf8(unified("a b.nc", b"", &edits)).unwrap();
        assert!(text.starts_with("--- a/a b.nc\t\n+++ b/a b.nc\t\n@@ -0,0 +1 @@\n+G0\n"), "{text}");
    }
}
