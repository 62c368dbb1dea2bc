//! What the text differs in besides its machining: block numbers, the form of numbers, comments, words.

use super::change::{LineChange, MOST_LINES, Spot, TextChanges};
use super::explain::{hunks, kept};
use super::words::{digest, word_digest};
use crate::source::{Source, Span};
use crate::syntax::{Block, Blocks, Lexis};
use imara_diff::Hunk;
use std::hash::{DefaultHasher, Hash, Hasher};

/// One block with words: what it means, and how it is written.
struct Line {
    /// Digest of its words.
    words: u64,
    /// Digest of its N word.
    number: u64,
    /// Digest of its bytes without N word, comments and blanks.
    form: u64,
    span: Span,
    index: u32,
}

/// One comment.
struct Comment {
    digest: u64,
    span: Span,
    index: u32,
}

/// One source read for its text.
struct Reading<'a> {
    source: &'a Source,
    lines: Vec<Line>,
    comments: Vec<Comment>,
    end: Span,
}

impl<'a> Reading<'a> {
    fn of(source: &'a Source, lexis: &Lexis) -> Self {
        let mut reading = Self { source, lines: Vec::new(), comments: Vec::new(), end: Span::default() };
        let mut blocks = Blocks::new(&source.bytes, 0, lexis.clone());
        let mut block = Block::default();
        let mut index = 0;
        while blocks.next(&mut block) {
            if index == 0 {
                reading.end = block.end;
            }
            reading.add(&block, index);
            index += 1;
        }
        reading
    }

    fn add(&mut self, block: &Block, index: u32) {
        let bytes = &self.source.bytes;
        for span in &block.comments {
            self.comments.push(Comment { digest: digest(&span.of(bytes)), span: *span, index });
        }
        let blank = block.is_empty() && block.program.is_none() && block.faults.is_empty() && block.delete.is_none();
        if blank || block.percent.is_some() {
            return;
        }
        self.lines.push(Line {
            words: meaning(block, bytes),
            number: digest(&block.n.map(|n| n.of(bytes))),
            form: form(block, bytes),
            span: block.span,
            index,
        });
    }

    fn spot(&self, index: u32, span: Span) -> Spot {
        let text = span.of(&self.source.bytes);
        let mut block = Block::default();
        Blocks::new(text, 0, Lexis::default()).next(&mut block);
        let n = block.n.map(|n| String::from_utf8_lossy(n.of(text)).into_owned());
        Spot { file: self.source.name.clone(), line: index + 1, n }
    }

    fn line(&self, line: &Line) -> (Spot, String) {
        (self.spot(line.index, line.span), self.said(line.span))
    }

    fn comment(&self, comment: &Comment) -> (Spot, String) {
        (Spot { file: self.source.name.clone(), line: comment.index + 1, n: None }, self.said(comment.span))
    }

    fn said(&self, span: Span) -> String {
        String::from_utf8_lossy(span.of(&self.source.bytes)).trim().to_owned()
    }

    fn line_end(&self) -> &'static str {
        match self.end.of(&self.source.bytes) {
            b"\r\n" => "CR LF",
            b"\r" => "CR",
            b"\n" => "LF",
            _ => "none",
        }
    }
}

/// What the words of a block mean, however they are written.
fn meaning(block: &Block, bytes: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    block.delete.map(|(_, level)| level).hash(&mut hasher);
    block.program.map(|(_, number)| number).hash(&mut hasher);
    if block.control.is_some() || !block.faults.is_empty() || !block.assignments.is_empty() {
        form(block, bytes).hash(&mut hasher);
    }
    for word in &block.words {
        word_digest(word, bytes).hash(&mut hasher);
    }
    hasher.finish()
}

