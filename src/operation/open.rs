//! A hole being made move by move: strokes gathered until the tool leaves sideways.

use super::contact::{Course, HEIGHT, course};
use super::orbit::Ring;
use super::places::near;
use super::scene::Scene;
use super::{AXIS_Z, Origin, Recipe, Stroke, StrokeKind};
use crate::motion::{Arc, BlockRef, ModalState, Plane, Step, StepKind, UNSTATED};

/// Strokes at one place that may turn out to be a hole.
pub(super) struct Open {
    /// Block of the first stroke.
    pub first: BlockRef,
    /// Byte offsets of the F and S words in force there.
    pub words: (u32, u32),
    /// Deepest point so far.
    pub deepest: f64,
    /// Sideways path at feed so far, mm.
    pub path: f64,
    at: [f64; 2],
    start: f64,
    z: f64,
    /// Height under which the tool is in the hole: the entry face, or where the first stroke starts.
    mouth: f64,
    heights: bool,
    strokes: Vec<Stroke>,
    ring: Option<Ring>,
    strayed: bool,
    blocks: Vec<BlockRef>,
}

impl Open {
    /// Whether a step may begin a hole by its kind: a feed stroke along Z, or an arc of a tool that mills.
    #[inline]
    pub fn may_begin(step: &Step<'_>, scene: &Scene<'_>) -> bool {
        match step.kind {
            StepKind::Line => course(step) == Course::Axial,
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => mills(scene) && arc.plane == Plane::Xy,
            _ => false,
        }
    }

    /// A hole that begins with `step`, which `may_begin` accepted; a stroke must go down into the face.
    pub fn begin(step: &Step<'_>, scene: &Scene<'_>, entry: Option<f64>) -> Option<Self> {
        let ([x, y, from], [_, _, to]) = (step.from.point()?, step.to.point()?);
        let heights = scene.knows_height(&step.to, 2);
        let mouth = entry.filter(|_| heights);
        let starts = step.kind != StepKind::Line || to < from && mouth.is_none_or(|face| to < face - HEIGHT);
        let mut open = starts.then(|| Self {
            first: step.block,
            words: words_in_force(step.state, step.block),
            deepest: from,
            path: 0.0,
            at: [x, y],
            start: from,
            z: from,
            mouth: mouth.unwrap_or(from),
            heights,
            strokes: Vec::new(),
            ring: None,
            strayed: false,
            blocks: vec![step.block],
        })?;
        open.take(step, scene);
        Some(open)
    }

    /// Middle of the hole.
    pub fn place(&self) -> [f64; 2] {
        self.ring.map_or(self.at, |ring| ring.centre)
    }

    /// Whether the tool stands in a circle already milled all round, free of its walls.
    pub fn clears(&self, step: &Step<'_>) -> bool {
        let [x, y, z] = step.to.xyz;
        self.ring.is_some_and(|ring| ring.closed() && ring.holds([x, y])) && z >= self.deepest - HEIGHT
    }

    /// Remembers a block read while the hole is open, so that a spindle word can be found again.
    pub fn read(&mut self, block: BlockRef) {
        if self.blocks.len() < usize::from(u16::MAX) {
            self.blocks.push(block);
        }
    }

    /// Whether a step still belongs to this hole.
    pub fn keeps(&self, step: &Step<'_>, scene: &Scene<'_>) -> bool {
        if matches!(step.kind, StepKind::ToolChange | StepKind::End) {
            return false;
        }
        let [x, y, _] = step.to.xyz;
        let within = self.ring.is_some_and(|ring| ring.holds([x, y]));
        match (course(step), step.kind) {
            (Course::Still, _) => true,
            _ if step.to.point().is_none() => false,
            (Course::Axial, _) => within || (self.ring.is_none() && near(self.at, [x, y])),
            (_, StepKind::ArcCw(arc) | StepKind::ArcCcw(arc)) => {
                let about = self.ring.is_none_or(|ring| ring.shares_centre(&arc) || !ring.closed());
                mills(scene) && arc.plane == Plane::Xy && (about || within)
            }
            (_, StepKind::Line) => within || (mills(scene) && self.ring.is_none() && !self.strayed),
            _ => within,
        }
    }

    /// Takes a step in that `keeps` accepted.
    pub fn take(&mut self, step: &Step<'_>, scene: &Scene<'_>) {
        let [_, _, z] = step.to.xyz;
        match step.kind {
            StepKind::Dwell(seconds) => self.stand(StrokeKind::Dwell(seconds), step, scene),
            StepKind::Stop(_) => self.stand(StrokeKind::Dwell(None), step, scene),
            StepKind::Rapid if course(step) == Course::Axial => self.stroke(StrokeKind::Rapid, step, scene),
            StepKind::Line if course(step) == Course::Axial => self.stroke(StrokeKind::Feed, step, scene),
            StepKind::Line if course(step) == Course::Sideways => {
                self.strayed = self.ring.is_none();
                self.path += step.length();
            }
            StepKind::ArcCw(arc) => self.turn(&arc, true, step, scene),
            StepKind::ArcCcw(arc) => self.turn(&arc, false, step, scene),
            _ => {}
        }
        self.z = z;
        self.deepest = self.deepest.min(z);
    }

