//! Finds the words of a hole in its program text again, so that no hole has to keep them.

use super::{Hole, HoleWord, Origin, Recipe};
use crate::motion::UNSTATED;
use crate::source::Span;
use crate::syntax::{Block, Blocks, Lexis, Value, Word};
use memchr::memrchr2;

/// How many lines a sticky cycle word is looked for before the block that last stated the cycle.
const LOOK_BACK: usize = 1000;

/// The word of a hole that holds for its stroke number `stroke`: in the stroke's block or before it in the hole's own
/// blocks, else where the cycle or the modal value was stated. The whole block of the stroke when no word says it.
///
/// `bytes` is the text the hole's offsets count in.
#[must_use]
pub fn hole_word_span(bytes: &[u8], hole: &Hole, recipe: &Recipe, stroke: usize, word: HoleWord) -> Span {
    let further = recipe.strokes.get(stroke).map_or(0, |stroke| usize::from(stroke.block));
    let mut reader = Reader::at(bytes, hole.block);
    let mut found = None;
    let mut own = Span::default();
    for line in 0..=further {
        let Some(block) = reader.next() else { break };
        own = block.span;
        // A stroke in a subprogram: what stands between the call and the program's heading is not run on the way.
        if block.program.is_some() && line > 0 {
            found = None;
        }
        // A depth or dwell belongs to one stroke; feed and speed hold until the next word.
        if line == further || matches!(word, HoleWord::Feed | HoleWord::Speed) {
            found = find(block, recipe, word).or(found);
        }
    }
    let stated = |offset: u32| (offset != UNSTATED).then(|| word_at(bytes, offset)).flatten();
    let elsewhere = || match word {
        HoleWord::Block => None,
        HoleWord::Feed => stated(hole.feed_at),
        HoleWord::Speed => stated(hole.speed_at),
        HoleWord::Depth | HoleWord::Retract | HoleWord::Peck | HoleWord::Dwell | HoleWord::Cycle => {
            matches!(recipe.origin, Origin::Cycle(_)).then(|| sticky(bytes, hole.stated, recipe, word)).flatten()
        }
    };
    found.or_else(elsewhere).unwrap_or(own)
}

/// The word in one block.
fn find(block: &Block, recipe: &Recipe, word: HoleWord) -> Option<Span> {
    let axis = b"XYZ".get(usize::from(recipe.axis)).copied().unwrap_or(b'Z');
    let letter = match word {
        HoleWord::Block => return None,
        HoleWord::Feed => b'F',
        HoleWord::Speed => b'S',
        HoleWord::Depth => axis,
        HoleWord::Retract if recipe.r.is_none() => axis,
        HoleWord::Retract => b'R',
        HoleWord::Peck => b'Q',
        HoleWord::Dwell => b'P',
        HoleWord::Cycle => return block.words.iter().find(|word| is_cycle(word, recipe)).map(|word| word.span),
    };
    block.word(letter).map(|word| word.span)
}

/// Whether a word is the code of the hole's cycle.
fn is_cycle(word: &Word, recipe: &Recipe) -> bool {
    let Origin::Cycle(code) = recipe.origin else { return false };
    let number = code.name().trim_start_matches('G').parse::<f64>();
    match &word.value {
        Value::Number(value) => word.letter == b'G' && number.is_ok_and(|number| number == value.value),
        Value::Expression(_) => false,
    }
}

/// A word of a cycle that still holds: in the block at `stated`, or before it as far as the cycle's own code.
fn sticky(bytes: &[u8], stated: u32, recipe: &Recipe, word: HoleWord) -> Option<Span> {
    let mut at = stated;
    for _ in 0..LOOK_BACK {
        let mut reader = Reader::at(bytes, at);
        let block = reader.next()?;
        let found = find(block, recipe, word);
        if found.is_some() || block.words.iter().any(|word| is_cycle(word, recipe)) {
            return found;
        }
        at = line_before(bytes, at)?;
    }
    None
}

/// The word that starts at a byte offset.
fn word_at(bytes: &[u8], offset: u32) -> Option<Span> {
    let mut reader = Reader::at(bytes, line_start(bytes, offset as usize));
    reader.next()?.words.iter().map(|word| word.span).find(|span| span.start == offset)
}

/// First byte of the line that byte `at` stands in.
fn line_start(bytes: &[u8], at: usize) -> u32 {
    let end = memrchr2(b'\n', b'\r', bytes.get(..at).unwrap_or_default());
    u32::try_from(end.map_or(0, |end| end + 1)).unwrap_or(0)
}

/// First byte of the line before the one that starts at byte `start`; CR LF is one line end.
fn line_before(bytes: &[u8], start: u32) -> Option<u32> {
    let end = (start as usize).checked_sub(1)?;
    let pair = bytes.get(..=end).is_some_and(|before| before.ends_with(b"\r\n"));
    Some(line_start(bytes, end - usize::from(pair)))
}

/// Reads blocks one after another into one buffer.
struct Reader<'a> {
    blocks: Blocks<'a>,
    block: Block,
}

impl<'a> Reader<'a> {
    fn at(bytes: &'a [u8], offset: u32) -> Self {
        Self { blocks: Blocks::new(bytes, offset as usize, Lexis::default()), block: Block::default() }
    }

