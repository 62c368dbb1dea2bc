//! Whether any zone of the fixture lies near: most moves and holes are far from all of them.

use crate::job::Job;

/// A place and how far around it no zone stands, position tolerance counted.
pub(super) struct Nearness {
    middle: [f64; 2],
    /// Distance, mm; below zero before the first look.
    room: f64,
}

impl Nearness {
    pub fn new() -> Self {
        Self { middle: [0.0; 2], room: -1.0 }
    }

    /// Whether a tool of `radius` may reach a zone on its way between two places, however its axes run: it stays in the
    /// box of its ends. A place that is none may be anywhere.
    pub fn may_reach(&mut self, job: Option<&Job>, from: [f64; 2], to: [f64; 2], radius: f64) -> bool {
        let way = (to[0] - from[0]).abs() + (to[1] - from[1]).abs() + radius;
        let (x, y) = (from[0] - self.middle[0], from[1] - self.middle[1]);
        if libm::sqrt(x * x + y * y) + way <= self.room {
            return false;
        }
        let zones = job.map(|job| job.fixture.zones.as_slice()).unwrap_or_default();
        let rooms = zones.iter().map(|zone| zone.clearance_to(from, from) - zone.tolerance.0);
        *self = Self { middle: from, room: rooms.fold(f64::INFINITY, f64::min) };
        // A place that is no number compares as nothing.
        let clear = way <= self.room;
        !clear
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Zone, ZoneKind, ZoneShape};
    use crate::units::Millimetres;

    fn with_post() -> Job {
        let shape = ZoneShape::Cylinder { at: (Millimetres(0.0), Millimetres(0.0)), diameter: Millimetres(10.0) };
        let (id, kind) = ("P1".to_owned(), ZoneKind::Post);
        let mut job = Job::default();
        job.fixture.zones.push(Zone { id, kind, shape, z: (None, None), tolerance: Millimetres(1.0) });
        job
    }

    #[test]
    fn a_tool_near_a_zone_is_never_passed_over() {
        let (job, mut near) = (with_post(), Nearness::new());
        for (from, to, reaches) in [
            ([100.0, 0.0], [100.0, 0.0], false),
            ([90.0, 0.0], [80.0, 0.0], false),
            ([20.0, 0.0], [8.5, 0.0], true),
            ([20.0, 0.0], [20.0, 0.0], false),
            ([8.9, 0.0], [8.9, 0.0], true),
            ([9.1, 0.0], [9.1, 0.0], false),
            ([f64::NAN, 0.0], [9.1, 0.0], true),
        ] {
            assert_eq!(near.may_reach(Some(&job), from, to, 3.0), reaches, "{from:?} to {to:?}");
        }
    }

    #[test]
    fn without_zones_nothing_is_near() {
        assert!(!Nearness::new().may_reach(None, [0.0; 2], [1e6; 2], 6.0));
    }
}
