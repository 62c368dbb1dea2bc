//! Changes to one block and the lines around it, collected word by word and then turned into byte edits.

use super::edit::Edit;
use super::numbering::Numbering;
use super::style::Style;
use crate::source::Span;
use crate::syntax::{Block, Blocks, Lexis, Value, Word};
use crate::units::{Millimetres, UnitSystem};

/// One program text with what is needed to write more of it.
pub struct Text<'a> {
    /// The bytes.
    pub bytes: &'a [u8],
    /// Units it speaks.
    pub units: UnitSystem,
    /// How it is written.
    pub style: Style,
    /// Its sequence numbers.
    pub numbering: Numbering,
}

impl Text<'_> {
    /// A height in the air, rounded up to digits as coarse as the program's.
    #[must_use]
    pub fn air(&self, height: Millimetres) -> Millimetres {
        Millimetres(self.style.air(b'Z', height.0 / self.units.mm()) * self.units.mm())
    }

    /// The block that begins at byte `start`.
    #[must_use]
    pub fn block(&self, start: u32) -> Option<Block> {
        let mut block = Block::default();
        Blocks::new(self.bytes, start as usize, Lexis::default()).next(&mut block).then_some(block)
    }

    /// First byte of the line that byte `at` stands in.
    #[must_use]
    pub fn line_start(&self, at: u32) -> u32 {
        let before = self.bytes.get(..at as usize).unwrap_or_default();
        let start = memchr::memrchr2(b'\n', b'\r', before).map_or(0, |end| end + 1);
        u32::try_from(start).unwrap_or(u32::MAX)
    }

    /// The block on the line before the one that begins at byte `start`.
    #[must_use]
    pub fn block_before(&self, start: u32) -> Option<Block> {
        let mut at = start.checked_sub(1)?;
        if self.bytes.get(at as usize) == Some(&b'\n') && at > 0 && self.bytes.get(at as usize - 1) == Some(&b'\r') {
            at -= 1;
        }
        self.block(self.line_start(at))
    }

    /// A word's characters.
    #[must_use]
    pub fn typed(&self, span: Span) -> String {
        String::from_utf8_lossy(span.of(self.bytes)).into_owned()
    }
}

/// Words of one line to write.
pub type Line = Vec<String>;

/// One block being changed.
pub struct BlockEdit<'t, 'a> {
    text: &'t Text<'a>,
    /// The block as it is.
    pub block: Block,
    words: Vec<(Span, Option<String>)>,
    front: Line,
    back: Line,
    before: Vec<Line>,
    after: Vec<Line>,
}

impl<'t, 'a> BlockEdit<'t, 'a> {
    /// Opens the block that begins at byte `start`.
    ///
    /// # Errors
    /// With the reason, when the block has parts whose effect a changed text could not keep.
    pub fn open(text: &'t Text<'a>, start: u32) -> Result<Self, String> {
        let block = text.block(start).ok_or("the block is not in the text")?;
        if block.control.is_some() || !block.assignments.is_empty() {
            return Err("the block sets parameters or steers the program".to_owned());
        }
        if !block.faults.is_empty() {
            return Err("part of the block cannot be read".to_owned());
        }
        let (words, front, back, before, after) = Default::default();
        Ok(Self { text, block, words, front, back, before, after })
    }

    /// Puts `new` in place of a word.
    pub fn replace(&mut self, word: Span, new: String) {
        self.words.push((word, Some(new)));
    }

    /// Takes a word out.
    pub fn remove(&mut self, word: Span) {
        self.words.push((word, None));
    }

    /// Puts a word before all words but N.
    pub fn put_first(&mut self, word: String) {
        self.front.push(word);
    }

    /// Puts a word behind all words.
    pub fn put_last(&mut self, word: String) {
        self.back.push(word);
    }

    /// Puts a line before the block.
    pub fn line_before(&mut self, line: Line) {
        self.before.push(line);
    }

    /// Puts a line behind the block.
    pub fn line_after(&mut self, line: Line) {
        self.after.push(line);
    }

    /// Whether anything changes.
    #[must_use]
    pub fn is_unchanged(&self) -> bool {
        self.words.is_empty()
            && [&self.front, &self.back].iter().all(|line| line.is_empty())
            && [&self.before, &self.after].iter().all(|lines| lines.is_empty())
    }

