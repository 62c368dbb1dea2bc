//! A hole in two parts: its place, small and one for each hole, and its recipe, shared by all holes made alike.

use crate::job::{Tool, ToolKind};
use crate::motion::{BlockRef, CycleCode, CyclePart, SpindleSense, TraceId};
use crate::source::{SourceId, Span};
use crate::units::Millimetres;

/// Index of the Z axis, the drilling axis of three-axis programs.
pub const AXIS_Z: u8 = 2;

/// An arc that goes down less than this is level, mm.
const LEVEL: f64 = 1e-6;

/// One hole: where it is and where in the text it comes from. Kept for every hole of a run, so it stays small.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// First in-plane coordinate (X in G17), mm; not a number when the position is unknown. Counted from the origin
    /// that held first under the active work offset, so that a pattern shifted by G52 or G92 lies where it is drilled.
    pub x: f64,
    /// Second in-plane coordinate (Y in G17), mm, likewise.
    pub y: f64,
    /// Index into the survey's recipes.
    pub recipe: u32,
    /// Byte offset of the block that first enters the material here.
    pub block: u32,
    /// Byte offset of the block that last stated the cycle's code, depth or R; `block` for long-hand holes.
    pub stated: u32,
    /// Byte offset of the F word in force at the first stroke; `motion::UNSTATED` when none.
    pub feed_at: u32,
    /// Byte offset of the S word in force at the first stroke; `motion::UNSTATED` when none.
    pub speed_at: u32,
    /// Calls that led here.
    pub trace: TraceId,
    /// Which source the offsets count in.
    pub source: SourceId,
}

impl Hole {
    /// The block that first enters the material here, without its end and number, which are not kept.
    #[must_use]
    pub fn first_block(&self) -> BlockRef {
        BlockRef { source: self.source, span: Span::new(self.block, self.block), index: 0, trace: self.trace }
    }
}

/// How a hole is made: everything about it but its place. Holes made alike share one recipe, and rules judge it once.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Tool in the spindle; 0 when none or unknown.
    pub tool: u32,
    /// Index of the drilling axis: 0 X, 1 Y, 2 Z.
    pub axis: u8,
    /// Where it comes from.
    pub origin: Origin,
    /// Height the first feed stroke starts at, program mm along the axis.
    pub start: f64,
    /// R plane of a cycle.
    pub r: Option<f64>,
    /// Peck increment of a cycle.
    pub q: Option<f64>,
    /// Deepest point the tool tip reaches.
    pub bottom: f64,
    /// Height the tool is left at.
    pub clear: f64,
    /// Everything the tool does between `start` and leaving, in order.
    pub strokes: Vec<Stroke>,
    /// Orbit of a milled hole.
    pub orbit: Option<Orbit>,
    /// Diameter of the largest hole already through at this place, mm; 0 for none.
    pub pilot: f64,
    /// Whether heights can be trusted: position known, head upright, and a length offset on once tools are changed.
    /// An offset of another tool is a finding of its own; heights then count as programmed.
    pub heights_known: bool,
}

impl Recipe {
    /// Way of the tool centre over one of its strokes, mm: along the helix where it circles, a level arc as one full turn.
    #[must_use]
    pub fn way(&self, stroke: &Stroke) -> f64 {
        let along = (stroke.from - stroke.to).abs();
        match self.orbit.filter(|orbit| orbit.pitch > 0.0) {
            Some(Orbit { diameter, .. }) if along < LEVEL => core::f64::consts::PI * diameter,
            Some(Orbit { diameter, pitch, .. }) => along / pitch * libm::hypot(core::f64::consts::PI * diameter, pitch),
            None => along,
        }
    }

    /// Diameter of the finished hole; `None` for a countersink, whose diameter depends on depth.
    #[must_use]
    pub fn finished_diameter(&self, tool: &Tool) -> Option<Millimetres> {
        let orbit = self.orbit.map_or(0.0, |orbit| orbit.diameter);
        let straight = !matches!(tool.kind, ToolKind::Countersink { .. });
        straight.then_some(tool.diameter + Millimetres(orbit))
    }
}

/// Where a hole's moves come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A canned cycle.
    Cycle(CycleCode),
    /// Moves written one by one.
    LongHand,
    /// A helix or circles around the hole's axis.
    Orbit,
}

/// One thing the tool does inside or just above a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// What.
    pub kind: StrokeKind,
    /// Height it starts at, program mm along the axis.
    pub from: f64,
    /// Height it ends at.
    pub to: f64,
    /// Feed along the axis for straight strokes, of the tool centre for orbits, mm/min; `None` for rapids or unknown.
    pub feed: Option<f64>,
    /// Spindle speed, rev/min; `None` when unknown.
    pub speed: Option<f64>,
    /// Spindle sense.
    pub sense: SpindleSense,
    /// How many blocks after the hole's first block this stroke's block stands; 0 throughout a canned cycle.
    pub block: u16,
    /// Part of a canned cycle.
    pub part: Option<CyclePart>,
}

/// What a stroke is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StrokeKind {
    /// Feed move along the axis, in or out.
    Feed,
    /// Rapid along the axis, in or out.
    Rapid,
    /// Standing still for so many seconds; `None` when the unit is not declared, or until the operator goes on.
    Dwell(Option<f64>),
    /// Spindle speed or sense changed.
    Spindle,
}

/// A hole milled by circling: helix or flat circles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orbit {
    /// Diameter of the circle of the tool centre, mm.
    pub diameter: f64,
    /// Advance for each turn, mm.
    pub pitch: f64,
    /// Whether it turns clockwise seen from above.
    pub clockwise: bool,
}

/// Words of a hole's blocks that findings point at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HoleWord {
    /// The whole block.
    Block,
    /// Feed in force.
    Feed,
    /// Spindle speed in force.
    Speed,
    /// Depth.
    Depth,
    /// R plane.
    Retract,
    /// Peck increment.
    Peck,
    /// Dwell.
    Dwell,
    /// Cycle code.
    Cycle,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A program of a million holes keeps a record of each.
    #[test]
    fn the_record_of_a_hole_stays_small() {
        assert!(size_of::<Hole>() <= 48, "{}", size_of::<Hole>());
    }
}
