//! One step of the tool, and who may watch the steps go by.

use super::{Axes, CycleCode, ModalState, Plane, Pose, SpindleSense};
use crate::source::{SourceId, Span};

/// The block a step comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BlockRef {
    /// Which source.
    pub source: SourceId,
    /// The block without its line end.
    pub span: Span,
    /// Running number of the block in its source, from 0.
    pub index: u32,
    /// Call sites that led here.
    pub trace: TraceId,
}

/// Names a call trace; 0 is the main program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TraceId(pub u32);

/// Call sites from the main program inwards, and which repeat of the last call this is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Trace {
    /// Blocks with the calls, outermost first.
    pub calls: Vec<(SourceId, Span)>,
    /// Repeat of the innermost call, from 0.
    pub repeat: u32,
}

/// What the tool does in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StepKind {
    /// Positioning at rapid rate.
    Rapid,
    /// Straight feed.
    Line,
    /// Arc or helix, clockwise seen from the plane's positive normal.
    ArcCw(Arc),
    /// Arc or helix, counterclockwise.
    ArcCcw(Arc),
    /// Standing still; seconds, `None` when the dwell unit is not declared.
    Dwell(Option<f64>),
    /// M0, M1, M2, M30, M60 by number.
    Stop(u8),
    /// Spindle started, stopped or turned to another speed inside a cycle.
    Spindle,
    /// The tool in the spindle changed.
    ToolChange,
    /// End of the program or of the file: the last step of all.
    End,
}

/// Geometry of an arc in its plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Plane.
    pub plane: Plane,
    /// Centre as X Y Z, mm; the value along the normal is the start's.
    pub centre: [f64; 3],
    /// Radius, mm.
    pub radius: f64,
    /// Angle turned through, radians, positive.
    pub sweep: f64,
}

/// Which part of a canned cycle a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CyclePart {
    /// Over the hole at the present height.
    Position,
    /// Down to R.
    Approach,
    /// Feed stroke, with the number of the peck from 1.
    Feed(u32),
    /// Rapid back after a peck.
    PeckRetract(u32),
    /// Rapid down again before a peck.
    PeckReturn(u32),
    /// Dwell at the bottom.
    Dwell,
    /// Out of the hole.
    Retract,
    /// Sideways move of a boring cycle.
    Shift,
    /// Spindle stop, orientation or start.
    Spindle,
}

impl CyclePart {
    /// The word the moves table prints, such as `peck 2`.
    #[must_use]
    pub fn label(self) -> String {
        match self {
            Self::Position => "position".to_owned(),
            Self::Approach => "approach".to_owned(),
            Self::Feed(peck) => format!("feed {peck}"),
            Self::PeckRetract(peck) => format!("peck-retract {peck}"),
            Self::PeckReturn(peck) => format!("peck-return {peck}"),
            Self::Dwell => "dwell".to_owned(),
            Self::Retract => "retract".to_owned(),
            Self::Shift => "shift".to_owned(),
            Self::Spindle => "spindle".to_owned(),
        }
    }
}

/// One step. The state is the one in force while it runs.
#[derive(Clone, Copy, Debug)]
pub struct Step<'a> {
    /// What happens.
    pub kind: StepKind,
    /// Where from.
    pub from: Pose,
    /// Where to.
    pub to: Pose,
    /// Feed of the tool centre, mm/min (deg/min for a rotary-only move); `None` for rapids and when unknown.
    pub feed: Option<f64>,
    /// Part of a canned cycle.
    pub part: Option<CyclePart>,
    /// Block it comes from.
    pub block: BlockRef,
    /// Modal state.
    pub state: &'a ModalState,
}

impl Step<'_> {
    /// Straight-line or arc length, mm; 0 for steps that do not move.
    #[must_use]
    pub fn length(&self) -> f64 {
        let [dx, dy, dz] = [0, 1, 2].map(|axis: usize| {
            self.to.xyz.get(axis).copied().unwrap_or(0.0) - self.from.xyz.get(axis).copied().unwrap_or(0.0)
        });
        match self.kind {
            StepKind::Rapid | StepKind::Line => libm::sqrt(dx * dx + dy * dy + dz * dz),
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => {
                let (_, _, normal) = arc.plane.axes();
                let rise = [dx, dy, dz].get(normal).copied().unwrap_or(0.0);
                libm::hypot(arc.radius * arc.sweep, rise)
            }
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => 0.0,
        }
    }
}