    /// The changes as edits.
    ///
    /// # Errors
    /// With the reason, when a line would grow past what the control takes.
    pub fn finish(self) -> Result<Vec<Edit>, String> {
        let newline = self.text.style.newline;
        let mut edits = Vec::new();
        if !self.before.is_empty() {
            let n = self.text.block_before(self.block.span.start).and_then(|block| block.n);
            let lines = self.numbered(n, &self.before)?;
            let text: String = lines.iter().map(|line| format!("{line}{newline}")).collect();
            edits.push(Edit::insert(self.block.span.start, text));
        }
        let all_go = self.block.words.iter().all(|word| self.goes(word.span));
        let nothing_comes = self.front.is_empty() && self.back.is_empty() && self.after.is_empty();
        if all_go && nothing_comes && self.block.n.is_none() && self.block.comments.is_empty() {
            edits.push(Edit::replace(Span::new(self.block.span.start, self.block.end.end), ""));
        } else {
            let mut words = Vec::new();
            self.word_edits(&mut words);
            self.check_length(&words)?;
            edits.extend(words);
        }
        if !self.after.is_empty() {
            let lines = self.numbered(self.block.n, &self.after)?;
            let text: String = lines.iter().map(|line| format!("{newline}{line}")).collect();
            edits.push(Edit::insert(self.block.span.end, text));
        }
        Ok(joined(edits))
    }

    fn gap(&self) -> &'static str {
        if self.text.style.spaced { " " } else { "" }
    }

    fn word_edits(&self, edits: &mut Vec<Edit>) {
        let gap = self.gap();
        let first = self.block.words.first().map_or(self.block.span.end, |word| word.span.start);
        let last = self.block.words.last().map_or(first, |word| word.span.end);
        let keeps_words = self.block.words.iter().any(|word| !self.goes(word.span));
        let front = self.text.style.join(&self.front);
        let back = self.text.style.join(&self.back);
        for (span, new) in &self.words {
            match new {
                Some(new) => edits.push(Edit::replace(*span, new.as_str())),
                None => edits.push(Edit::replace(self.with_blanks(*span), "")),
            }
        }
        let leading = if keeps_words || !back.is_empty() { gap } else { "" };
        let trailing = if keeps_words { gap } else { "" };
        if !front.is_empty() {
            edits.push(Edit::insert(first, front + leading));
        }
        if !back.is_empty() {
            edits.push(Edit::insert(last, format!("{trailing}{back}")));
        }
    }

    fn goes(&self, word: Span) -> bool {
        self.words.contains(&(word, None))
    }

    /// A word that goes, with the blanks behind it; with those before it when no word stays behind it.
    fn with_blanks(&self, word: Span) -> Span {
        let blank = |at: Option<u32>| {
            at.and_then(|at| self.text.bytes.get(at as usize)).is_some_and(|byte| matches!(byte, b' ' | b'\t'))
        };
        let mut span = word;
        let stays_behind = self.block.words.iter().any(|other| other.span.start > word.start && !self.goes(other.span));
        let first = self.block.words.first().is_some_and(|first| first.span == word);
        let replaced = first && !(self.front.is_empty() && self.back.is_empty());
        if stays_behind {
            while span.end < self.block.span.end && blank(Some(span.end)) {
                span.end += 1;
            }
        } else if !replaced {
            while span.start > self.block.span.start && blank(span.start.checked_sub(1)) {
                span.start -= 1;
            }
            // Where no word is left, the comment behind them moves up.
            let last = self.block.words.last().is_some_and(|last| last.span == word);
            let whole = self.block.n.is_none() && self.block.words.iter().all(|word| self.goes(word.span));
            while last && whole && span.end < self.block.span.end && blank(Some(span.end)) {
                span.end += 1;
            }
        }
        span
    }

    fn check_length(&self, edits: &[Edit]) -> Result<(), String> {
        let Some(limit) = self.text.style.line_limit else { return Ok(()) };
        let grown: usize = edits.iter().map(|edit| edit.text.len()).sum();
        let taken: usize = edits.iter().map(|edit| edit.span.len() as usize).sum();
        too_long((self.block.span.len() as usize + grown).saturating_sub(taken), limit)
    }

    /// Lines with block-delete mark and, where the block has a number and the next ones are free, numbers.
    fn numbered(&self, n: Option<Span>, lines: &[Line]) -> Result<Vec<String>, String> {
        let numbers = n.filter(|_| self.block.n.is_some());
        let numbers = numbers.and_then(|n| self.text.numbering.behind(n, self.text.bytes, lines.len()));
        let delete = self.block.delete.map(|(span, _)| self.text.typed(span)).unwrap_or_default();
        let mut out = Vec::with_capacity(lines.len());
        for (index, line) in lines.iter().enumerate() {
            let number = numbers.as_ref().and_then(|numbers| numbers.get(index)).cloned();
            let words: Line = number.into_iter().chain(line.iter().cloned()).collect();
            let written = format!("{delete}{}", self.text.style.join(&words));
            if let Some(limit) = self.text.style.line_limit {
                too_long(written.len(), limit)?;
            }
            out.push(written);
        }
        Ok(out)
    }
}

