//! Words that move nothing in the rebuilt run but may do anything at the machine: they count as they are written.

use super::Revision;
use crate::motion::{Action, BlockRef, Code, Settings, SpindleSense};
use crate::program::ProgramGraph;
use crate::syntax::{Block, Blocks, Value, Word};
use std::hash::{DefaultHasher, Hash, Hasher};

/// Letters that move axes: beside them only the code itself counts, for the motion is compared anyway.
const AXES: &[u8] = b"XYZABCIJKR";

/// Reads blocks anew for what the run does not carry out.
pub(super) struct Reader<'a> {
    programs: &'a ProgramGraph,
    settings: &'a Settings,
    block: Block,
}

impl<'a> Reader<'a> {
    pub fn new(revision: &Revision<'a>) -> Self {
        Self { programs: revision.programs, settings: revision.settings, block: Block::default() }
    }

    fn bytes(&self, at: BlockRef) -> &'a [u8] {
        let source = self.programs.sources().get(usize::from(at.source.0));
        source.map_or(&[], |source| at.span.of(&source.bytes))
    }

    /// Adds a digest of each thing in a block that nobody can follow; gives how the block turns the spindle.
    pub fn marks(&mut self, at: BlockRef, understood: bool, marks: &mut Vec<(u64, BlockRef)>) -> Option<SpindleSense> {
        let bytes = self.bytes(at);
        let suspect = |byte: &u8| matches!(byte, b'G' | b'M' | b'/' | b'g' | b'm');
        if understood && !bytes.iter().any(suspect) {
            return None;
        }
        Blocks::new(bytes, 0, self.settings.lexis()).next(&mut self.block);
        let block = &self.block;
        if let Some((_, level)) = block.delete {
            marks.push((digest(&('/', level)), at));
        }
        if !understood {
            marks.push((words_digest(block, bytes), at));
            return None;
        }
        let strange = |word: &&Word| is_strange(word, block, self.settings);
        let sense = block.words.iter().find_map(|word| turns(word, self.settings));
        if !block.words.iter().any(|word| strange(&word)) {
            return sense;
        }
        if block.words.iter().any(|word| AXES.contains(&word.letter)) && !block.words.iter().any(sets_origin) {
            marks.extend(block.words.iter().filter(strange).map(|word| (word_digest(word, bytes), at)));
        } else {
            marks.push((words_digest(block, bytes), at));
        }
        sense
    }

    /// A digest of a block's words.
    pub fn digest(&mut self, at: BlockRef) -> u64 {
        let bytes = self.bytes(at);
        Blocks::new(bytes, 0, self.settings.lexis()).next(&mut self.block);
        words_digest(&self.block, bytes)
    }

    /// The time of a dwell as typed.
    pub fn pause(&mut self, at: BlockRef) -> Option<f64> {
        Blocks::new(self.bytes(at), 0, self.settings.lexis()).next(&mut self.block);
        let word = [b'P', b'X', b'U'].into_iter().find_map(|letter| self.block.word(letter))?;
        match word.value {
            Value::Number(number) => Some(number.value),
            Value::Expression(_) => None,
        }
    }
}

/// How a word turns the spindle.
fn turns(word: &Word, settings: &Settings) -> Option<SpindleSense> {
    let Value::Number(number) = word.value else { return None };
    match Code::find(word.letter, number.value, settings.dialect.bit).filter(|_| word.letter == b'M')?.action {
        Action::Spindle(sense) => Some(sense),
        _ => None,
    }
}

/// Whether a word's effect shows in no step and no state of the run.
fn is_strange(word: &Word, block: &Block, settings: &Settings) -> bool {
    if !matches!(word.letter, b'G' | b'M') {
        return false;
    }
    let Value::Number(number) = word.value else { return true };
    let extraction = settings.extraction_on.iter().chain(&settings.extraction_off);
    if word.letter == b'M' && extraction.into_iter().any(|code| f64::from(*code) == number.value) {
        return false;
    }
    match Code::find(word.letter, number.value, settings.dialect.bit).map(|code| code.action) {
        None | Some(Action::Nothing | Action::NotFollowed) => true,
        Some(Action::Path(_)) => block.word(b'P').is_some(),
        Some(action) => is_origin(action),
    }
}

/// Whether a word makes the other words of its block something else than a way to go.
fn sets_origin(word: &Word) -> bool {
    let Value::Number(number) = word.value else { return false };
    word.letter == b'G' && Code::find(b'G', number.value, u8::MAX).is_some_and(|code| is_origin(code.action))
}

/// Codes whose axis words count from or set an origin that only the control knows.
fn is_origin(action: Action) -> bool {
    let sets = matches!(action, Action::SetData | Action::LocalShift | Action::AxisOffset(_));
    sets || matches!(action, Action::Home(_) | Action::MachineCoordinates)
}

fn words_digest(block: &Block, bytes: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    if block.words.is_empty() || !block.faults.is_empty() || block.control.is_some() {
        let from = block.n.map_or(0, |n| n.end as usize);
        for byte in bytes.get(from..).unwrap_or_default().iter().filter(|byte| !byte.is_ascii_whitespace()) {
            byte.to_ascii_uppercase().hash(&mut hasher);
        }
        return hasher.finish();
    }
    for word in &block.words {
        word_digest(word, bytes).hash(&mut hasher);
    }
    hasher.finish()
}

/// A word by its meaning: `X10.` and `X010.000` are the same.
pub(super) fn word_digest(word: &Word, bytes: &[u8]) -> u64 {
    match &word.value {
        Value::Number(number) => digest(&(word.letter, (number.value + 0.0).to_bits())),
        Value::Expression(_) => {
            let text = word.span.of(bytes).iter().filter(|byte| !byte.is_ascii_whitespace());
            digest(&(word.letter, text.map(u8::to_ascii_uppercase).collect::<Vec<_>>()))
        }
    }
}

pub(super) fn digest(value: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}