/// A canned cycle at one place, before it is expanded into steps. Heights are program coordinates along the normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleCall {
    /// Which cycle.
    pub code: CycleCode,
    /// Plane; the cycle runs along its normal.
    pub plane: Plane,
    /// Where the tool stands before the cycle.
    pub from: Pose,
    /// Over the hole: in-plane axes of the hole, normal axis at the height the positioning rapid runs at.
    pub over: [f64; 3],
    /// Axes of `over` that are known; the normal axis always is once the tool has reached R.
    pub known: Axes,
    /// R plane, mm.
    pub r: f64,
    /// Bottom, mm.
    pub bottom: f64,
    /// Height the cycle leaves the tool at, mm.
    pub clear: f64,
    /// Height pecks retract to, mm.
    pub peck_clear: f64,
    /// Height tapping and boring cycles feed out to before the rapid to `clear`, mm.
    pub feed_out: f64,
    /// Peck increment or shift, mm.
    pub q: Option<f64>,
    /// Dwell in seconds; `Err` holds the number as typed when its unit is not declared.
    pub dwell: Option<Result<f64, f64>>,
    /// Back-off or clearance of pecks, mm; `None` when not declared.
    pub back_off: Option<f64>,
    /// I, J, K of G87, mm: in the plane the sideways shift, along the normal the height of the counterbore's far end.
    pub ijk: [Option<f64>; 3],
    /// How the spindle turns before the cycle.
    pub spindle: SpindleSense,
    /// Feed, mm/min.
    pub feed: Option<f64>,
    /// Repeat of the same block, from 0.
    pub repeat: u32,
    /// Byte offset of the block that last stated the cycle code, R or Z.
    pub stated_at: u32,
    /// Calls of equal form do the same but for their place, under the same modal state.
    pub form: u32,
}

impl CycleCall {
    /// Whether the tool stands at the height of R before the cycle, so that there is no way down to it.
    #[must_use]
    pub fn begins_at_r(&self) -> bool {
        let (_, _, axis) = self.plane.axes();
        let at_r = |xyz: &[f64; 3]| xyz.get(axis) == Some(&self.r);
        at_r(&self.from.xyz) && at_r(&self.over)
    }

    /// Whether another call does the same but for its place, and for the way down to R where this one begins there;
    /// forms are not compared.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        let Self { from, over, repeat, stated_at, form, .. } = *self;
        let (_, _, axis) = self.plane.axes();
        let same_height = from.xyz.get(axis) == other.from.xyz.get(axis) && over.get(axis) == other.over.get(axis);
        (same_height || self.begins_at_r())
            && (from.abc, from.known) == (other.from.abc, other.from.known)
            && *self == Self { from, over, repeat, stated_at, form, ..*other }
    }
}

/// Whether a watcher wants a cycle's steps one by one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Expand {
    /// Send every step.
    Steps,
    /// The watcher has taken the cycle as a whole.
    Done,
}

/// What the state machine could not carry out, or carried out with a doubt. Numbers are those of NISTIR 6556.
#[derive(Clone, Debug, PartialEq)]
pub struct MotionFault {
    /// Which condition; its text and severity stand in one table.
    pub kind: super::fault::FaultKind,
    /// The word or block.
    pub span: Span,
    /// Block it happened in.
    pub block: BlockRef,
}

/// Someone who watches a program run.
pub trait Observer {
    /// One step.
    fn step(&mut self, step: &Step<'_>);

    /// A canned cycle about to run at one place. The default wants its steps.
    fn cycle(&mut self, _call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        Expand::Steps
    }

    /// The call last made, with another place: nothing but in-plane words, and the same height, lie between the two.
    fn cycle_again(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        self.cycle(call, block, state)
    }

    /// G52 moves the origin this much along X and Y, mm, be the position known or not.
    fn local_shift(&mut self, _by: [f64; 2]) {}

    /// A block has been read, before it runs. `understood` is false when some word had no meaning.
    fn block(&mut self, _block: BlockRef, _understood: bool) {}

    /// Something could not be carried out.
    fn fault(&mut self, fault: MotionFault);
}
