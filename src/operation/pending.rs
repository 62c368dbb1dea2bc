//! A canned cycle being watched step by step, the first time it runs in this way.

use super::hole::{Origin, Recipe, Stroke, StrokeKind};
use super::open::words_in_force;
use super::scene::Scene;
use super::timing::Spent;
use crate::motion::{BlockRef, CycleCall, CyclePart, ModalState, Step, StepKind};

/// One cycle at one place, until its last step.
pub(super) struct Pending {
    /// The call.
    pub call: CycleCall,
    /// Its block.
    pub block: BlockRef,
    /// Byte offsets of the F and S words in force.
    pub words: (u32, u32),
    /// Middle of the hole in its plane, program mm.
    pub at: [f64; 2],
    /// The same, counted from the first origin.
    pub place: [f64; 2],
    /// Hole made earlier at the same place.
    pub earlier: Option<u32>,
    /// Diameter already through there, mm.
    pub pilot: f64,
    /// Deepest point so far.
    pub deepest: f64,
    axis: usize,
    heights: bool,
    strokes: Vec<Stroke>,
}

impl Pending {
    /// A cycle about to run.
    pub fn new(
        call: &CycleCall,
        block: BlockRef,
        state: &ModalState,
        place: [f64; 2],
        earlier: Option<u32>,
        pilot: f64,
    ) -> Self {
        let (_, _, axis) = call.plane.axes();
        Self {
            call: *call,
            block,
            words: words_in_force(state, block),
            at: middle(call),
            place,
            earlier,
            pilot,
            deepest: f64::INFINITY,
            axis,
            heights: true,
            strokes: Vec::new(),
        }
    }

    /// Whether the tool's axis is Z.
    pub fn along_z(&self) -> bool {
        self.axis == 2
    }

    /// Takes one step of the cycle.
    pub fn take(&mut self, step: &Step<'_>, scene: &Scene<'_>) {
        let kind = match (step.kind, step.part) {
            (_, None | Some(CyclePart::Position | CyclePart::Approach | CyclePart::Shift)) => return,
            (StepKind::Line, _) => StrokeKind::Feed,
            (StepKind::Rapid, _) => StrokeKind::Rapid,
            (StepKind::Dwell(seconds), _) => StrokeKind::Dwell(seconds),
            (StepKind::Stop(_), _) => StrokeKind::Dwell(None),
            (StepKind::Spindle, _) => StrokeKind::Spindle,
            _ => return,
        };
        let height = |xyz: [f64; 3]| xyz.get(self.axis).copied().unwrap_or(0.0);
        let (from, to) = (height(step.from.xyz), height(step.to.xyz));
        if kind == StrokeKind::Feed {
            self.deepest = self.deepest.min(to);
            self.heights &= scene.knows_height(&step.to, self.axis);
        }
        let (speed, sense) = (scene.speed, step.state.spindle.value);
        self.strokes.push(Stroke { kind, from, to, feed: step.feed, speed, sense, block: 0, part: step.part });
    }

    /// The recipe.
    pub fn recipe(&mut self, tool: u32) -> Recipe {
        Recipe {
            tool,
            axis: u8::try_from(self.axis).unwrap_or(2),
            origin: Origin::Cycle(self.call.code),
            start: self.call.r,
            r: Some(self.call.r),
            q: self.call.q,
            bottom: self.deepest.min(self.call.bottom),
            clear: self.call.clear,
            strokes: std::mem::take(&mut self.strokes),
            orbit: None,
            pilot: self.pilot,
            heights_known: self.heights,
        }
    }
}

/// Middle of the hole in its plane; not a number where the position is unknown.
pub(super) fn middle(call: &CycleCall) -> [f64; 2] {
    let (first, second, _) = call.plane.axes();
    let known = call.known.has(first) && call.known.has(second);
    [first, second].map(|axis| call.over.get(axis).copied().filter(|_| known).unwrap_or(f64::NAN))
}

/// A cycle at one place that later ones may repeat elsewhere, stroke for stroke.
pub(super) struct Series {
    form: u32,
    pilot: f64,
    /// Recipe they share.
    pub recipe: u32,
    /// Time it took from its place on.
    whole: Spent,
    /// Time it took from the R plane on, where that does not hang on how the tool came there.
    from_r: Option<Spent>,
    /// Whether it began at the R plane.
    began_at_r: bool,
}

impl Series {
    /// Of the cycle just finished.
    pub fn of(pending: &Pending, recipe: u32, whole: Spent, from_r: Option<Spent>) -> Self {
        let Pending { call, pilot, .. } = pending;
        Self { form: call.form, pilot: *pilot, recipe, whole, from_r, began_at_r: call.begins_at_r() }
    }

    /// Time from its place on of a call that does the same as the one the series began with, but for its place and the
    /// way down to R; `None` for one that does something else.
    pub fn spent(&self, call: &CycleCall, pilot: f64) -> Option<Spent> {
        if (self.form, self.pilot) != (call.form, pilot) {
            return None;
        }
        if call.begins_at_r() && !self.began_at_r { self.from_r } else { Some(self.whole) }
    }
}
