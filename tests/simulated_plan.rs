//! The speed plan against a tool that is moved forward in tiny steps of time, on random paths.

use lastply::job::{CornerMode, Limit, Machine, RapidStyle};
use lastply::motion::{Arc, BlockRef, Limits, Plane, Planned, Planner, Segment, StepKind};
use lastply::units::{Millimetres, MmPerMin, Seconds};
use proptest::collection::vec;
use proptest::prelude::*;

/// Step of the simulation, s.
const TICK: f64 = 2e-5;

type Point = [f64; 3];

/// A random machine and path. Accelerations in m/s2, tolerance in mm, feeds in mm/min.
#[derive(Clone, Debug)]
struct Case {
    acceleration: [f64; 3],
    tolerance: f64,
    look_ahead: u32,
    points: Vec<Point>,
    feeds: Vec<f64>,
    stops: Vec<bool>,
}

fn cases() -> impl Strategy<Value = Case> {
    let side = || -1.0..1.0;
    let step = ((side(), side(), side()).prop_map(|(x, y, z)| [x, y, z]), 0.1..4.0);
    let axis = || 0.3..4.0;
    (
        (axis(), axis(), axis()).prop_map(|(x, y, z)| [x, y, z]),
        prop_oneof![Just(0.0), 0.001..0.5],
        1_u32..8,
        (vec(step, 1..9), prop_oneof![Just(0.01), Just(0.2), Just(3.0)]).prop_map(|(steps, bend)| path(&steps, bend)),
        vec(800.0..9000.0, 8),
        vec(prop::bool::weighted(0.15), 8),
    )
        .prop_map(|(acceleration, tolerance, look_ahead, points, feeds, stops)| Case {
            acceleration,
            tolerance,
            look_ahead,
            points,
            feeds,
            stops,
        })
}

/// Steps of those lengths that stray from one direction the more the path bends.
fn path(steps: &[(Point, f64)], bend: f64) -> Vec<Point> {
    let along = [0.8, 0.5, -0.3];
    let mut points = vec![[0.0; 3]];
    for (stray, size) in steps {
        let [x, y, z] = *points.last().unwrap();
        let [dx, dy, dz] = [0, 1, 2].map(|axis| size * (along[axis] + bend * stray[axis]));
        points.push([x + dx, y + dy, z + dz]);
    }
    points
}

impl Case {
    fn segments(&self) -> Vec<Segment> {
        let ends = self.points.iter().zip(self.points.iter().skip(1));
        ends.zip(self.feeds.iter().zip(&self.stops))
            .filter(|((from, to), _)| length(**from, **to) > 0.05)
            .scan(None, |last: &mut Option<Point>, ((from, to), (feed, stop))| {
                // A segment left out must not leave a gap.
                let from = last.replace(*to).unwrap_or(*from);
                let block = BlockRef::default();
                Some(Segment { kind: StepKind::Line, from, to: *to, feed: Some(*feed), exact_stop: *stop, block })
            })
            .collect()
    }

    fn plan(&self) -> Vec<Planned> {
        let machine = Machine {
            acceleration: self.acceleration.map(Some),
            rapid: [Some(MmPerMin(60_000.0)); 3],
            corner: Some(CornerMode::Blend(Millimetres(self.tolerance))),
            look_ahead: Some(self.look_ahead),
            ..Machine::default()
        };
        let mut planner = Planner::new(Limits::of(&machine).unwrap());
        let mut plans = Vec::new();
        let mut emit = |_: &Segment, planned: &Planned| plans.push(*planned);
        for segment in self.segments() {
            planner.push(segment, &mut emit);
        }
        planner.flush(&mut emit);
        plans
    }

    /// Acceleration along a unit vector, mm/s2.
    fn along(&self, direction: Point) -> f64 {
        let axes = self.acceleration.iter().zip(direction).filter(|(_, part)| *part != 0.0);
        axes.map(|(axis, part)| 1000.0 * axis / part.abs()).fold(f64::INFINITY, f64::min)
    }

    /// Greatest speed round the corner of two segments, worked out from its angle, and from a walk round its arc.
    fn corner(&self, one: &Segment, other: &Segment) -> f64 {
        let (u, w) = (direction(one), direction(other));
        let half = 0.5 * dot(u, w).clamp(-1.0, 1.0).acos();
        if half < 1e-6 {
            return f64::INFINITY;
        }
        let by_tolerance = self.tolerance * half.cos() / (1.0 - half.cos());
        let legs = length(one.from, one.to).min(length(other.from, other.to));
        let radius = by_tolerance.min(0.5 * legs / half.tan());
        // The acceleration points inwards, in all directions of the corner's plane at worst.
        let across = [0, 1, 2].map(|axis| w[axis] - u[axis] * dot(u, w));
        let size = dot(across, across).sqrt();
        let inward = (0..720).map(|step| {
            let (sine, cosine) = (f64::from(step) * std::f64::consts::PI / 720.0).sin_cos();
            self.along([0, 1, 2].map(|axis| u[axis] * cosine + across[axis] / size * sine))
        });
        (inward.fold(f64::INFINITY, f64::min) * radius).sqrt()
    }

