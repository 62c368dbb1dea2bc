//! A step as straight legs: rapids that move axis by axis bend, arcs become chords.

use crate::job::{Machine, RapidStyle};
use crate::motion::Arc;
use std::f64::consts::PI;

/// How far a chord may stray from its arc, mm, on arcs up to 4 m of radius.
pub(super) const CHORD_ERROR: f64 = 0.02;
/// Most chords for half a turn; on larger arcs the error grows with the radius, to 0.05 mm at 10 m.
const MOST_CHORDS: f64 = 1000.0;

/// Way points of a move from one place to another, both ends counted.
pub type Legs = ([[f64; 3]; 4], usize);

/// The way of a rapid. Axis by axis every axis starts at its own rate and stops when it is there; rates that the job
/// leaves out count as equal. A machine whose style is not stated is taken to move in a straight line.
#[must_use]
pub fn rapid_legs(machine: &Machine, from: [f64; 3], to: [f64; 3]) -> Legs {
    match machine.rapid_style {
        Some(RapidStyle::AxisByAxis) => bent(machine, from, to),
        Some(RapidStyle::Interpolated) | None => ([from, to, to, to], 2),
    }
}

/// The way of a rapid whose axes do not wait for each other.
pub(super) fn bent(machine: &Machine, from: [f64; 3], to: [f64; 3]) -> Legs {
    let rates = machine.rapid.map(|rate| rate.map(|rate| rate.0).filter(|rate| *rate > 0.0));
    let known = rates.iter().all(Option::is_some);
    let mut times = [0.0; 3];
    for (((time, rate), from), to) in times.iter_mut().zip(rates).zip(from).zip(to) {
        *time = (to - from).abs() / rate.filter(|_| known).unwrap_or(1.0);
    }
    let mut stops = times;
    stops.sort_by(f64::total_cmp);
    let mut way = ([from; 4], 1_usize);
    for stop in stops {
        let mut at = to;
        for (((at, from), to), time) in at.iter_mut().zip(from).zip(to).zip(times) {
            if time > stop {
                *at = from + (to - from) * stop / time;
            }
        }
        let (points, count) = &mut way;
        let last = points.get(*count - 1).copied();
        if last != Some(at)
            && let Some(slot) = points.get_mut(*count)
        {
            *slot = at;
            *count += 1;
        }
    }
    way
}

/// An arc as chords.
pub(super) struct Chords {
    /// How many; at least one.
    pub count: u32,
    arc: Arc,
    clockwise: bool,
    from: [f64; 3],
    to: [f64; 3],
}

impl Chords {
    /// As many as keep within the error: a chord over the angle a strays by r (1 - cos(a / 2)), plain geometry.
    pub fn of(arc: &Arc, clockwise: bool, from: [f64; 3], to: [f64; 3]) -> Self {
        let angle = 2.0 * libm::acos((1.0 - CHORD_ERROR / arc.radius.max(CHORD_ERROR)).max(0.0));
        let most = libm::ceil(MOST_CHORDS * arc.sweep / PI).clamp(1.0, 10.0 * MOST_CHORDS);
        let count = libm::ceil(arc.sweep / angle).clamp(1.0, most);
        Self { count: if count.is_finite() { count as u32 } else { 1 }, arc: *arc, clockwise, from, to }
    }

    /// End of chord number `chord` from 1.
    pub fn end(&self, chord: u32) -> [f64; 3] {
        if chord >= self.count {
            return self.to;
        }
        let (first, second, normal) = self.arc.plane.axes();
        let component = |point: [f64; 3], axis: usize| point.get(axis).copied().unwrap_or(0.0);
        let [cx, cy] = [first, second].map(|axis| component(self.arc.centre, axis));
        let start = libm::atan2(component(self.from, second) - cy, component(self.from, first) - cx);
        let end_radius = libm::hypot(component(self.to, first) - cx, component(self.to, second) - cy);
        let share = f64::from(chord) / f64::from(self.count);
        let angle = start + if self.clockwise { -share } else { share } * self.arc.sweep;
        let radius = self.arc.radius + (end_radius - self.arc.radius) * share;
        let rise = component(self.to, normal) - component(self.from, normal);
        let mut at = self.from;
        for (axis, value) in [
            (first, cx + radius * libm::cos(angle)),
            (second, cy + radius * libm::sin(angle)),
            (normal, component(self.from, normal) + rise * share),
        ] {
            if let Some(slot) = at.get_mut(axis) {
                *slot = value;
            }
        }
        at
    }
}
