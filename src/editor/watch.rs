//! A second run past single blocks: what is in force at each, and what its words come to.

use crate::motion::{BlockRef, ModalState, MotionFault, Observer, Pose, Step, StepKind};
use crate::source::{SourceId, Span};
use std::collections::BTreeMap;

/// What a block did the first time it ran.
#[derive(Clone, Debug)]
pub struct Moment {
    /// How often it ran.
    pub runs: u64,
    /// The state its last step ran in; that of the next step of the program when it makes none itself.
    pub state: Option<ModalState>,
    /// Where the tool stands behind it.
    pub end: Pose,
    /// Lowest height that the tip reaches in it, program mm.
    pub lowest: Option<f64>,
    /// Feed of its last feed move, mm/min.
    pub feed: Option<f64>,
    /// Whether it makes steps of its own.
    moves: bool,
}

/// Least and most of what a feed word comes to.
pub type Spread = (f64, f64);

/// Watches the blocks of one stretch of one source.
pub struct Watch {
    source: SourceId,
    within: Span,
    /// By first byte of the block.
    pub moments: BTreeMap<u32, Moment>,
    /// Feed for each turn of the moves that an F word drives, mm/rev, by first byte of the word.
    pub feeds: BTreeMap<u32, Spread>,
    /// Blocks that still have no state.
    waiting: Vec<u32>,
}

impl Watch {
    /// Watches what begins in `within`.
    pub fn new(source: SourceId, within: Span) -> Self {
        Self { source, within, moments: BTreeMap::new(), feeds: BTreeMap::new(), waiting: Vec::new() }
    }

    fn covers(&self, source: SourceId, at: u32) -> bool {
        source == self.source && self.within.start <= at && at < self.within.end
    }

    fn turn(&mut self, step: &Step<'_>) {
        let word = step.state.feed_word;
        let per_rev = step.feed.zip(step.state.speed.value).filter(|(_, speed)| *speed > 0.0);
        let (Some((feed, speed)), true) = (per_rev, self.covers(SourceId(word.source), word.at)) else { return };
        let turn = feed / speed;
        let known = self.feeds.entry(word.at).or_insert((turn, turn));
        *known = (known.0.min(turn), known.1.max(turn));
    }
}

impl Observer for Watch {
    fn step(&mut self, step: &Step<'_>) {
        self.turn(step);
        for at in std::mem::take(&mut self.waiting) {
            if let Some(moment) = self.moments.get_mut(&at).filter(|moment| moment.state.is_none()) {
                (moment.state, moment.end) = (Some(step.state.clone()), step.from);
            }
        }
        if !self.covers(step.block.source, step.block.span.start) || step.kind == StepKind::End {
            return;
        }
        let Some(moment) = self.moments.get_mut(&step.block.span.start).filter(|moment| moment.runs == 1) else {
            return;
        };
        if !moment.moves {
            (moment.moves, moment.lowest) = (true, None);
        }
        let low = step.to.axis(2);
        moment.lowest = moment.lowest.zip(low).map(|(one, other)| one.min(other)).or(moment.lowest).or(low);
        (moment.state, moment.end) = (Some(step.state.clone()), step.to);
        moment.feed = step.feed.or(moment.feed);
    }

    fn block(&mut self, block: BlockRef, _understood: bool) {
        if !self.covers(block.source, block.span.start) {
            return;
        }
        let at = block.span.start;
        if let Some(known) = self.moments.get_mut(&at) {
            known.runs += 1;
            return;
        }
        let (state, end, lowest, feed) = (None, Pose::default(), None, None);
        self.moments.insert(at, Moment { runs: 1, state, end, lowest, feed, moves: false });
        self.waiting.push(at);
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