    /// Time and top speed (mm/s) of each segment when the tool always goes as fast as what it sees lets it.
    fn simulate(&self) -> Vec<(f64, f64)> {
        let segments = self.segments();
        let top: Vec<f64> = segments.iter().map(|segment| segment.feed.unwrap() / 60.0).collect();
        let acceleration: Vec<f64> = segments.iter().map(|segment| self.along(direction(segment))).collect();
        let lengths: Vec<f64> = segments.iter().map(|segment| length(segment.from, segment.to)).collect();
        let end = |i: usize| match segments.get(i + 1) {
            Some(next) if !segments[i].exact_stop => self.corner(&segments[i], next).min(top[i]).min(top[i + 1]),
            _ => 0.0,
        };
        let ends: Vec<f64> = (0..segments.len()).map(end).collect();
        let mut speed = 0.0_f64;
        let mut runs = Vec::new();
        for i in 0..segments.len() {
            let sight = (i + self.look_ahead as usize).min(segments.len());
            let (mut left, mut time, mut peak) = (lengths[i], 0.0, 0.0_f64);
            while left > 0.0 {
                let (mut braking, mut most) = (2.0 * acceleration[i] * left, top[i] * top[i]);
                for j in i..sight {
                    let there = if j + 1 == sight { 0.0 } else { ends[j] };
                    most = most.min(there * there + braking);
                    braking += lengths.get(j + 1).map_or(0.0, |more| 2.0 * acceleration[j + 1] * more);
                }
                speed = (speed + acceleration[i] * TICK).min(most.sqrt());
                peak = peak.max(speed);
                time += TICK;
                left -= speed.max(1e-3) * TICK;
            }
            runs.push((time, peak));
        }
        runs
    }
}

fn length(from: Point, to: Point) -> f64 {
    let way = [0, 1, 2].map(|axis| to[axis] - from[axis]);
    dot(way, way).sqrt()
}

fn direction(segment: &Segment) -> Point {
    let size = length(segment.from, segment.to);
    [0, 1, 2].map(|axis| (segment.to[axis] - segment.from[axis]) / size)
}

fn dot(one: Point, other: Point) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

fn total(plans: &[Planned]) -> f64 {
    plans.iter().map(|planned| planned.seconds).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    #[test]
    fn the_plan_is_what_a_simulation_gives(case in cases()) {
        let (plans, runs) = (case.plan(), case.simulate());
        prop_assert_eq!(plans.len(), runs.len());
        for (planned, (time, peak)) in plans.iter().zip(runs) {
            let close = |value: f64, other: f64, least: f64| (value - other).abs() <= 0.01 * other + least;
            prop_assert!(close(planned.seconds, time, 4e-4), "{} s, simulated {time} s: {planned:?}", planned.seconds);
            prop_assert!(close(planned.peak / 60.0, peak, 0.3), "{} mm/s, simulated {peak}", planned.peak / 60.0);
        }
    }
}

proptest! {
    #[test]
    fn more_of_anything_is_never_slower(case in cases(), axis in 0_usize..3, by in 1.0..3.0) {
        let slower = total(&case.plan());
        let mut stronger = case.clone();
        stronger.acceleration[axis] *= by;
        let wider = Case { tolerance: case.tolerance * by, ..case.clone() };
        let farther = Case { look_ahead: case.look_ahead + 1, ..case.clone() };
        let unstopped = Case { stops: vec![false; 8], ..case.clone() };
        for faster in [stronger, wider, farther, unstopped] {
            prop_assert!(total(&faster.plan()) <= slower * (1.0 + 1e-9), "{faster:?}");
        }
    }

    #[test]
    fn no_number_makes_a_time_that_is_none(
        numbers in vec(prop_oneof![prop::num::f64::ANY, -1e3..1e3, Just(0.0)], 24),
        pick in vec(0_u8..4, 8),
        stops in vec(any::<bool>(), 8),
    ) {
        let number = |index: usize| numbers[index % numbers.len()];
        let machine = Machine {
            acceleration: [Some(number(0)), Some(number(1).abs()), Some(1.0)],
            jerk: [Some(number(2)), None, Some(number(3))],
            rapid: [Some(MmPerMin(number(4))), Some(MmPerMin(number(5))), None],
            corner: Some(CornerMode::Blend(Millimetres(number(6)))),
            block_time: Some(Seconds(number(7))),
            max_feed: Some(Limit::new(MmPerMin(number(8)), "job file")),
            rapid_style: Some(RapidStyle::AxisByAxis).filter(|_| stops[0]),
            look_ahead: Some(u32::from(pick[0])),
            ..Machine::default()
        };
        let Some(limits) = Limits::of(&machine) else { return Ok(()) };
        let mut planner = Planner::new(limits);
        let mut plans = Vec::new();
        let mut emit = |_: &Segment, planned: &Planned| plans.push(*planned);
        let mut accepted = 0;
        for (index, (pick, exact_stop)) in pick.iter().zip(stops).enumerate() {
            let point = |from: usize| [number(index + from), number(index + from + 1), number(index + from + 2)];
            let arc = Arc { plane: Plane::Zx, centre: point(3), radius: number(index + 5), sweep: number(index + 9) };
            let kinds = [StepKind::Rapid, StepKind::Line, StepKind::ArcCw(arc), StepKind::ArcCcw(arc)];
            let (kind, feed, block) = (kinds[usize::from(*pick)], Some(number(index + 11)), BlockRef::default());
            let segment = Segment { kind, from: point(9), to: point(10), feed, exact_stop, block };
            accepted += usize::from(planner.push(segment, &mut emit));
        }
        planner.flush(&mut emit);
        prop_assert_eq!(plans.len(), accepted);
        for planned in plans {
            prop_assert!(planned.seconds >= 0.0 && planned.peak >= 0.0 && planned.mean >= 0.0, "{planned:?}");
        }
    }

    #[test]
    fn a_plan_keeps_within_the_commanded_feed(case in cases()) {
        for (segment, planned) in case.segments().iter().zip(case.plan()) {
            let feed = segment.feed.unwrap();
            prop_assert!(planned.peak <= feed * (1.0 + 1e-9) && planned.mean <= planned.peak * (1.0 + 1e-9));
            prop_assert!(planned.seconds.is_finite() && planned.seconds > 0.0);
        }
    }
}
