//! What stands around the holes to be changed: the blocks that make them, in order of running, with their modal state.

use crate::motion::{
    BlockRef, CycleCall, Distance, Expand, FeedMode, ModalState, MotionFault, Observer, Plane, Pose, ReturnLevel, Step,
    StepKind,
};
use crate::source::SourceId;
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// A block by its source and first byte.
pub type BlockKey = (SourceId, u32);

/// The modal state that new text must respect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snapshot {
    /// G20 or G21.
    pub units: UnitSystem,
    /// G90 or G91.
    pub distance: Distance,
    /// G93, G94 or G95.
    pub feed_mode: FeedMode,
    /// G17, G18 or G19.
    pub plane: Plane,
    /// G98 or G99.
    pub level: ReturnLevel,
    /// Where the level was stated.
    pub level_at: (u16, u32),
    /// F in force, as programmed.
    pub feed_word: Option<f64>,
    /// Where F was stated.
    pub feed_at: (u16, u32),
    /// Spindle speed, rev/min.
    pub speed: Option<f64>,
}

impl Snapshot {
    /// The state of `state`.
    #[must_use]
    pub fn of(state: &ModalState) -> Self {
        Self {
            units: state.units.value,
            distance: state.distance.value,
            feed_mode: state.feed_mode.value,
            plane: state.plane.value,
            level: state.return_level.value,
            level_at: (state.return_level.source, state.return_level.at),
            feed_word: state.feed_word.value,
            feed_at: (state.feed_word.source, state.feed_word.at),
            speed: state.speed.value,
        }
    }

    /// A feed in mm/min as the program would say it in this state; `None` under G93 or, under G95, without a speed.
    #[must_use]
    pub fn feed_in_program(&self, feed: f64) -> Option<f64> {
        let per_minute = feed / self.units.mm();
        match self.feed_mode {
            FeedMode::PerMinute => Some(per_minute),
            FeedMode::PerRev => self.speed.filter(|speed| *speed > 0.0).map(|speed| per_minute / speed),
            FeedMode::InverseTime => None,
        }
    }
}

/// One block that ran, with the cycle calls it made.
#[derive(Clone, Debug)]
pub struct Visit {
    /// The block.
    pub block: BlockRef,
    /// Cycle calls with the state they ran in; more than one when the block repeats.
    pub calls: Vec<(CycleCall, Snapshot)>,
}

/// Cycle blocks that follow each other without a move of another kind.
#[derive(Clone, Debug, Default)]
pub struct Series {
    /// Blocks in order of running, the one that states the cycle first or nearly so.
    pub visits: Vec<Visit>,
    /// What later blocks take over.
    pub after: After,
}

impl Series {
    /// The source whose blocks make its first hole.
    #[must_use]
    pub fn source(&self) -> Option<SourceId> {
        self.visits.iter().find(|visit| !visit.calls.is_empty()).map(|visit| visit.block.source)
    }
}

/// What blocks behind a piece of text take over from it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct After {
    /// The first feed move or cycle runs with the F of this piece.
    pub feed: bool,
    /// The first cycle runs with the G98 or G99 of this piece.
    pub level: bool,
}

/// One step of a long-hand hole.
#[derive(Clone, Copy, Debug)]
pub struct LongStep {
    /// The block.
    pub block: BlockRef,
    /// What happens.
    pub kind: StepKind,
    /// Height before and after, program mm.
    pub z: (f64, f64),
    /// Whether it moves along the axis alone.
    pub along: bool,
    /// Feed, mm/min.
    pub feed: Option<f64>,
    /// State.
    pub state: Snapshot,
}

impl LongStep {
    fn of(step: &Step<'_>) -> Self {
        let at = |pose: &Pose, axis: usize| pose.xyz.get(axis).copied().unwrap_or(0.0);
        let still = |axis: usize| (at(&step.from, axis) - at(&step.to, axis)).abs() < 1e-6;
        Self {
            block: step.block,
            kind: step.kind,
            z: (at(&step.from, 2), at(&step.to, 2)),
            along: still(0) && still(1),
            feed: step.feed,
            state: Snapshot::of(step.state),
        }
    }

    /// Whether it goes straight down by rapid.
    pub fn sinks(&self) -> bool {
        self.kind == StepKind::Rapid && self.along && self.z.1 < self.z.0
    }
}

/// The steps of one long-hand hole.
#[derive(Clone, Debug, Default)]
pub struct LongHand {
    /// In order.
    pub steps: Vec<LongStep>,
    /// The rapid down along Z right before them.
    pub approach: Option<LongStep>,
    /// What later blocks take over.
    pub after: After,
}

/// A piece whose later use is not known yet.
#[derive(Clone, Copy)]
struct Pending {
    piece: Piece,
    feed_at: Option<(u16, u32)>,
    level_at: Option<(u16, u32)>,
}

#[derive(Clone, Copy)]
enum Piece {
    Series(usize),
    LongHand(BlockKey),
}

/// Watches a run and keeps what stands around the wanted blocks.
pub struct Scene {
    /// Blocks of the cycle holes to be changed.
    wanted: std::collections::BTreeSet<BlockKey>,
    /// First blocks of the long-hand holes to be changed, with the number of blocks each spans behind it.
    long_wanted: BTreeMap<BlockKey, u32>,
    /// F words to be changed where no hole is made, with the first state that feeds by them and its feed, mm/min.
    pub feed_words: BTreeMap<BlockKey, Option<(Snapshot, Option<f64>)>>,
    /// Series with a wanted block.
    pub series: Vec<Series>,
    /// Long-hand holes.
    pub long_hand: BTreeMap<BlockKey, LongHand>,
    open: Vec<Visit>,
    open_wanted: bool,
    following: Option<(BlockKey, u32)>,
    /// The last step, where it was a rapid down along Z outside of a hole.
    sunk: Option<LongStep>,
    pending: Vec<Pending>,
}

