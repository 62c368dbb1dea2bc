//! What the machine can do: its accelerations, rates and corners, as bounds along a path.

use super::course::{Course, End, norm, square};
use super::profile::{Drive, Profile};
use crate::job::{CornerMode, Machine, RapidStyle};
use crate::units::{Millimetres, UnitSystem, trimmed};
use std::ops::RangeInclusive;

/// How far from a corner the tool may pass when `[machine]` states no `corner`, mm: house value.
pub const HOUSE_TOLERANCE: f64 = 0.01;
/// Blocks looked ahead when `[machine]` states no `look_ahead`: house value.
pub const HOUSE_LOOK_AHEAD: u32 = 100;
/// Most blocks looked ahead, so that a plan stays small; farther sight changes no plan of moves that cut.
const MOST_LOOK_AHEAD: u32 = 5000;
/// Half angles smaller than this are no corner: the square of the sine.
const STRAIGHT: f64 = 1e-18;

/// Numbers a plan can be made with, in mm and s; others count as not stated, so that every time comes out a number.
pub(super) const PLAUSIBLE: RangeInclusive<f64> = 1e-9..=1e9;

/// Bounds of a machine, in mm and s.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Acceleration of X, Y and Z, mm/s2.
    acceleration: [f64; 3],
    /// One over it, s2/mm.
    slowness: [f64; 3],
    /// One over the jerk of X, Y and Z, s3/mm; 0 when not stated.
    softness: [f64; 3],
    /// One over the rapid rate of X, Y and Z, s/mm, which is the axis's greatest rate at feed too; 0 when not stated.
    pace: [f64; 3],
    /// Greatest feed, mm/s; infinite when not stated.
    pub(super) feed: f64,
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
        if !acceleration.iter().all(|value| PLAUSIBLE.contains(value)) {
            return None;
        }
        let plausible = |value: Option<f64>| value.filter(|value| PLAUSIBLE.contains(value));
        let inverse = |value: Option<f64>| plausible(value).map_or(0.0, |value| 1.0 / value);
        let feed = machine.max_feed.as_ref().map(|feed| feed.value.0 / 60.0);
        Some(Self {
            acceleration,
            slowness: acceleration.map(|value| 1.0 / value),
            softness: machine.jerk.map(|jerk| inverse(jerk.map(|metres| 1000.0 * metres))),
            pace: machine.rapid.map(|rate| inverse(rate.map(|rate| rate.0 / 60.0))),
            feed: plausible(feed).unwrap_or(f64::INFINITY),
            corner: machine.corner,
            look_ahead: machine.look_ahead,
            rapid_style: machine.rapid_style,
            block_time: plausible(machine.block_time.map(|time| time.0)).unwrap_or(0.0),
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

    /// Bounds of the axes along a path of which each takes at most its share.
    pub(super) fn along(&self, shares: [f64; 3]) -> Drive {
        let least = |inverses: [f64; 3]| 1.0 / greatest(inverses, shares);
        Drive { acceleration: least(self.slowness), jerk: least(self.softness), rate: least(self.pace) }
    }

    /// Length in mm, time and top speed of a rapid whose axes go that far; `None` when it does not move or an axis it
    /// moves has no stated rate. It starts and ends at rest, for the control waits until a rapid is in position: common
    /// practice, no source.
    pub(super) fn rapid(&self, way: [f64; 3]) -> Option<(f64, Profile)> {
        let known = self.pace.iter().zip(way).all(|(pace, way)| *pace > 0.0 || way == 0.0);
        let length = norm(way);
        if !known || !PLAUSIBLE.contains(&length) {
            return None;
        }
        if self.rapid_style != Some(RapidStyle::AxisByAxis) {
            let drive = self.along(way.map(|part| part / length));
            return Some((length, drive.stop_to_stop(length, f64::INFINITY)));
        }
        let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let runs = axes.into_iter().zip(way).map(|(axis, way)| self.along(axis).stop_to_stop(way, f64::INFINITY));
        let seconds = runs.map(|run| run.seconds).fold(0.0, f64::max);
        Some((length, Profile { seconds, peak: length / seconds }))
    }

    /// Seconds of a rapid whose axes go so far, mm, from rest to rest; `None` when an axis it moves has no stated rate.
    #[must_use]
    pub fn rapid_seconds(&self, way: [f64; 3]) -> Option<f64> {
        self.rapid(way.map(f64::abs)).map(|(_, profile)| profile.seconds)
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
    pub(super) fn round_corner(&self, before: &End, after: &Course) -> f64 {
        let [(ux, wx), (uy, wy), (uz, wz)] = zip(before.direction, after.start);
        let (ahead, turn) = ([ux + wx, uy + wy, uz + wz], [wx - ux, wy - uy, wz - uz]);
        let sine2 = 0.25 * square(turn);
        let cosine2 = 1.0 - sine2;
        if sine2 < STRAIGHT {
            return f64::INFINITY;
        }
        if cosine2 < STRAIGHT {
            return 0.0;
        }
        let tolerance = match self.corner {
            Some(CornerMode::ExactStop) => 0.0,
            Some(CornerMode::Blend(tolerance)) => tolerance.0.max(0.0),
            None => HOUSE_TOLERANCE,
        };
        let cosine = libm::sqrt(cosine2);
        let by_tolerance = tolerance * cosine * (1.0 + cosine) / sine2;
        let by_legs = 0.5 * before.length.min(after.length) * cosine / libm::sqrt(sine2);
        // Greatest share of an axis in the plane that `ahead` and `turn` span at right angles.
        let (level, inward) = (0.25 / cosine2, 0.25 / sine2);
        let shares2 = zip(ahead, turn).map(|(ahead, turn)| level * ahead * ahead + inward * turn * turn);
        let slowness2 = self.slowness.map(|slowness| slowness * slowness);
        by_tolerance.min(by_legs) / libm::sqrt(greatest(slowness2, shares2))
    }
}

/// Pairs by axis.
pub(super) fn zip([x, y, z]: [f64; 3], [to_x, to_y, to_z]: [f64; 3]) -> [(f64, f64); 3] {
    [(x, to_x), (y, to_y), (z, to_z)]
}

/// Greatest product of one axis.
fn greatest([x, y, z]: [f64; 3], [of_x, of_y, of_z]: [f64; 3]) -> f64 {
    (x * of_x).max(y * of_y).max(z * of_z)
}

/// What the plan assumes, for reports: `acceleration X 1 Y 1 Z 1 m/s2, corners within 0.01 mm (house value), ...`.
impl Limits {
    /// What a report prints of them, in the program's units.
    #[must_use]
    pub fn words(&self, units: UnitSystem) -> String {
        let (scale, unit) = match units {
            UnitSystem::Metric => (1000.0, "m"),
            UnitSystem::Inch => (25.4, "in"),
        };
        let decimals = if units == UnitSystem::Metric { 3 } else { 1 };
        let [x, y, z] = self.acceleration.map(|value| trimmed(value / scale, decimals));
        let mut parts = vec![format!("acceleration X {x} Y {y} Z {z} {unit}/s2")];
        for (axis, softness) in ["X", "Y", "Z"].iter().zip(self.softness).filter(|(_, softness)| *softness > 0.0) {
            parts.push(format!("jerk {axis} {} {unit}/s3", trimmed(1.0 / softness / scale, decimals)));
        }
        parts.push(match self.corner {
            Some(CornerMode::ExactStop) => "stop at every corner".to_owned(),
            Some(CornerMode::Blend(tolerance)) => format!("corners within {}", units.length(tolerance)),
            None => format!("corners within {} (house value)", units.length(Millimetres(HOUSE_TOLERANCE))),
        });
        let house = if self.look_ahead.is_none() { " (house value)" } else { "" };
        parts.push(format!("{} blocks looked ahead{house}", self.look_ahead()));
        if self.block_time > 0.0 {
            parts.push(format!("{} ms a block", trimmed(1000.0 * self.block_time, 3)));
        }
        parts.join(", ")
    }
}
