//! The feed of an arc changed for the arc alone: moves behind it that took over its F get the old one back.

use super::block_edit::{BlockEdit, Text};
use super::cycles::feed_word;
use super::edit::Edit;
use super::scene::{BlockKey, Snapshot};
use super::style::Rounding;
use crate::motion::{BlockRef, CycleCall, Expand, ModalState, MotionFault, Observer, Step, StepKind};
use std::collections::{BTreeMap, BTreeSet};

/// Radii within this are one arc in pieces, mm.
const SAME_RADIUS: f64 = 0.01;

/// An arc at feed.
#[derive(Clone, Copy, Debug)]
struct Fed {
    state: Snapshot,
    feed: Option<f64>,
    radius: f64,
    runs: u32,
    /// The block behind the arc that takes over its F.
    after: Option<BlockKey>,
}

/// Watches a run for the arcs that wanted blocks make.
#[derive(Default)]
pub struct ArcFeeds {
    arcs: BTreeMap<BlockKey, Option<Fed>>,
    open: Option<BlockKey>,
    /// Wanted blocks that go on with the arc of one before them, and are fed with it.
    parts: BTreeSet<BlockKey>,
}

impl ArcFeeds {
    /// Looks at `wanted` blocks.
    pub fn new(wanted: BTreeSet<BlockKey>) -> Self {
        Self { arcs: wanted.into_iter().map(|block| (block, None)).collect(), ..Self::default() }
    }

    /// Whether there is nothing to look for.
    pub fn is_empty(&self) -> bool {
        self.arcs.is_empty()
    }

    /// The edits that feed the arc of a block at `feed`, mm/min; `None` where the block makes no arc.
    pub fn edits(&self, block: BlockKey, feed: f64, text: &Text<'_>) -> Option<Result<Vec<Edit>, String>> {
        if self.parts.contains(&block) {
            return Some(Ok(Vec::new()));
        }
        let arc = self.arcs.get(&block).copied().flatten()?;
        Some(arc.edits(block, feed, text, |after| self.arcs.contains_key(&after)))
    }

    /// A block that feeds behind an open arc; true when it belongs to it.
    fn goes_on(&mut self, key: BlockKey, radius: Option<f64>, state: &ModalState) -> bool {
        let Some(fed) = self.open.and_then(|open| self.arcs.get_mut(&open)).and_then(Option::as_mut) else {
            return false;
        };
        let inherits = Snapshot::of(state).feed_at == fed.state.feed_at;
        if inherits && radius.is_some_and(|radius| (radius - fed.radius).abs() <= SAME_RADIUS) {
            return true;
        }
        fed.after = fed.after.or(inherits.then_some(key));
        self.open = None;
        false
    }
}

impl Fed {
    fn edits(
        &self,
        block: BlockKey,
        feed: f64,
        text: &Text<'_>,
        changed_too: impl Fn(BlockKey) -> bool,
    ) -> Result<Vec<Edit>, String> {
        let value = feed_word(text, &self.state, feed, self.feed)?;
        let new = text.style.word(b'F', value, Rounding::Nearest);
        let mut edit = BlockEdit::open(text, block.1)?;
        match edit.block.word(b'F').map(|word| word.span) {
            Some(old) => edit.replace(old, new),
            None => edit.put_last(new),
        }
        let mut edits = edit.finish()?;
        let Some(after) = self.after.filter(|after| !changed_too(*after)) else { return Ok(edits) };
        if self.runs > 1 || after.0 != block.0 {
            return Err("moves behind the arc take over its feed, by another call or in another program".to_owned());
        }
        let old = self.state.feed_word.ok_or("its feed is not known")?;
        let mut behind = BlockEdit::open(text, after.1)?;
        behind.put_last(text.style.word(b'F', old, Rounding::Nearest));
        edits.extend(behind.finish()?);
        Ok(edits)
    }
}

impl Observer for ArcFeeds {
    fn step(&mut self, step: &Step<'_>) {
        let radius = match step.kind {
            StepKind::Line => None,
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => Some(arc.radius),
            _ => return,
        };
        let key = (step.block.source, step.block.span.start);
        let goes_on = self.open != Some(key) && self.goes_on(key, radius, step.state);
        if goes_on && self.arcs.contains_key(&key) {
            self.parts.insert(key);
        }
        let Some((slot, radius)) = self.arcs.get_mut(&key).zip(radius).filter(|_| !goes_on) else { return };
        let first = Fed { state: Snapshot::of(step.state), feed: step.feed, radius, runs: 0, after: None };
        slot.get_or_insert(first).runs += 1;
        self.open = Some(key);
    }

    fn cycle(&mut self, _call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        self.goes_on((block.source, block.span.start), None, state);
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