impl Scene {
    /// A scene around the blocks of cycle holes, the first blocks of long-hand holes, and F words.
    #[must_use]
    pub fn new(
        wanted: impl IntoIterator<Item = BlockKey>,
        long_wanted: impl IntoIterator<Item = (BlockKey, u32)>,
        feed_words: impl IntoIterator<Item = BlockKey>,
    ) -> Self {
        Self {
            wanted: wanted.into_iter().collect(),
            long_wanted: long_wanted.into_iter().collect(),
            feed_words: feed_words.into_iter().map(|word| (word, None)).collect(),
            series: Vec::new(),
            long_hand: BTreeMap::new(),
            open: Vec::new(),
            open_wanted: false,
            following: None,
            sunk: None,
            pending: Vec::new(),
        }
    }

    /// Ends what is being gathered; call once, after the run.
    pub fn finish(&mut self) {
        self.close();
        self.end_following();
    }

    fn close(&mut self) {
        if !std::mem::take(&mut self.open_wanted) {
            return self.open.clear();
        }
        let visits = std::mem::take(&mut self.open);
        let last = visits.iter().rev().flat_map(|visit| visit.calls.last()).next();
        self.pending.extend(last.map(|(_, state)| Pending {
            piece: Piece::Series(self.series.len()),
            feed_at: Some(state.feed_at),
            level_at: Some(state.level_at),
        }));
        self.series.push(Series { visits, after: After::default() });
    }

    fn feeds(&mut self, state: &Snapshot) {
        self.settle(|pending, after| {
            if let Some(at) = pending.feed_at.take() {
                after.feed = at == state.feed_at;
            }
        });
    }

    fn levels(&mut self, state: &Snapshot) {
        self.settle(|pending, after| {
            if let Some(at) = pending.level_at.take() {
                after.level = at == state.level_at;
            }
        });
    }

    fn settle(&mut self, mut with: impl FnMut(&mut Pending, &mut After)) {
        for pending in &mut self.pending {
            let after = match pending.piece {
                Piece::Series(index) => self.series.get_mut(index).map(|series| &mut series.after),
                Piece::LongHand(key) => self.long_hand.get_mut(&key).map(|hole| &mut hole.after),
            };
            if let Some(after) = after {
                with(pending, after);
            }
        }
        self.pending.retain(|pending| pending.feed_at.is_some() || pending.level_at.is_some());
    }

    /// Keeps the step when it belongs to a wanted long-hand hole; true when it does.
    fn follow(&mut self, step: &Step<'_>) -> bool {
        let key = (step.block.source, step.block.span.start);
        if let Some(extent) = self.long_wanted.get(&key).copied()
            && !self.long_hand.contains_key(&key)
        {
            self.end_following();
            self.following = Some((key, step.block.index + extent));
            self.long_hand.entry(key).or_default().approach = self.sunk;
        }
        self.sunk = None;
        let Some((first, last)) = self.following else { return false };
        if step.block.source != first.0 || step.block.index > last {
            self.end_following();
            return false;
        }
        self.long_hand.entry(first).or_default().steps.push(LongStep::of(step));
        true
    }

    fn end_following(&mut self) {
        let Some((key, _)) = self.following.take() else { return };
        let feeding = |step: &&LongStep| step.kind == StepKind::Line;
        let last = self.long_hand.get(&key).and_then(|hole| hole.steps.iter().rev().find(feeding));
        self.pending.extend(last.map(|step| Pending {
            piece: Piece::LongHand(key),
            feed_at: Some(step.state.feed_at),
            level_at: None,
        }));
    }
}

impl Observer for Scene {
    fn step(&mut self, step: &Step<'_>) {
        match step.kind {
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle if self.following.is_none() => return,
            _ => {}
        }
        if step.part.is_some() {
            return;
        }
        self.close();
        let inside = self.follow(step);
        if !inside && step.kind == StepKind::Rapid {
            self.sunk = Some(LongStep::of(step)).filter(LongStep::sinks);
        }
        if matches!(step.kind, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_)) {
            if !inside && !self.pending.is_empty() {
                self.feeds(&Snapshot::of(step.state));
            }
            let word = (SourceId(step.state.feed_word.source), step.state.feed_word.at);
            if let Some(slot @ None) = self.feed_words.get_mut(&word) {
                *slot = Some((Snapshot::of(step.state), step.feed));
            }
        }
    }

    fn cycle(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        let snapshot = Snapshot::of(state);
        self.end_following();
        self.sunk = None;
        if self.open.iter().all(|visit| visit.calls.is_empty()) {
            self.feeds(&snapshot);
            self.levels(&snapshot);
        }
        self.open_wanted |= self.wanted.contains(&(block.source, block.span.start));
        if self.open.last().is_none_or(|visit| visit.block != block) {
            self.open.push(Visit { block, calls: Vec::new() });
        }
        if let Some(visit) = self.open.last_mut() {
            visit.calls.push((*call, snapshot));
        }
        Expand::Done
    }

    fn block(&mut self, block: BlockRef, _understood: bool) {
        self.open.push(Visit { block, calls: Vec::new() });
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
