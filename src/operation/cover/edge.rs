//! One edge of the drawing as a run cuts it: places all along it, and what came by each.

use super::Look;
use crate::job::{EdgeGroup, contour};
use crate::motion::BlockRef;
use crate::operation::track::FeedMove;

/// How far one edge has been cut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct EdgeCover {
    /// Places along the contour, evenly spaced, in its own sense.
    pub marks: Vec<Mark>,
    /// Way from one mark to the next, mm.
    pub spacing: f64,
    /// Where straight moves met the finished contour from the side.
    pub arrivals: Vec<Arrival>,
}

/// One place of an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// X and Y, program mm.
    pub at: [f64; 2],
    /// Thickness zone.
    pub zone: Option<usize>,
    /// Height of the nominal exit face.
    exit: f64,
    /// Lowest the full diameter of a tool came along this place, program mm; no end upwards before any came.
    pub lowest: f64,
    /// Block that went lowest.
    pub block: BlockRef,
    /// Tool that came by last; 0 for none.
    pub tool: u32,
    /// Which move first came by, counted over the run.
    pub first: Option<u32>,
    /// Which move first went through the nominal part here.
    pub through: Option<u32>,
}

/// A straight move that met the contour from the side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    /// Its block.
    pub block: BlockRef,
    /// Tool in the spindle.
    pub tool: u32,
    /// Where, X and Y.
    pub at: [f64; 2],
    /// Angle between the move and the edge, degrees.
    pub angle: f64,
}

impl Mark {
    /// Whether a tool came by.
    #[must_use]
    pub fn is_cut(&self) -> bool {
        self.tool != 0
    }
}

/// Least way between marks, mm.
pub(super) const SPACING: f64 = 1.0;
/// Most marks of one edge.
const MOST_MARKS: f64 = 8_000.0;
/// How far a chord may stray from its arc, mm.
pub(super) const CHORD: f64 = 0.01;
/// Flatter arrivals are along the edge, degrees. House value.
const FLAT: f64 = 30.0;
/// Arrivals kept for one edge.
const MOST_ARRIVALS: usize = 1_000;
/// Heights within this are the same, mm.
pub(super) const SAME: f64 = 0.01;

impl EdgeCover {
    /// Walks from mark to mark while they come nearer to a place.
    pub(super) fn downhill(&self, from: usize, at: [f64; 2]) -> Option<(usize, f64)> {
        let mut index = from;
        let mut away = distance(self.marks.get(index)?.at, at);
        for forward in [true, false] {
            loop {
                let next = self.next(index, forward);
                let there = distance(self.marks.get(next)?.at, at);
                if there >= away {
                    break;
                }
                (index, away) = (next, there);
            }
        }
        Some((index, away))
    }

    fn next(&self, index: usize, forward: bool) -> usize {
        let last = self.marks.len().saturating_sub(1);
        match (forward, index) {
            (true, index) if index >= last => 0,
            (true, index) => index + 1,
            (false, 0) => last,
            (false, index) => index - 1,
        }
    }

    /// Marks everything between two marks, the short way round.
    pub(super) fn mark(&mut self, from: usize, to: usize, look: &Look, feed_move: &FeedMove, order: u32) {
        let count = self.marks.len();
        let ahead = (to + count - from) % count.max(1);
        let forward = 2 * ahead <= count;
        let mut index = from;
        loop {
            if let Some(mark) = self.marks.get_mut(index) {
                mark.tool = feed_move.tool;
                mark.first = mark.first.or(Some(order));
                if look.z < mark.lowest {
                    (mark.lowest, mark.block) = (look.z, feed_move.block);
                }
                if look.z <= mark.exit + SAME && mark.through.is_none() {
                    mark.through = Some(order);
                }
            }
            if index == to {
                return;
            }
            index = self.next(index, forward);
        }
    }

    pub(super) fn arrive(&mut self, index: usize, look: &Look, (block, tool): (BlockRef, u32)) {
        let at = |index: usize| self.marks.get(index).map(|mark| mark.at);
        let (Some(here), Some(after), Some(before)) =
            (at(index), at(self.next(index, true)), at(self.next(index, false)))
        else {
            return;
        };
        let angle = angle_to(look.heading, here, after).min(angle_to(look.heading, before, here));
        if angle > FLAT && self.arrivals.len() < MOST_ARRIVALS {
            self.arrivals.push(Arrival { block, tool, at: look.at, angle });
        }
    }

    /// Marks nearer to a place than `reach`.
    pub fn marks_near(&self, at: [f64; 2], reach: f64) -> impl Iterator<Item = &Mark> {
        self.marks.iter().filter(move |mark| distance(mark.at, at) <= reach)
    }
}

/// Angle between a heading and the line through two places, degrees, 0 to 90.
fn angle_to(heading: [f64; 2], from: [f64; 2], to: [f64; 2]) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let length = libm::hypot(dx, dy);
    if length <= 0.0 {
        return 0.0;
    }
    let along = (heading[0] * dx + heading[1] * dy).abs() / length;
    libm::acos(along.clamp(0.0, 1.0)).to_degrees()
}

pub(super) fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (a[0] - b[0], a[1] - b[1]);
    libm::sqrt(dx * dx + dy * dy)
}

/// An edge with marks all along, none of them cut; `own` is the exit face where no zone lies.
pub(super) fn uncut(edge: &EdgeGroup, zones: &[(Vec<[f64; 2]>, f64)], own: f64) -> EdgeCover {
    let polygon = contour::points(&edge.contour, CHORD);
    let mark = |at: [f64; 2]| {
        let zone = zones.iter().position(|(outline, _)| contour::inside(at, outline));
        let exit = zone.and_then(|zone| zones.get(zone)).map_or(own, |(_, exit)| *exit);
        Mark { at, zone, exit, lowest: f64::INFINITY, block: BlockRef::default(), tool: 0, first: None, through: None }
    };
    let sides = || polygon.iter().zip(polygon.iter().skip(1).chain(polygon.first()));
    let whole: f64 = sides().map(|(from, to)| distance(*from, *to)).sum();
    let spacing = SPACING.max(whole / MOST_MARKS);
    let mut marks = Vec::new();
    let mut rest = 0.0;
    for (from, to) in sides() {
        let length = distance(*from, *to);
        while rest < length {
            let share = rest / length;
            marks.push(mark([from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share]));
            rest += spacing;
        }
        rest -= length;
    }
    EdgeCover { marks, spacing, arrivals: Vec::new() }
}