    fn next(&mut self) -> Option<&Block> {
        self.blocks.next(&mut self.block).then_some(&self.block)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::{CycleCode, SpindleSense, TraceId};
    use crate::operation::{Stroke, StrokeKind};
    use crate::source::SourceId;

    const CYCLES: &str = "S2000 M3\nG0 Z5\r\nG83 X0 Y0 Z-8.5 R2 Q2 F318\r\nX10\nZ-9\nX20 F200\nX30\nG80\n";
    const BY_HAND: &str = "G0 X5 Y5\nG1 Z-4 F100\nG0 Z1\nG0 Z-3.8\nG1 Z-6\nG1 Z-7 F50\nG4 P1\nG0 Z5\n";

    fn offset(text: &str, part: &str) -> u32 {
        u32::try_from(text.find(part).unwrap()).unwrap()
    }

    fn hole(text: &str, block: &str, stated: &str, feed: &str) -> Hole {
        Hole {
            x: 0.0,
            y: 0.0,
            recipe: 0,
            block: offset(text, block),
            stated: offset(text, stated),
            feed_at: offset(text, feed),
            speed_at: UNSTATED,
            trace: TraceId(0),
            source: SourceId(0),
        }
    }

    fn recipe(origin: Origin, r: Option<f64>, blocks: &[u16]) -> Recipe {
        let (speed, sense) = (Some(2000.0), SpindleSense::Clockwise);
        let stroke = |block: &u16| Stroke {
            kind: StrokeKind::Feed,
            from: 1.0,
            to: -1.0,
            feed: None,
            speed,
            sense,
            block: *block,
            part: None,
        };
        Recipe {
            tool: 1,
            axis: 2,
            origin,
            start: 1.0,
            r,
            q: None,
            bottom: -1.0,
            clear: 1.0,
            strokes: blocks.iter().map(stroke).collect(),
            orbit: None,
            pilot: 0.0,
            heights_known: true,
        }
    }

    fn text_of(text: &str, hole: &Hole, recipe: &Recipe, stroke: usize, word: HoleWord) -> String {
        let span = hole_word_span(text.as_bytes(), hole, recipe, stroke, word);
        String::from_utf8(span.of(text.as_bytes()).to_vec()).unwrap()
    }

    #[test]
    fn sticky_words_of_a_cycle_are_found_where_they_were_stated() {
        let hole = hole(CYCLES, "X30", "Z-9", "F200");
        let recipe = recipe(Origin::Cycle(CycleCode::G83), Some(2.0), &[0]);
        let word = |word| text_of(CYCLES, &hole, &recipe, 0, word);
        assert_eq!(word(HoleWord::Feed), "F200");
        assert_eq!(word(HoleWord::Depth), "Z-9");
        assert_eq!(word(HoleWord::Retract), "R2");
        assert_eq!(word(HoleWord::Peck), "Q2");
        assert_eq!(word(HoleWord::Cycle), "G83");
        assert_eq!(word(HoleWord::Speed), "X30");
        assert_eq!(word(HoleWord::Dwell), "X30");
    }

    #[test]
    fn a_word_in_the_holes_own_block_comes_first() {
        let hole = hole(CYCLES, "G83", "G83", "F318");
        let recipe = recipe(Origin::Cycle(CycleCode::G83), Some(2.0), &[0]);
        assert_eq!(text_of(CYCLES, &hole, &recipe, 0, HoleWord::Depth), "Z-8.5");
        assert_eq!(text_of(CYCLES, &hole, &recipe, 0, HoleWord::Block), "G83 X0 Y0 Z-8.5 R2 Q2 F318");
    }

    #[test]
    fn long_hand_words_belong_to_their_stroke() {
        let hole = hole(BY_HAND, "G1 Z-4", "G1 Z-4", "F100");
        let recipe = recipe(Origin::LongHand, None, &[0, 1, 2, 3, 4, 5, 6]);
        let word = |stroke, word| text_of(BY_HAND, &hole, &recipe, stroke, word);
        assert_eq!(word(0, HoleWord::Feed), "F100");
        assert_eq!(word(3, HoleWord::Feed), "F100");
        assert_eq!(word(4, HoleWord::Feed), "F50");
        assert_eq!(word(3, HoleWord::Depth), "Z-6");
        assert_eq!(word(5, HoleWord::Dwell), "P1");
        assert_eq!(word(6, HoleWord::Retract), "Z5");
        assert_eq!(word(3, HoleWord::Dwell), "G1 Z-6");
    }

    #[test]
    fn offsets_outside_the_text_give_an_empty_span() {
        let mut hole = hole(BY_HAND, "G1 Z-4", "G1 Z-4", "F100");
        hole.block = 9999;
        hole.feed_at = 9999;
        hole.stated = 9999;
        let recipe = recipe(Origin::Cycle(CycleCode::G81), None, &[0]);
        for word in [HoleWord::Feed, HoleWord::Depth, HoleWord::Cycle, HoleWord::Block] {
            assert!(hole_word_span(BY_HAND.as_bytes(), &hole, &recipe, 0, word).is_empty());
        }
    }
}
