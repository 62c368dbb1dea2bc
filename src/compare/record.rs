//! Watches a run and keeps its passages; the acts of a passage only when they are asked for.

use super::Revision;
use super::act::{Act, At, ConditionBook, Event, What, act_of};
use super::passage::{self, Passage, Piece};
use super::words::Reader;
use crate::motion::{
    self, BlockRef, CycleCall, CyclePart, Expand, ModalState, MotionFault, Observer, Pose, SpindleSense, Step, StepKind,
};
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// Acts of one cut that are held together at least; a longer cut is taken in parts, so that its acts need not all be kept.
const LONG: usize = 20_000;
/// One act in so many ends a part. It is chosen by where it ends, so that parts stay the same behind an edit.
const SELDOM: i64 = 512;

/// What a run comes to.
#[derive(Debug, Default)]
pub(super) struct Record {
    pub passages: Vec<Passage>,
    /// Acts of the passages asked for, by their index.
    pub details: BTreeMap<u32, Vec<Act>>,
    pub book: ConditionBook,
    /// Units in force at the end.
    pub units: UnitSystem,
    /// Blocks run that were not understood.
    pub unread: u64,
    /// The first of them.
    pub first_unread: Option<At>,
}

/// Runs a revision. `wanted` are the passages whose acts are kept, in rising order.
pub(super) fn record(revision: &Revision<'_>, wanted: &[u32]) -> Record {
    let mut recorder = Recorder {
        record: Record::default(),
        wanted,
        acts: Vec::new(),
        fed: false,
        reader: Reader::new(revision),
        typed: None,
        marks: Vec::new(),
        sense: SpindleSense::Stopped,
        turned: None,
    };
    motion::run(revision.programs, revision.settings, revision.tools, &mut recorder);
    while !recorder.acts.is_empty() {
        recorder.close();
    }
    recorder.record
}

struct Recorder<'a> {
    record: Record,
    wanted: &'a [u32],
    /// Acts since the last passage.
    acts: Vec<Act>,
    fed: bool,
    reader: Reader<'a>,
    /// Dwell of the cycle that runs, as typed, when its unit is not declared.
    typed: Option<f64>,
    /// Digests of words read that do something nobody can follow, with their blocks.
    marks: Vec<(u64, BlockRef)>,
    /// How the spindle turned in the last step, and how a block has turned it since.
    sense: SpindleSense,
    turned: Option<(SpindleSense, BlockRef)>,
}

impl Recorder<'_> {
    fn take(&mut self, act: Act) {
        if self.fed && passage::leaves(&act) {
            self.close();
        }
        self.fed |= act.feeds();
        self.acts.push(act);
        if self.acts.len() >= LONG && self.fed {
            let seam = act.to.map(super::act::position).into_iter().fold(0, i64::wrapping_add).rem_euclid(SELDOM) == 0;
            if seam || self.acts.len() >= 4 * LONG {
                self.close();
            }
        }
    }

    /// Ends the passage that is open; travel behind it opens the next link.
    fn close(&mut self) {
        let mut acts = std::mem::take(&mut self.acts);
        let (link, feature, end) = passage::cut(&acts, &self.record.book);
        for piece in [link, feature].into_iter().flatten() {
            self.keep(&piece);
        }
        acts.drain(..end.min(acts.len()));
        self.acts = acts;
        self.fed = false;
    }

    fn keep(&mut self, piece: &Piece<'_>) {
        let Some(passage) = piece.passage(&self.record.book) else { return };
        let index = u32::try_from(self.record.passages.len()).unwrap_or(u32::MAX);
        if self.wanted.first() == Some(&index) {
            self.wanted = self.wanted.get(1..).unwrap_or_default();
            self.record.details.insert(index, piece.acts().copied().collect());
        }
        self.record.passages.push(passage);
    }

    /// Takes note of a turn of the spindle that no step will show, because another follows before one.
    fn mark_turn(&mut self) {
        let Some((sense, block)) = self.turned.take() else { return };
        if sense != self.sense {
            self.sense = sense;
            self.marks.push((self.reader.digest(block), block));
        }
    }

    /// Words that were read before the state of their block was known.
    fn tell_marks(&mut self, pose: Pose, state: &ModalState) {
        for (mark, block) in std::mem::take(&mut self.marks) {
            let conditions = self.record.book.number(state);
            let step = Step { kind: StepKind::Spindle, from: pose, to: pose, feed: None, part: None, block, state };
            if let Some(act) = act_of(What::Event(Event::Words(mark)), &step, conditions) {
                self.take(act);
            }
        }
    }
}

impl Observer for Recorder<'_> {
    fn step(&mut self, step: &Step<'_>) {
        if step.kind == StepKind::ToolChange {
            self.mark_turn();
        }
        self.turned = None;
        self.sense = step.state.spindle.value;
        if !self.marks.is_empty() {
            self.tell_marks(step.from, step.state);
        }
        let what = match step.kind {
            StepKind::Rapid => What::Rapid,
            StepKind::Line => What::Line,
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => {
                let (first, second, _) = arc.plane.axes();
                let centre = |axis: usize| arc.centre.get(axis).copied().unwrap_or(0.0);
                let clockwise = matches!(step.kind, StepKind::ArcCw(_));
                What::Arc([centre(first), centre(second)], if clockwise { -arc.sweep } else { arc.sweep })
            }
            StepKind::Dwell(Some(seconds)) => What::Event(Event::Dwell(seconds)),
            StepKind::Dwell(None) if step.part == Some(CyclePart::Dwell) => What::Event(Event::Pause(self.typed)),
            StepKind::Dwell(None) => What::Event(Event::Pause(self.reader.pause(step.block))),
            StepKind::Stop(number) => What::Event(Event::Stop(number)),
            StepKind::ToolChange => What::Event(Event::ToolChange(step.state.tool.value)),
            StepKind::End => {
                self.record.units = step.state.units.value;
                return;
            }
            StepKind::Spindle => return,
        };
        let conditions = self.record.book.number(step.state);
        if let Some(act) = act_of(what, step, conditions) {
            self.take(act);
        }
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, state: &ModalState) -> Expand {
        if !self.marks.is_empty() {
            self.tell_marks(call.from, state);
        }
        self.typed = call.dwell.and_then(Result::err);
        Expand::Steps
    }

    fn block(&mut self, block: BlockRef, understood: bool) {
        if !understood {
            self.record.unread += 1;
            let at = At { source: block.source, trace: block.trace, span: block.span };
            self.record.first_unread.get_or_insert(at);
        }
        if let Some(sense) = self.reader.marks(block, understood, &mut self.marks) {
            self.mark_turn();
            self.turned = Some((sense, block));
        }
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
