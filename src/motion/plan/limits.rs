//! What the machine can do: its accelerations, rates and corners, as bounds along a path.

use super::course::{Course, norm};
use super::profile::Drive;
use crate::job::{CornerMode, Machine, RapidStyle};
use crate::units::trimmed;
use std::fmt;

/// How far from a corner the tool may pass when `[machine]` states no `corner`, mm: house value.
pub const HOUSE_TOLERANCE: f64 = 0.01;
/// Blocks looked ahead when `[machine]` states no `look_ahead`: house value.
pub const HOUSE_LOOK_AHEAD: u32 = 100;
/// Most blocks looked ahead, so that a plan stays small; farther sight changes no plan of moves that cut.
const MOST_LOOK_AHEAD: u32 = 5000;
/// Half angles smaller than this are no corner, as the sine.
const STRAIGHT: f64 = 1e-9;

/// Bounds of a machine, in mm and s.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Acceleration of X, Y and Z, mm/s2.
    acceleration: [f64; 3],
    /// Jerk of X, Y and Z, mm/s3; infinite when not stated.
    jerk: [f64; 3],
    /// Rapid rate of X, Y and Z, mm/s; the axis's greatest rate at feed too.
    rate: [Option<f64>; 3],
    /// Greatest feed, mm/s; infinite when not stated.
    feed: f64,
    corner: Option<CornerMode>,
    look_ahead: Option<u32>,
    rapid_style: Option<RapidStyle>,
    /// Time the control needs for one block, s.
    pub block_time: f64,
}

impl Limits {
    /// Bounds of `machine`; `None` unless X, Y and Z all have an acceleration.
    #[must_use]
    pub fn of(machine: &Machine) -> Option<Self> {
        let [Some(x), Some(y), Some(z)] = machine.acceleration else { return None };
        let acceleration = [x, y, z].map(|metres| 1000.0 * metres);
        if !acceleration.iter().all(|value| value.is_finite() && *value > 0.0) {
            return None;
        }
        Some(Self {
            acceleration,
            jerk: machine.jerk.map(|jerk| jerk.filter(|jerk| *jerk > 0.0).map_or(f64::INFINITY, |jerk| 1000.0 * jerk)),
            rate: machine.rapid.map(|rate| rate.filter(|rate| rate.0 > 0.0).map(|rate| rate.0 / 60.0)),
            feed: machine.max_feed.as_ref().map_or(f64::INFINITY, |limit| limit.value.0 / 60.0),
            corner: machine.corner,
            look_ahead: machine.look_ahead,
            rapid_style: machine.rapid_style,
            block_time: machine.block_time.map_or(0.0, |time| time.0.max(0.0)),
        })
    }

    /// Blocks seen ahead, with the one that runs.
    #[must_use]
    pub fn look_ahead(&self) -> usize {
        let blocks = self.look_ahead.unwrap_or(HOUSE_LOOK_AHEAD).clamp(1, MOST_LOOK_AHEAD);
        blocks as usize
    }

    /// Whether the control stops at the end of every feed block.
    #[must_use]
    pub fn stops_at_corners(&self) -> bool {
        self.corner == Some(CornerMode::ExactStop)
    }

    /// Bounds along a path of which each axis takes at most its share.
    pub(super) fn along(&self, shares: [f64; 3]) -> Drive {
        let least = |values: [f64; 3]| {
            let moved = values.into_iter().zip(shares).filter(|(_, share)| *share > 0.0);
            moved.map(|(value, share)| value / share).fold(f64::INFINITY, f64::min)
        };
        Drive {
            acceleration: least(self.acceleration),
            jerk: least(self.jerk),
            rate: least(self.rate.map(|rate| rate.unwrap_or(f64::INFINITY))).min(self.feed),
        }
    }

    /// Time and top speed of a rapid; `None` when an axis it moves has no stated rate. It starts and ends at rest, for
    /// the control waits until a rapid is in position: common practice, no source.
    pub(super) fn rapid(&self, from: [f64; 3], to: [f64; 3]) -> Option<super::Profile> {
        let ([x, y, z], [to_x, to_y, to_z]) = (from, to);
        let way = [to_x - x, to_y - y, to_z - z].map(f64::abs);
        let known = self.rate.iter().zip(way).all(|(rate, way)| rate.is_some() || way == 0.0);
        let length = norm(way);
        if !known || !length.is_finite() {
            return None;
        }
        let drive = |shares: [f64; 3]| {
            let rates = Self { feed: f64::INFINITY, ..self.clone() };
            rates.along(shares)
        };
        if self.rapid_style != Some(RapidStyle::AxisByAxis) {
            return Some(drive(way.map(|part| part / length)).stop_to_stop(length, f64::INFINITY));
        }
        let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let runs = axes.into_iter().zip(way).map(|(axis, way)| drive(axis).stop_to_stop(way, f64::INFINITY));
        let seconds = runs.map(|run| run.seconds).fold(0.0, f64::max);
        Some(super::Profile { seconds, peak: if seconds > 0.0 { length / seconds } else { 0.0 } })
    }