    fn turn(&mut self, arc: &Arc, clockwise: bool, step: &Step<'_>, scene: &Scene<'_>) {
        let ([_, _, from], [_, _, to]) = (step.from.xyz, step.to.xyz);
        let ring = match self.ring {
            Some(ring) if ring.shares_centre(arc) => Some(ring),
            Some(ring) if ring.closed() => None,
            _ => Some(Ring::new(arc, clockwise)),
        };
        if let Some(mut ring) = ring {
            ring.turn(arc, from - to);
            self.ring = Some(ring);
        }
        self.strayed = false;
        self.path += step.length();
        self.stroke(StrokeKind::Feed, step, scene);
    }

    fn stand(&mut self, kind: StrokeKind, step: &Step<'_>, scene: &Scene<'_>) {
        if self.z < self.mouth - HEIGHT {
            self.stroke(kind, step, scene);
        }
    }

    fn stroke(&mut self, kind: StrokeKind, step: &Step<'_>, scene: &Scene<'_>) {
        let ([_, _, from], [_, _, to]) = (step.from.xyz, step.to.xyz);
        let (speed, sense) = (scene.speed, scene.sense);
        let block = self.lines_to(step.block);
        let stroke = Stroke { kind, from, to, feed: step.feed, speed, sense, block, part: None };
        let turned = self.strokes.last().is_some_and(|last| (last.speed, last.sense) != (speed, sense));
        if turned && from < self.mouth - HEIGHT {
            let block = self.spindle_block(step.state).map_or(block, |found| self.lines_to(found));
            self.strokes.push(Stroke { kind: StrokeKind::Spindle, to: from, feed: None, block, ..stroke });
        }
        self.strokes.push(stroke);
    }

    /// The latest block that set speed or sense.
    fn spindle_block(&self, state: &ModalState) -> Option<BlockRef> {
        let words = [(state.speed.at, state.speed.source), (state.spindle.at, state.spindle.source)];
        let set = |block: &&BlockRef| {
            let holds = |(at, source): &(u32, u16)| {
                *source == block.source.0 && (block.span.start..block.span.end).contains(at)
            };
            words.iter().any(holds)
        };
        self.blocks.iter().rev().find(set).copied()
    }

    /// How many blocks after the first a block stands; 0 when it stands in another text.
    fn lines_to(&self, block: BlockRef) -> u16 {
        let lines = block.index.checked_sub(self.first.index).filter(|_| block.source == self.first.source);
        u16::try_from(lines.unwrap_or(0)).unwrap_or(u16::MAX)
    }

    /// Whether it has turned out to be a hole, now that `leaving` takes the tool away.
    pub fn is_hole(&self, leaving: Option<&Step<'_>>, scene: &Scene<'_>, entry: Option<f64>) -> bool {
        let entry = entry.filter(|_| self.heights);
        let entered = entry.is_none_or(|face| self.deepest < face - HEIGHT);
        let cuts_away = leaving.is_some_and(|step| {
            course(step) == Course::Sideways && step.kind != StepKind::Rapid && self.z < self.mouth - HEIGHT
        });
        let came_up = self.z > self.deepest + HEIGHT;
        entered
            && match self.ring {
                Some(ring) => ring.closed() && ring.makes_a_hole(scene.tool.map(|tool| tool.diameter.0)) && !cuts_away,
                None if !mills(scene) => entry.is_some() || came_up,
                None => !cuts_away && !self.strayed && came_up,
            }
    }

    /// The recipe, with the strokes handed over.
    pub fn recipe(self, tool: u32, pilot: f64) -> Recipe {
        let depth = self.start.min(self.mouth) - self.deepest;
        Recipe {
            tool,
            axis: AXIS_Z,
            origin: if self.ring.is_some() { Origin::Orbit } else { Origin::LongHand },
            start: self.start,
            r: None,
            q: None,
            bottom: self.deepest,
            clear: self.z,
            strokes: self.strokes,
            orbit: self.ring.map(|ring| ring.orbit(depth)),
            pilot,
            heights_known: self.heights,
        }
    }
}

/// Byte offsets of the F and S words in force, as far as they stand in the block's own text.
pub(super) fn words_in_force(state: &ModalState, block: BlockRef) -> (u32, u32) {
    let here = |at: u32, source: u16| if source == block.source.0 { at } else { UNSTATED };
    (here(state.feed_word.at, state.feed_word.source), here(state.speed.at, state.speed.source))
}

/// Whether the tool may cut sideways: any tool the job does not list may.
fn mills(scene: &Scene<'_>) -> bool {
    scene.makes_holes() != Some(true)
}
