//! Shape of a segment as a speed plan needs it: how long, which way at its ends, how curved.

use super::Segment;
use super::limits::PLAUSIBLE;
use crate::motion::{Arc, StepKind};

/// A direction of unit length.
pub(super) type Direction = [f64; 3];

/// Shape of one segment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Course {
    /// Length, mm.
    pub length: f64,
    /// Direction at the start.
    pub start: Direction,
    /// Direction at the end.
    pub end: Direction,
    /// Greatest share of the speed that each axis takes on the way.
    pub shares: [f64; 3],
    /// Radius of the path's curvature, mm; infinite when straight.
    pub curvature: f64,
    /// Axes an arc turns through.
    pub turning: [bool; 3],
}

/// What the next segment needs to know of the one before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct End {
    /// Length, mm.
    pub length: f64,
    /// Direction at the end.
    pub direction: Direction,
}

impl Course {
    /// Shape of `segment`; `None` when a number in it is none, or when it does not move.
    pub fn of(segment: &Segment) -> Option<Self> {
        let course = match segment.kind {
            StepKind::Rapid | StepKind::Line => Self::line(segment.from, segment.to),
            StepKind::ArcCw(arc) => Self::arc(segment, &arc, -1.0),
            StepKind::ArcCcw(arc) => Self::arc(segment, &arc, 1.0),
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => None,
        };
        course.filter(|course| PLAUSIBLE.contains(&course.length) && course.curvature > 0.0)
    }

    fn line([x, y, z]: [f64; 3], [to_x, to_y, to_z]: [f64; 3]) -> Option<Self> {
        let way = [to_x - x, to_y - y, to_z - z];
        let length = norm(way);
        if length.is_nan() || length <= 0.0 {
            return None;
        }
        let along = way.map(|part| part / length);
        let shares = along.map(f64::abs);
        Some(Self { length, start: along, end: along, shares, curvature: f64::INFINITY, turning: [false; 3] })
    }

    fn arc(segment: &Segment, arc: &Arc, sense: f64) -> Option<Self> {
        let (first, second, normal) = arc.plane.axes();
        let part = |point: [f64; 3], axis: usize| point.get(axis).copied().unwrap_or(0.0);
        let (round, rise) = (arc.radius * arc.sweep, part(segment.to, normal) - part(segment.from, normal));
        let length = libm::sqrt(round * round + rise * rise);
        if round.is_nan() || round <= 0.0 {
            return Self::line(segment.from, segment.to);
        }
        let (flat, steep) = (round / length, rise / length);
        let tangent = |point: [f64; 3]| {
            let (a, b) = (part(point, first) - part(arc.centre, first), part(point, second) - part(arc.centre, second));
            let turn = sense * flat / libm::sqrt(a * a + b * b).max(f64::MIN_POSITIVE);
            spread(arc, [-b * turn, a * turn, steep])
        };
        Some(Self {
            length,
            start: tangent(segment.from),
            end: tangent(segment.to),
            shares: spread(arc, [flat, flat, steep.abs()]),
            // A helix is less curved than its circle: by the square of the flat share.
            curvature: arc.radius / (flat * flat),
            turning: spread(arc, [true, true, false]),
        })
    }
}

/// Puts values for the first, second and normal axis of an arc's plane in the order X, Y, Z.
fn spread<T: Copy>(arc: &Arc, [first, second, normal]: [T; 3]) -> [T; 3] {
    let (one, two, _) = arc.plane.axes();
    [0, 1, 2].map(|axis| match axis {
        _ if axis == one => first,
        _ if axis == two => second,
        _ => normal,
    })
}

/// Length of a vector.
pub(super) fn norm(vector: [f64; 3]) -> f64 {
    libm::sqrt(square(vector))
}

/// Its square.
pub(super) fn square([x, y, z]: [f64; 3]) -> f64 {
    x * x + y * y + z * z
}