    /// Greatest speed round an arc, mm/s: `sqrt(a r)` with the least acceleration of the axes it turns through, each of
    /// which takes all of it somewhere. Speeding up along the arc is bounded for itself.
    pub(super) fn round_arc(&self, course: &Course) -> f64 {
        let turning = self.acceleration.iter().zip(course.turning).filter(|(_, turning)| *turning);
        let least = turning.map(|(value, _)| *value).fold(f64::INFINITY, f64::min);
        libm::sqrt(least * course.curvature)
    }

    /// Square of the greatest speed from one segment to the next, (mm/s)2.
    ///
    /// Own derivation: the corner, of half angle `h` off straight, is rounded by a circle that touches both legs and
    /// passes the corner at the tolerance `e`. Its radius is `e cos h / (1 - cos h)`, and no greater than lets it touch
    /// each leg within its half, `L/2 / tan h`. Round it goes `v^2 = a r`, with `a` such that no axis is overtaxed
    /// wherever it lies in the plane of the corner. For a chain of chords of one circle that gives the circle's own speed.
    pub(super) fn round_corner(&self, before: &Course, after: &Course) -> f64 {
        let [(ux, wx), (uy, wy), (uz, wz)] = zip(before.end, after.start);
        let turn = [wx - ux, wy - uy, wz - uz];
        let sine = 0.5 * norm(turn);
        if sine < STRAIGHT {
            return f64::INFINITY;
        }
        let cosine = libm::sqrt((1.0 - sine * sine).max(0.0));
        let tolerance = match self.corner {
            Some(CornerMode::ExactStop) => 0.0,
            Some(CornerMode::Blend(tolerance)) => tolerance.0.max(0.0),
            None => HOUSE_TOLERANCE,
        };
        if cosine < STRAIGHT {
            return 0.0;
        }
        let by_tolerance = tolerance * cosine * (1.0 + cosine) / (sine * sine);
        let by_legs = 0.5 * before.length.min(after.length) * cosine / sine;
        let middle = [ux + wx, uy + wy, uz + wz].map(|part| part / (2.0 * cosine));
        let inward = turn.map(|part| part / (2.0 * sine));
        let shares = zip(middle, inward).map(|(middle, inward)| libm::sqrt(middle * middle + inward * inward));
        let least = self.acceleration.iter().zip(shares).filter(|(_, share)| *share > 0.0);
        let acceleration = least.map(|(value, share)| value / share).fold(f64::INFINITY, f64::min);
        acceleration * by_tolerance.min(by_legs)
    }
}

fn zip([x, y, z]: [f64; 3], [to_x, to_y, to_z]: [f64; 3]) -> [(f64, f64); 3] {
    [(x, to_x), (y, to_y), (z, to_z)]
}

/// What the plan assumes, for reports: `acceleration X 1 Y 1 Z 1 m/s2, corners within 0.01 mm (house value), ...`.
impl fmt::Display for Limits {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y, z] = self.acceleration.map(|value| trimmed(value / 1000.0, 3));
        write!(out, "acceleration X {x} Y {y} Z {z} m/s2, ")?;
        if self.jerk.iter().any(|jerk| jerk.is_finite()) {
            let [x, y, z] = self.jerk.map(|jerk| trimmed(jerk / 1000.0, 3));
            write!(out, "jerk X {x} Y {y} Z {z} m/s3, ")?;
        }
        match self.corner {
            Some(CornerMode::ExactStop) => write!(out, "stop at every corner")?,
            Some(CornerMode::Blend(tolerance)) => write!(out, "corners within {tolerance}")?,
            None => write!(out, "corners within {} mm (house value)", trimmed(HOUSE_TOLERANCE, 3))?,
        }
        let house = if self.look_ahead.is_none() { " (house value)" } else { "" };
        write!(out, ", {} blocks looked ahead{house}", self.look_ahead())?;
        if self.block_time > 0.0 {
            write!(out, ", {} ms a block", trimmed(1000.0 * self.block_time, 3))?;
        }
        Ok(())
    }
}
