//! The main program as it runs, block by block: what each moves, and the modal state it moves in.

use crate::motion::{
    BlockRef, CycleCall, Distance, Expand, FeedMode, ModalState, MotionFault, MotionMode, Observer, PathMode, Plane,
    ReturnLevel, Step, StepKind, TraceId,
};
use crate::source::SourceId;
use crate::units::UnitSystem;

/// Modal values that a moved block may have to say again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Now {
    /// Group 1.
    pub motion: MotionMode,
    /// G98 or G99.
    pub level: ReturnLevel,
    /// F in force, as typed.
    pub feed: Option<f64>,
    /// What blocks that move with each other must agree in.
    pub frame: Frame,
}

/// Modal values that stay the same over everything that is put in another order together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    plane: Plane,
    /// Absolute or incremental.
    pub distance: Distance,
    feed_mode: FeedMode,
    /// Inch or metric.
    pub units: UnitSystem,
    work_offset: u8,
    path: PathMode,
    speed: Option<f64>,
    tool: u32,
}

impl Now {
    fn of(state: &ModalState) -> Self {
        Self {
            motion: state.motion.value,
            level: state.return_level.value,
            feed: state.feed_word.value,
            frame: Frame {
                plane: state.plane.value,
                distance: state.distance.value,
                feed_mode: state.feed_mode.value,
                units: state.units.value,
                work_offset: state.work_offset.value,
                path: state.path.value,
                speed: state.speed.value,
                tool: state.tool.value,
            },
        }
    }
}

/// One block that ran.
#[derive(Clone, Debug)]
pub(super) struct Ran {
    /// The block.
    pub block: BlockRef,
    /// Whether every word had a meaning.
    pub understood: bool,
    /// State of its last step or cycle.
    pub now: Option<Now>,
    /// Where its first step begins.
    pub from: Option<[f64; 3]>,
    /// Where its last step ends.
    pub to: Option<[f64; 3]>,
    /// Whether it moves sideways by rapid.
    pub rapid_aside: bool,
    /// Whether it feeds.
    pub feeds: bool,
    /// Whether it does anything but move or dwell.
    pub other: bool,
    /// Its cycle, the first when it repeats.
    pub call: Option<CycleCall>,
    /// How many cycles it makes.
    pub calls: u32,
    /// The initial level of its cycle.
    pub initial: Option<f64>,
}

/// Watches a run and keeps the blocks of the main program.
#[derive(Default)]
pub(super) struct Scan {
    /// Blocks in order of running.
    pub ran: Vec<Ran>,
    last: Option<Now>,
    initial: Option<f64>,
}

impl Scan {
    fn block_of(&mut self, block: BlockRef) -> Option<&mut Ran> {
        self.ran.last_mut().filter(|ran| ran.block == block)
    }
}

impl Observer for Scan {
    fn step(&mut self, step: &Step<'_>) {
        let now = Now::of(step.state);
        self.last = Some(now);
        let (from, to) = (step.from.point(), step.to.point());
        let Some(ran) = self.block_of(step.block) else { return };
        ran.now = Some(now);
        match step.kind {
            StepKind::Rapid => ran.rapid_aside |= aside(step.from.xyz, step.to.xyz),
            StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => ran.feeds = true,
            StepKind::Dwell(_) => return,
            StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => {
                ran.other = true;
                return;
            }
        }
        if ran.to.is_none() {
            ran.from = from;
        }
        ran.to = to;
    }

    fn cycle(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        let now = Now::of(state);
        let goes_on = matches!(self.last.map(|last| last.motion), Some(MotionMode::Cycle(_)));
        if !goes_on {
            self.initial = call.from.point().map(|[_, _, z]| z);
        }
        self.last = Some(now);
        let initial = self.initial;
        let Some(ran) = self.block_of(block) else { return Expand::Done };
        ran.now = Some(now);
        ran.from = call.from.point();
        let [x, y, _] = call.over;
        ran.to = call.known.has(0).then_some([x, y, call.clear]).filter(|_| call.known.has(1));
        ran.initial = initial;
        ran.call.get_or_insert(*call);
        ran.calls += 1;
        Expand::Done
    }

    fn block(&mut self, block: BlockRef, understood: bool) {
        self.ran.push(Ran {
            block,
            understood: understood && block.source == SourceId::default() && block.trace == TraceId::default(),
            now: None,
            from: None,
            to: None,
            rapid_aside: false,
            feeds: false,
            other: false,
            call: None,
            calls: 0,
            initial: None,
        });
    }

    fn fault(&mut self, fault: MotionFault) {
        if let Some(ran) = self.block_of(fault.block) {
            ran.understood &= fault.kind.is_understood();
        }
    }
}

fn aside([x, y, _]: [f64; 3], [to_x, to_y, _]: [f64; 3]) -> bool {
    (x - to_x).abs() > 1e-6 || (y - to_y).abs() > 1e-6
}
