//! Arcs of the tool centre: feed at the wall they leave, and the helix that opens a hole.
//!
//! The programmed feed is that of the centre. A wall outside the path is longer than the path, one inside is shorter, so
//! the same feed loads each edge more or less there. Plain geometry; a public page on feeds in circular interpolation
//! gives the same two forms.

use crate::operation::Orbit;
use crate::units::{Degrees, Millimetres, MmPerMin};
use core::f64::consts::PI;

/// Feed at the wall over feed of the centre, on an arc of the centre of `radius`: (R + r) / R for a wall outside the arc
/// (`inside` a pocket corner), (R - r) / R for one within it. `None` where no wall is left: a still centre, or a corner
/// turned about a point.
#[must_use]
pub fn arc_wall_factor(radius: Millimetres, tool: Millimetres, inside: bool) -> Option<f64> {
    let own = tool.0 / 2.0;
    let wall = if inside { radius.0 + own } else { radius.0 - own };
    let factor = wall / radius.0;
    (factor.is_finite() && factor > 1e-9).then_some(factor)
}

/// A helix of the tool centre; flat circles have no pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Helix {
    /// Diameter of the centre's circle.
    pub diameter: Millimetres,
    /// Advance for each turn.
    pub pitch: Millimetres,
}

impl From<Orbit> for Helix {
    fn from(orbit: Orbit) -> Self {
        Self { diameter: Millimetres(orbit.diameter), pitch: Millimetres(orbit.pitch) }
    }
}

impl Helix {
    /// Path of one turn: sqrt((pi d)^2 + p^2).
    #[must_use]
    pub fn turn(self) -> Millimetres {
        Millimetres(libm::hypot(PI * self.diameter.0, self.pitch.0))
    }

    /// Path for a depth: so many turns as the pitch goes into it.
    #[must_use]
    pub fn path(self, depth: Millimetres) -> Millimetres {
        self.turn() * (depth / self.pitch)
    }

    /// Angle of the way down: atan(p / (pi d)).
    #[must_use]
    pub fn ramp(self) -> Degrees {
        Degrees(libm::atan2(self.pitch.0, PI * self.diameter.0).to_degrees())
    }

    /// Feed along the axis when the centre moves at `feed`: F p / turn.
    #[must_use]
    pub fn axial_feed(self, feed: MmPerMin) -> MmPerMin {
        feed * (self.pitch / self.turn())
    }

    /// Diameter of the pin left standing in the middle: d - tool, nothing when the tool reaches the middle.
    #[must_use]
    pub fn core(self, tool: Millimetres) -> Option<Millimetres> {
        let core = self.diameter - tool;
        (core.0 > 1e-6).then_some(core)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_turned_about_a_point_has_no_wall() {
        let tool = Millimetres(12.0);
        assert_eq!(arc_wall_factor(Millimetres(6.0), tool, false), None);
        assert_eq!(arc_wall_factor(Millimetres(4.0), tool, false), None);
        assert_eq!(arc_wall_factor(Millimetres(0.0), tool, true), None);
        assert_eq!(arc_wall_factor(Millimetres(f64::NAN), tool, true), None);
        assert_eq!(arc_wall_factor(Millimetres(8.0), tool, false), Some(0.25));
    }
}
