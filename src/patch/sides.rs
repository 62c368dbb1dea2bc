//! Compensation words put right: the other side of the path, or a longer move to lead in on.

use super::block_edit::{BlockEdit, Text, number};
use super::edit::Edit;
use super::scene::BlockKey;
use crate::motion::{BlockRef, CutterSide, CycleCall, Expand, ModalState, MotionFault, Observer, Step, StepKind};
use crate::source::{SourceId, Span};
use crate::syntax::Block;
use std::collections::{BTreeMap, BTreeSet};

/// What runs at a wanted block.
#[derive(Clone, Copy, Debug)]
struct Visit {
    /// Where compensation was put on, and to which side; `None` while it is off.
    cutter: Option<(BlockKey, CutterSide)>,
    /// The move before it.
    before: Option<Before>,
    runs: u32,
}

/// A move before the one that compensation begins with.
#[derive(Clone, Copy, Debug)]
struct Before {
    block: BlockKey,
    rapid: bool,
    sideways: bool,
    free: bool,
}

/// Watches a run for the compensation in force at wanted blocks.
#[derive(Default)]
pub struct Sides {
    visits: BTreeMap<BlockKey, Option<Visit>>,
    last: Option<Before>,
}

impl Sides {
    /// Looks at `wanted` blocks.
    pub fn new(wanted: BTreeSet<BlockKey>) -> Self {
        Self { visits: wanted.into_iter().map(|block| (block, None)).collect(), ..Self::default() }
    }

    /// Whether there is nothing to look for.
    pub fn is_empty(&self) -> bool {
        self.visits.is_empty()
    }

    fn visit(&self, block: BlockKey) -> Result<Visit, String> {
        self.visits.get(&block).copied().flatten().ok_or_else(|| "its block does not run".to_owned())
    }

    /// The edit that puts the tool on the other side of the path that runs at `block`.
    ///
    /// # Errors
    /// With the reason, when the side does not come from a compensation word of this text.
    pub fn turned(&self, block: BlockKey, text: &Text<'_>) -> Result<Vec<Edit>, String> {
        let ((source, at), side) = self
            .visit(block)?
            .cutter
            .ok_or("no compensation is in force: the path itself must be posted the other way")?;
        if source != block.0 {
            return Err("compensation is put on in another program".to_owned());
        }
        let other = if side == CutterSide::Left { 42 } else { 41 };
        let start = text.line_start(at);
        let mut edit = BlockEdit::open(text, start)?;
        let word = side_word(&edit.block).ok_or("its compensation word does not stand in plain text")?;
        edit.replace(word, text.style.code(b'G', other));
        edit.finish()
    }

    /// The edits that put compensation on one move earlier than at `block`.
    ///
    /// # Errors
    /// With the reason, when the move before cannot take it.
    pub fn sooner(&self, block: BlockKey, text: &Text<'_>) -> Result<Vec<Edit>, String> {
        let visit = self.visit(block)?;
        let usable = |before: &Before| before.rapid && before.sideways && before.free && before.block.0 == block.0;
        let before = visit.before.filter(usable);
        let before = before.ok_or("no rapid in the plane stands before it, which could lead in")?;
        if visit.runs > 1 {
            return Err("its block runs more than once".to_owned());
        }
        let mut late = BlockEdit::open(text, block.1)?;
        let mut early = BlockEdit::open(text, before.block.1)?;
        side_word(&late.block).ok_or("its compensation word does not stand in its block")?;
        let moved = late.block.words.iter().filter(|word| word.letter == b'D' || is_side(word));
        for span in moved.map(|word| word.span).collect::<Vec<Span>>() {
            early.put_first(text.typed(span));
            late.remove(span);
        }
        Ok([early.finish()?, late.finish()?].concat())
    }
}

/// The span of G41 or G42.
fn side_word(block: &Block) -> Option<Span> {
    block.words.iter().find(|word| is_side(word)).map(|word| word.span)
}

fn is_side(word: &crate::syntax::Word) -> bool {
    word.letter == b'G' && number(word).is_some_and(|code| code == 41.0 || code == 42.0)
}

impl Observer for Sides {
    fn step(&mut self, step: &Step<'_>) {
        if !matches!(step.kind, StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_)) {
            return;
        }
        let (side, _) = step.state.cutter.value;
        let key = (step.block.source, step.block.span.start);
        if let Some(Some(visit)) = self.visits.get_mut(&key) {
            let set = (SourceId(step.state.cutter.source), step.state.cutter.at);
            visit.cutter = (side != CutterSide::Off).then_some((set, side));
        }
        self.last = Some(Before {
            block: key,
            rapid: step.kind == StepKind::Rapid,
            sideways: step.from.xyz[..2] != step.to.xyz[..2],
            free: side == CutterSide::Off,
        });
    }

    fn cycle(&mut self, _call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        self.last = None;
        Expand::Done
    }

    /// A block whose compensation cannot be makes no step, so it is noted before it runs.
    fn block(&mut self, block: BlockRef, _understood: bool) {
        if let Some(slot) = self.visits.get_mut(&(block.source, block.span.start)) {
            let runs = slot.map_or(1, |visit| visit.runs + 1);
            *slot = Some(Visit { cutter: None, before: self.last, runs });
        }
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
