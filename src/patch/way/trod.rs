//! One step as it is kept for comparison, and who gathers them.

use crate::motion::{
    Arc, Axes, BlockRef, CutterSide, CycleCall, Expand, ModalState, MotionFault, Observer, PathMode, SpindleSense,
    Step, StepKind,
};
use crate::source::SourceId;

/// A byte of a source.
pub type At = (SourceId, u32);

/// What a step is, without its geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// By rapid.
    Rapid,
    /// Straight at feed.
    Line,
    /// On an arc, clockwise or not.
    Arc(bool),
    /// A canned cycle at one place.
    Cycle,
    /// Standing still.
    Dwell,
    /// A stop by its M number.
    Stop(u8),
    /// Anything that does not move.
    Other,
}

/// One step. A program has millions, so values that only need to be told apart are kept short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trod {
    /// First byte of its block.
    pub block: At,
    /// What it is.
    pub act: Act,
    /// Where it ends, mm.
    pub to: [f64; 3],
    /// The same for A, B and C, degrees.
    pub turned: [f32; 3],
    /// Axes of both that are known.
    pub known: Axes,
    /// Axes that do not move.
    pub still: Axes,
    /// In-plane centre of an arc, mm; seconds of a dwell.
    pub centre: [f64; 2],
    /// Sweep of an arc, rad.
    pub sweep: f32,
    /// The word that put compensation on, while it is on.
    pub cutter: Option<At>,
    /// What holds while it runs.
    pub values: Values,
}

/// Modal values that a step runs with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Values {
    /// Feed, mm/min.
    pub feed: Option<f32>,
    /// Speed, rev/min.
    pub speed: Option<f32>,
    /// Sense.
    pub sense: SpindleSense,
    /// Exact stop or not.
    pub path: PathMode,
    /// Mist, flood, extraction.
    pub air: (bool, bool, Option<bool>),
    /// Tool in the spindle.
    pub tool: u32,
}

#[expect(clippy::cast_possible_truncation, reason = "kept to tell values apart, not to reckon with")]
fn short(value: f64) -> f32 {
    value as f32
}

impl Trod {
    fn of(step: &Step<'_>) -> Self {
        let act = match step.kind {
            StepKind::Rapid => Act::Rapid,
            StepKind::Line => Act::Line,
            StepKind::ArcCw(_) => Act::Arc(true),
            StepKind::ArcCcw(_) => Act::Arc(false),
            StepKind::Dwell(_) => Act::Dwell,
            StepKind::Stop(number) => Act::Stop(number),
            StepKind::Spindle | StepKind::ToolChange | StepKind::End => Act::Other,
        };
        let (centre, sweep) = match step.kind {
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => (in_plane(&arc), short(arc.sweep)),
            StepKind::Dwell(seconds) => ([seconds.unwrap_or_default(), 0.0], 0.0),
            _ => ([0.0; 2], 0.0),
        };
        let rests = |axis: &usize| step.from.axis(*axis) == step.to.axis(*axis);
        Self {
            block: (step.block.source, step.block.span.start),
            act,
            to: step.to.xyz,
            turned: step.to.abc.map(short),
            known: step.to.known,
            still: (0..6).filter(rests).fold(Axes::default(), Axes::with),
            centre,
            sweep,
            cutter: cutter_of(step.state),
            values: Values::of(step.state, step.feed),
        }
    }

    fn of_cycle(call: &CycleCall, block: BlockRef, state: &ModalState) -> Self {
        let (.., normal) = call.plane.axes();
        let mut to = call.over;
        to.iter_mut().skip(normal).take(1).for_each(|height| *height = call.clear);
        Self {
            block: (block.source, block.span.start),
            act: Act::Cycle,
            to,
            turned: call.from.abc.map(short),
            known: call.known,
            still: Axes::default(),
            centre: [0.0; 2],
            sweep: 0.0,
            cutter: None,
            values: Values::of(state, call.feed),
        }
    }
}

fn in_plane(arc: &Arc) -> [f64; 2] {
    let (first, second, _) = arc.plane.axes();
    [first, second].map(|axis| arc.centre.get(axis).copied().unwrap_or_default())
}

fn cutter_of(state: &ModalState) -> Option<At> {
    let on = state.cutter.value.0 != CutterSide::Off;
    on.then_some((SourceId(state.cutter.source), state.cutter.at))
}

impl Values {
    fn of(state: &ModalState, feed: Option<f64>) -> Self {
        Self {
            feed: feed.map(short),
            speed: state.speed.value.map(short),
            sense: state.spindle.value,
            path: state.path.value,
            air: (state.mist.value, state.flood.value, state.extraction.value),
            tool: state.tool.value,
        }
    }
}

/// Hands on every step of a run; canned cycles whole, for their holes are compared stroke by stroke elsewhere.
pub struct Treader<F>(pub F);

impl<F: FnMut(Trod, &ModalState)> Observer for Treader<F> {
    fn step(&mut self, step: &Step<'_>) {
        (self.0)(Trod::of(step), step.state);
    }

    fn cycle(&mut self, call: &CycleCall, block: BlockRef, state: &ModalState) -> Expand {
        (self.0)(Trod::of_cycle(call, block, state), state);
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
