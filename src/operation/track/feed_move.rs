//! One feed move, copied out of its step, and the places along it.

use crate::motion::{Arc, BlockRef, PathMode, Plane, SpindleSense, Step, StepKind};
use crate::operation::contact::{Course, course};
use crate::operation::frame::Frame;
use crate::operation::open::words_in_force;
use crate::operation::scene::Scene;

/// A feed move with everything a cut needs of it.
#[derive(Clone, Copy, Debug)]
pub(in crate::operation) struct FeedMove {
    /// Start and end, program mm.
    pub from: [f64; 3],
    pub to: [f64; 3],
    /// Where it leads.
    pub line: Line,
    /// Length sideways, mm; 0 along the axis.
    pub sideways: f64,
    /// Unit vector of the way sideways, where it is straight.
    pub heading: [f64; 2],
    /// What to add to X and Y to count them from the first origin.
    pub shift: [f64; 2],
    /// Tool; 0 when unknown.
    pub tool: u32,
    /// Its radius, mm; `None` when the job does not list the tool.
    pub radius: Option<f64>,
    /// Work offset in force.
    pub work_offset: u8,
    /// Feed of the tool centre, mm/min.
    pub feed: Option<f64>,
    /// Spindle speed, rev/min.
    pub speed: Option<f64>,
    /// Spindle sense.
    pub sense: SpindleSense,
    /// Byte offset of the F word in force.
    pub feed_at: u32,
    /// The exact stop in force.
    pub exact: Option<(u16, u32)>,
    /// Its block.
    pub block: BlockRef,
    /// Its number in the speed plan; `None` when no plan is made for it.
    pub planned: Option<u64>,
}

/// Where a feed move leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::operation) enum Line {
    /// Along the tool's axis.
    Axial,
    /// Straight; an arc that stands upright counts as its chord.
    Straight,
    /// An arc or helix about Z, counterclockwise or not.
    Round { arc: Arc, counterclockwise: bool },
}

/// A place along a move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::operation) struct Place {
    /// X and Y, program mm.
    pub at: [f64; 2],
    /// Unit vector of the way sideways.
    pub heading: [f64; 2],
    /// Height of the tip.
    pub z: f64,
}

impl Line {
    /// Length sideways from one point to another, mm, and the unit vector of the straight way.
    pub fn course(&self, from: [f64; 3], to: [f64; 3]) -> (f64, [f64; 2]) {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let straight = libm::sqrt(dx * dx + dy * dy);
        let heading = if straight > 0.0 { [dx / straight, dy / straight] } else { [1.0, 0.0] };
        match self {
            Self::Axial => (0.0, [1.0, 0.0]),
            Self::Straight => (straight, heading),
            Self::Round { arc, .. } => (arc.radius * arc.sweep, heading),
        }
    }
}

impl FeedMove {
    /// The move a step makes; `None` when it is no feed move or its place is unknown.
    pub fn of(step: &Step<'_>, scene: &Scene<'_>, frame: &Frame, planned: Option<u64>) -> Option<Self> {
        let (from, to) = (step.from.point()?, step.to.point()?);
        let line = match step.kind {
            StepKind::Line if course(step) == Course::Axial => Line::Axial,
            StepKind::ArcCw(arc) if arc.plane == Plane::Xy => Line::Round { arc, counterclockwise: false },
            StepKind::ArcCcw(arc) if arc.plane == Plane::Xy => Line::Round { arc, counterclockwise: true },
            StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => Line::Straight,
            _ => return None,
        };
        let path = step.state.path;
        let (sideways, heading) = line.course(from, to);
        Some(Self {
            from,
            to,
            line,
            sideways,
            heading,
            shift: frame.place([0.0, 0.0]),
            tool: scene.number,
            radius: scene.tool.map(|tool| tool.diameter.0 / 2.0).filter(|radius| *radius > 0.0),
            work_offset: frame.number,
            feed: step.feed,
            speed: scene.speed,
            sense: scene.sense,
            feed_at: words_in_force(step.state, step.block).0,
            exact: (path.value != PathMode::Continuous).then_some((path.source, path.at)),
            block: step.block,
            planned,
        })
    }

    /// A place counted from the first origin.
    pub fn shifted(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [shift_x, shift_y] = self.shift;
        [x + shift_x, y + shift_y]
    }

    /// X and Y after that share of the way.
    pub fn at(&self, share: f64) -> [f64; 2] {
        let ([x, y, _], [to_x, to_y, _]) = (self.from, self.to);
        match self.line {
            Line::Axial => [to_x, to_y],
            Line::Straight => [x + (to_x - x) * share, y + (to_y - y) * share],
            Line::Round { .. } => self.place(share).at,
        }
    }

    /// The place after that share of the way.
    pub fn place(&self, share: f64) -> Place {
        let ([x, y, z], [_, _, to_z]) = (self.from, self.to);
        let z = z + (to_z - z) * share;
        match self.line {
            Line::Axial | Line::Straight => Place { at: self.at(share), heading: self.heading, z },
            Line::Round { arc, counterclockwise } => {
                let [cx, cy, _] = arc.centre;
                let turn = if counterclockwise { arc.sweep * share } else { -arc.sweep * share };
                let (sin, cos) = (libm::sin(turn), libm::cos(turn));
                let (out_x, out_y) = (x - cx, y - cy);
                let (rx, ry) = (out_x * cos - out_y * sin, out_x * sin + out_y * cos);
                let radius = libm::sqrt(rx * rx + ry * ry);
                let way = if counterclockwise { 1.0 } else { -1.0 };
                let heading = if radius > 0.0 { [-way * ry / radius, way * rx / radius] } else { [1.0, 0.0] };
                Place { at: [cx + rx, cy + ry], heading, z }
            }
        }
    }
}