/// The bytes of a block without its N word, comments and blanks at its ends.
fn form(block: &Block, bytes: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    let mut at = block.n.map_or(block.span.start, |n| n.end);
    let mut parts = Vec::new();
    for comment in &block.comments {
        parts.push(Span::new(at, comment.start));
        at = comment.end;
    }
    parts.push(Span::new(at, block.span.end));
    for part in parts {
        hasher.write(part.of(bytes).trim_ascii());
    }
    hasher.finish()
}

/// Differences of two texts.
pub(super) fn text_changes(old: &[Source], new: &[Source], lexis: [&Lexis; 2]) -> TextChanges {
    let mut found = TextChanges::default();
    let [old_lexis, new_lexis] = lexis;
    let empty = Source::new("", Vec::new());
    for (index, before) in old.iter().enumerate() {
        let twin = new.iter().enumerate().find(|(at, other)| twins(index, before, *at, other));
        let after = twin.map_or(&empty, |(_, after)| after);
        if before.bytes != after.bytes {
            source(&Reading::of(before, old_lexis), &Reading::of(after, new_lexis), &mut found);
        }
    }
    for (at, after) in new.iter().enumerate() {
        if !old.iter().enumerate().any(|(index, before)| twins(index, before, at, after)) {
            source(&Reading::of(&empty, old_lexis), &Reading::of(after, new_lexis), &mut found);
        }
    }
    found
}

/// Main programs belong together whatever their names, subprogram files by name.
fn twins(index: usize, old: &Source, at: usize, new: &Source) -> bool {
    if index == 0 || at == 0 { index == at } else { file_name(old) == file_name(new) }
}

fn file_name(source: &Source) -> &str {
    source.name.rsplit('/').next().unwrap_or_default()
}

fn source(old: &Reading<'_>, new: &Reading<'_>, found: &mut TextChanges) {
    let both = !old.source.bytes.is_empty() && !new.source.bytes.is_empty();
    if both && old.line_end() != new.line_end() {
        found.line_ends.get_or_insert((old.line_end(), new.line_end()));
    }
    let words = |reading: &Reading<'_>| reading.lines.iter().map(|line| line.words).collect::<Vec<_>>();
    let changed = hunks(&words(old), &words(new));
    for (before, after) in kept(&changed, &old.lines, &new.lines) {
        found.renumbered += u64::from(before.number != after.number);
        found.reformatted += u64::from(before.form != after.form);
    }
    let lines = pairs(&changed, &old.lines, &new.lines);
    let lines = lines.map(|(old_line, new_line)| LineChange {
        old: old_line.map(|line| old.line(line)),
        new: new_line.map(|line| new.line(line)),
    });
    found.more_blocks += gather(lines, &mut found.blocks);
    let digests = |reading: &Reading<'_>| reading.comments.iter().map(|comment| comment.digest).collect::<Vec<_>>();
    let changed = hunks(&digests(old), &digests(new));
    let comments = pairs(&changed, &old.comments, &new.comments);
    let comments = comments.map(|(before, after)| LineChange {
        old: before.map(|comment| old.comment(comment)),
        new: after.map(|comment| new.comment(comment)),
    });
    found.more_comments += gather(comments, &mut found.comments);
}

/// Keeps the first of them; gives how many there are besides.
fn gather(changes: impl Iterator<Item = LineChange>, list: &mut Vec<LineChange>) -> u64 {
    let mut more = 0;
    for change in changes {
        if list.len() < MOST_LINES { list.push(change) } else { more += 1 }
    }
    more
}

/// Members that hunks touch, paired in order within each.
fn pairs<'a, T>(
    changed: &'a [Hunk],
    old: &'a [T],
    new: &'a [T],
) -> impl Iterator<Item = (Option<&'a T>, Option<&'a T>)> {
    changed.iter().flat_map(|hunk| {
        let range = |range: &std::ops::Range<u32>| range.start as usize..range.end as usize;
        let before = old.get(range(&hunk.before)).unwrap_or_default();
        let after = new.get(range(&hunk.after)).unwrap_or_default();
        (0..before.len().max(after.len())).map(move |at| (before.get(at), after.get(at)))
    })
}