/// Insertions at one place as one, in the order they were asked for.
fn joined(edits: Vec<Edit>) -> Vec<Edit> {
    let mut joined: Vec<Edit> = Vec::with_capacity(edits.len());
    for edit in edits {
        match joined.iter_mut().find(|other| other.span == edit.span && edit.span.is_empty()) {
            Some(other) => other.text.extend(edit.text),
            None => joined.push(edit),
        }
    }
    joined
}

fn too_long(length: usize, limit: usize) -> Result<(), String> {
    if length > limit {
        return Err(format!("the line would be {length} characters long, the control takes {limit}"));
    }
    Ok(())
}

/// The plain number of a word.
#[must_use]
pub fn number(word: &Word) -> Option<f64> {
    match word.value {
        Value::Number(number) => Some(number.value),
        Value::Expression(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Machine;
    use crate::patch::edit::Edits;

    fn edited(text: &str, limit: Option<u32>, change: impl Fn(&mut BlockEdit<'_, '_>)) -> Result<String, String> {
        let machine = Machine { line_limit: limit, ..Machine::default() };
        let bytes = text.as_bytes();
        let style = Style::learn(bytes, true, Some(&machine));
        let text = Text { bytes, units: UnitSystem::Metric, style, numbering: Numbering::learn(bytes) };
        let start = text.line_start(u32::try_from(bytes.iter().position(|byte| *byte == b'Z').unwrap()).unwrap());
        let mut edit = BlockEdit::open(&text, start)?;
        change(&mut edit);
        let edits = Edits::new(edit.finish()?, bytes.len()).map_err(|conflict| conflict.to_string())?;
        Ok(String::from_utf8(edits.apply(bytes)).unwrap())
    }

    fn span(edit: &BlockEdit<'_, '_>, letter: u8) -> Span {
        edit.block.word(letter).unwrap().span
    }

    #[test]
    fn words_come_and_go_and_the_rest_stays() {
        let text = "N10 G99 G83 X1. Z-8. R2. Q2. F90. (HOLE 1)\r\nN20 X2.\r\n";
        let out = edited(text, None, |edit| {
            edit.remove(span(edit, b'Q'));
            edit.replace(span(edit, b'Z'), "Z-8.5".to_owned());
            edit.put_first("G80".to_owned());
            edit.put_last("M8".to_owned());
        });
        assert_eq!(out.unwrap(), "N10 G80 G99 G83 X1. Z-8.5 R2. F90. M8 (HOLE 1)\r\nN20 X2.\r\n");
    }

    #[test]
    fn all_words_may_be_exchanged() {
        let out = edited("N10 G83 Z-8.  Q2. (A)\n", None, |edit| {
            for word in edit.block.words.clone() {
                edit.remove(word.span);
            }
            edit.put_first("G0".to_owned());
            edit.put_last("Z5.".to_owned());
        });
        assert_eq!(out.unwrap(), "N10 G0 Z5. (A)\n");
    }

    #[test]
    fn a_last_word_leaves_no_blank_behind() {
        let out = edited("G83 Z-8. Q2.\n", None, |edit| edit.remove(span(edit, b'Q')));
        assert_eq!(out.unwrap(), "G83 Z-8.\n");
    }

    #[test]
    fn new_lines_carry_numbers_and_block_delete() {
        let out = edited("/N10 G1 Z-8.", None, |edit| edit.line_after(vec!["G0".to_owned(), "Z5.".to_owned()]));
        assert_eq!(out.unwrap(), "/N10 G1 Z-8.\n/N11 G0 Z5.");
        let out = edited("N10 G0 X1.\nN20 G1 Z-8.\n", None, |edit| edit.line_before(vec!["M7".to_owned()]));
        assert_eq!(out.unwrap(), "N10 G0 X1.\nN11 M7\nN20 G1 Z-8.\n");
    }

    #[test]
    fn an_emptied_line_goes_unless_its_number_may_be_a_target() {
        let out = edited("G1 X1\nZ4\nM30\n", None, |edit| edit.remove(span(edit, b'Z')));
        assert_eq!(out.unwrap(), "G1 X1\nM30\n");
        let out = edited("G1 X1\nG4 Z4 (WAIT)\n", None, |edit| {
            edit.block.words.clone().iter().for_each(|word| edit.remove(word.span));
        });
        assert_eq!(out.unwrap(), "G1 X1\n(WAIT)\n");
        let out = edited("N1 G1 X1\nN2 Z4\nN3 M30\n", None, |edit| edit.remove(span(edit, b'Z')));
        assert_eq!(out.unwrap(), "N1 G1 X1\nN2\nN3 M30\n");
    }

    #[test]
    fn a_line_never_grows_past_the_limit() {
        let out = edited("G1 Z-8.\n", Some(10), |edit| edit.put_last("F159.".to_owned()));
        assert_eq!(out.unwrap_err(), "the line would be 13 characters long, the control takes 10");
    }
}
