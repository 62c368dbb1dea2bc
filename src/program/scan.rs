//! One source into its programs and calls.

use super::{CallKind, candidates};
use crate::source::Span;
use crate::syntax::{Block, Blocks, Lexis, Value, Word};

/// What one source holds.
#[derive(Default)]
pub(super) struct Scan {
    /// Programs in order: number, first byte, O word.
    pub headings: Vec<(Option<u32>, u32, Span)>,
    /// Calls in order.
    pub calls: Vec<FoundCall>,
}

/// A call before its target is looked for.
pub(super) struct FoundCall {
    pub kind: CallKind,
    pub block: Span,
    pub word: Span,
    pub number: Option<u32>,
    pub times: Option<u32>,
}

/// Reads the candidate lines of `bytes`. Text before the first O word belongs to it unless it holds blocks of its own.
pub(super) fn scan(bytes: &[u8], lexis: &Lexis) -> Scan {
    let mut found = Scan::default();
    let mut block = Block::default();
    for line in candidates::lines(bytes) {
        if !Blocks::new(bytes, line, lexis.clone()).next(&mut block) {
            continue;
        }
        if let Some((heading, number)) = block.program {
            found.headings.push((Some(number), block.span.start, heading));
        }
        found.calls.extend(calls_of(&block));
    }
    match found.headings.first_mut() {
        Some((_, start, _)) if is_blank(bytes, *start, lexis) => *start = 0,
        _ => found.headings.insert(0, (None, 0, Span::default())),
    }
    found
}

/// The number a program gives itself: that of an O word before its first block that does something.
#[must_use]
pub fn own_number(bytes: &[u8]) -> Option<u32> {
    let mut block = Block::default();
    let mut blocks = Blocks::new(bytes, 0, Lexis::default());
    while blocks.next(&mut block) {
        if let Some((_, number)) = block.program {
            return Some(number);
        }
        if !block.is_empty() {
            return None;
        }
    }
    None
}

/// Whether no block before `end` does anything.
fn is_blank(bytes: &[u8], end: u32, lexis: &Lexis) -> bool {
    let mut block = Block::default();
    let mut blocks = Blocks::new(bytes, 0, lexis.clone());
    while blocks.next(&mut block) && block.span.start < end {
        if !block.is_empty() {
            return false;
        }
    }
    true
}

fn calls_of(block: &Block) -> Vec<FoundCall> {
    let codes = block.words.iter().filter_map(|word| Some((word.letter, whole(word)?)));
    codes
        .filter_map(|code| {
            let (kind, name) = match code {
                (b'M', 98) => match (block.word(b'P'), block.word(b'Q')) {
                    (Some(program), _) => (CallKind::Program, program),
                    (None, sequence) => (CallKind::Sequence, sequence?),
                },
                (b'M', 97) => (CallKind::Sequence, block.word(b'P')?),
                (b'M', 99) => (CallKind::ReturnTo, block.word(b'P')?),
                (b'G', 65 | 66) => (CallKind::Macro, block.word(b'P')?),
                _ => return None,
            };
            let times = block.word(b'L').and_then(whole);
            Some(FoundCall { kind, block: block.span, word: name.span, number: whole(name), times })
        })
        .collect()
}

/// The value of a word that holds a whole number.
fn whole(word: &Word) -> Option<u32> {
    match word.value {
        Value::Number(number) if number.value >= 0.0 && number.value <= f64::from(u32::MAX) =>
        {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "range and fraction are checked"
            )]
            (libm::trunc(number.value) == number.value).then_some(number.value as u32)
        }
        _ => None,
    }
}
