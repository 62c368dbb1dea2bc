//! How far the run reaches along each axis, and how far its work offset may move before the machine's travel ends.

use crate::job::Machine;
use crate::motion::{Arc, Step, StepKind};
use crate::units::{Millimetres, UnitSystem};
use std::f64::consts::FRAC_PI_2;

/// Least and most program coordinate the controlled point reaches along X, Y and Z, mm; `None` for an axis never known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Travel {
    /// X, Y and Z.
    pub reach: [Option<(f64, f64)>; 3],
}

impl Travel {
    /// Takes the end of a step, and what an arc bulges beyond it. Homes stand where the machine is, not where the work
    /// offset is, so they do not count.
    pub(in crate::operation) fn take(&mut self, step: &Step<'_>, machine: Option<&Machine>) {
        match step.kind {
            StepKind::Rapid => {
                let home = machine.map_or([None; 3], |machine| machine.home);
                for axis in 0..3 {
                    let at = step.to.axis(axis).filter(|at| home.get(axis) != Some(&Some(Millimetres(*at))));
                    self.reach(axis, at);
                }
            }
            StepKind::Line => (0..3).for_each(|axis| self.reach(axis, step.to.axis(axis))),
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => {
                (0..3).for_each(|axis| self.reach(axis, step.to.axis(axis)));
                if step.from.point().is_some() {
                    self.bulge(&arc, matches!(step.kind, StepKind::ArcCw(_)), step.from.xyz);
                }
            }
            StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => {}
        }
    }

    /// Takes one coordinate.
    pub(in crate::operation) fn reach(&mut self, axis: usize, at: Option<f64>) {
        let (Some(at), Some(slot)) = (at.filter(|at| at.is_finite()), self.reach.get_mut(axis)) else { return };
        if slot.is_some_and(|(least, most)| least <= at && at <= most) {
            return;
        }
        *slot = Some(slot.map_or((at, at), |(least, most)| (least.min(at), most.max(at))));
    }

    /// Takes the points of an arc farthest along its plane's axes.
    fn bulge(&mut self, arc: &Arc, clockwise: bool, from: [f64; 3]) {
        let (first, second, _) = arc.plane.axes();
        let component = |point: [f64; 3], axis: usize| point.get(axis).copied().unwrap_or(0.0);
        let centre = [first, second].map(|axis| component(arc.centre, axis));
        let inside = |axis: usize, middle: f64| {
            let span = self.reach.get(axis).copied().flatten();
            span.is_some_and(|(least, most)| middle - arc.radius >= least && middle + arc.radius <= most)
        };
        let [cx, cy] = centre;
        if inside(first, cx) && inside(second, cy) {
            return;
        }
        let start = libm::atan2(component(from, second) - cy, component(from, first) - cx);
        for (quarter, axis, at) in [
            (0.0, first, cx + arc.radius),
            (1.0, second, cy + arc.radius),
            (2.0, first, cx - arc.radius),
            (3.0, second, cy - arc.radius),
        ] {
            let ahead = quarter * FRAC_PI_2 - start;
            let turn = 4.0 * FRAC_PI_2;
            let ahead = if clockwise { -ahead } else { ahead };
            if ahead - turn * libm::floor(ahead / turn) <= arc.sweep {
                self.reach(axis, Some(at));
            }
        }
    }

    /// How far the work offset may move along each axis, least and most, mm, so that the run stays in the machine's
    /// travel; least above most when the run is longer than the travel. `None` where reach or travel is not known.
    #[must_use]
    pub fn room(&self, machine: &Machine) -> [Option<(Millimetres, Millimetres)>; 3] {
        let mut room = [None; 3];
        for ((slot, reach), travel) in room.iter_mut().zip(self.reach).zip(machine.travel) {
            *slot = reach
                .zip(travel)
                .map(|((low, high), (least, most))| (least - Millimetres(low), most - Millimetres(high)));
        }
        room
    }

    /// The room in words, such as `X -120 mm to 80 mm, Z offset and tool length together 0 mm to 35 mm`; `None` when it is
    /// known for no axis. Z is that of the tip, so the machine's own stands higher by the tool's length.
    #[must_use]
    pub fn offset_range(&self, machine: &Machine, units: UnitSystem) -> Option<String> {
        let axes = ["X", "Y", "Z offset and tool length together"].into_iter().zip(self.room(machine));
        let ranges: Vec<String> = axes
            .filter_map(|(letter, room)| {
                let (least, most) = room?;
                Some(if least <= most {
                    format!("{letter} {} to {}", units.length(least), units.length(most))
                } else {
                    format!("{letter} none, the run is {} too long", units.length(least - most))
                })
            })
            .collect();
        (!ranges.is_empty()).then(|| ranges.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::Plane;

    #[test]
    fn an_arc_reaches_as_far_as_it_bulges() {
        let mut travel = Travel { reach: [Some((0.0, 10.0)), Some((0.0, 0.0)), None] };
        let arc = Arc { plane: Plane::Xy, centre: [5.0, 0.0, 0.0], radius: 5.0, sweep: std::f64::consts::PI };
        travel.bulge(&arc, true, [0.0, 0.0, 0.0]);
        assert_eq!(travel.reach, [Some((0.0, 10.0)), Some((0.0, 5.0)), None]);
        travel.bulge(&arc, false, [0.0, 0.0, 0.0]);
        assert_eq!(travel.reach, [Some((0.0, 10.0)), Some((-5.0, 5.0)), None]);
    }

    #[test]
    fn the_offset_may_move_as_far_as_travel_is_left() {
        let travel = Travel { reach: [Some((-20.0, 300.0)), Some((0.0, 900.0)), None] };
        let x = (Millimetres(-100.0), Millimetres(400.0));
        let y = (Millimetres(0.0), Millimetres(800.0));
        let machine = Machine { travel: [Some(x), Some(y), Some(x)], ..Machine::default() };
        assert_eq!(
            travel.room(&machine),
            [Some((Millimetres(-80.0), Millimetres(100.0))), Some((Millimetres(0.0), Millimetres(-100.0))), None]
        );
        let text = travel.offset_range(&machine, UnitSystem::Metric).unwrap();
        assert_eq!(text, "X -80 mm to 100 mm, Y none, the run is 100 mm too long");
        let travel = Travel { reach: [None, None, Some((-43.8, 50.0))] };
        let text = travel.offset_range(&machine, UnitSystem::Metric).unwrap();
        assert_eq!(text, "Z offset and tool length together -56.2 mm to 350 mm");
    }
}
