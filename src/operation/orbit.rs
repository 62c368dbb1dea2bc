//! Circles about one centre: a hole milled by a tool smaller than itself.

use super::Orbit;
use crate::motion::Arc;
use std::f64::consts::TAU;

/// Centres and radii nearer than this are the same, mm; house value.
const SAME: f64 = 0.02;
/// A circle of the tool centre wider than this many tool diameters is an outline, not a hole; house value.
const WIDEST: f64 = 2.0;

/// Arcs seen so far about one centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ring {
    /// Centre.
    pub centre: [f64; 2],
    /// Largest radius of the tool centre, mm.
    pub radius: f64,
    /// Angle turned through in all, radians.
    sweep: f64,
    /// Angle turned through while going down, radians.
    descending: f64,
    /// How far it went down while turning, mm.
    descent: f64,
    clockwise: bool,
}

impl Ring {
    /// A ring about an arc's centre, without any arc yet.
    pub fn new(arc: &Arc, clockwise: bool) -> Self {
        let [x, y, _] = arc.centre;
        Self { centre: [x, y], radius: 0.0, sweep: 0.0, descending: 0.0, descent: 0.0, clockwise }
    }

    /// Whether an arc turns about the same centre.
    pub fn shares_centre(&self, arc: &Arc) -> bool {
        let [x, y, _] = arc.centre;
        distance(self.centre, [x, y]) <= SAME
    }

    /// Takes an arc in, that goes `descent` down.
    pub fn turn(&mut self, arc: &Arc, descent: f64) {
        self.radius = self.radius.max(arc.radius);
        self.sweep += arc.sweep;
        if descent > 0.0 {
            self.descent += descent;
            self.descending += arc.sweep;
        }
    }

    /// Whether a place of the tool centre lies within the circle.
    pub fn holds(&self, place: [f64; 2]) -> bool {
        distance(self.centre, place) <= self.radius + SAME
    }

    /// Whether it has turned once all round.
    pub fn closed(&self) -> bool {
        self.sweep >= TAU - 0.01
    }

    /// Whether a tool of this diameter makes a hole by it rather than an outline; an unknown tool does when it spirals.
    pub fn makes_a_hole(&self, tool: Option<f64>) -> bool {
        match tool {
            Some(diameter) => 2.0 * self.radius <= WIDEST * diameter + SAME,
            None => self.descent > 0.0,
        }
    }

    /// The orbit, of a hole `depth` deep in all.
    pub fn orbit(&self, depth: f64) -> Orbit {
        let (down, angle) = if self.descent > 0.0 { (self.descent, self.descending) } else { (depth, self.sweep) };
        Orbit { diameter: 2.0 * self.radius, pitch: down * TAU / angle, clockwise: self.clockwise }
    }
}

/// Distance of two places, mm.
pub(super) fn distance([x, y]: [f64; 2], [other_x, other_y]: [f64; 2]) -> f64 {
    libm::hypot(x - other_x, y - other_y)
}
