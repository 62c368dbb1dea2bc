//! Uniformly accelerated and circular motion, OpenStax University Physics volume 1: `v^2 = v0^2 + 2 a s` (section 3.4),
//! `a = v^2/r` (section 4.4); figures worked out by hand from them.

use super::agrees;
use lastply::job::{CornerMode, Machine};
use lastply::motion::{
    Arc, BlockRef, Cause, Drive, Limits, Plane, Planned, Planner, Segment, StepKind, trapezoid_time,
};
use lastply::units::{Millimetres, MmPerMin};
use std::f64::consts::PI;

/// 1 m/s2 on every axis.
fn machine() -> Machine {
    Machine {
        acceleration: [Some(1.0); 3],
        rapid: [Some(MmPerMin(30_000.0)); 3],
        corner: Some(CornerMode::Blend(Millimetres(0.02))),
        ..Machine::default()
    }
}

fn plan(machine: &Machine, segments: impl IntoIterator<Item = Segment>) -> Vec<Planned> {
    let mut planner = Planner::new(Limits::of(machine).unwrap());
    let mut plans = Vec::new();
    let mut emit = |_: &Segment, planned: &Planned| plans.push(*planned);
    for segment in segments {
        planner.push(segment, &mut emit);
    }
    planner.flush(&mut emit);
    plans
}

/// So many lines of `step` mm along X at F2400.
fn row(count: u32, step: f64, exact_stop: bool) -> impl Iterator<Item = Segment> {
    let at = move |index: u32| [f64::from(index) * step, 0.0, 0.0];
    (0..count).map(move |index| Segment {
        kind: StepKind::Line,
        from: at(index),
        to: at(index + 1),
        feed: Some(2400.0),
        exact_stop,
        block: BlockRef::default(),
    })
}

/// From rest to rest over `L` the speed turns back at `v = sqrt(a L)`: 949 mm/min over 0.25 mm, 1342 over 0.5 mm.
#[test]
fn exact_stops_hold_short_segments_down() {
    for (step, reached, per_tooth) in [(0.25, 949.0, 0.040), (0.5, 1342.0, 0.056)] {
        let plans = plan(&machine(), row(212, step, true));
        assert_eq!(plans.len(), 212);
        for planned in plans {
            agrees(planned.peak, reached, 0);
            // 12 000 rev/min and two edges.
            agrees(planned.peak / (12_000.0 * 2.0), per_tooth, 3);
            assert_eq!(planned.cause, Cause::ExactStop);
        }
    }
}

/// F2400 is 40 mm/s: `v^2/2a` = 0.8 mm from rest, and as much to rest again.
#[test]
fn it_takes_eight_tenths_of_a_millimetre_to_reach_f2400() {
    let peak = |length: f64| plan(&machine(), row(1, length, false))[0].peak;
    agrees(peak(1.6), 2400.0, 6);
    agrees(peak(1.5), 60.0 * 1500.0_f64.sqrt(), 6);
    // In a chain the first 0.8 mm speed up, whatever the segments are.
    let plans = plan(&machine(), row(100, 0.1, false));
    let reaches: Vec<_> = plans.iter().map(|planned| planned.peak >= 2_399.999_999).collect();
    assert_eq!(reaches.iter().position(|reached| *reached), Some(7));
    assert_eq!(reaches.iter().filter(|reached| **reached).count(), 100 - 7 - 7);
}

/// `v = sqrt(a r)`: 4243 mm/min on a radius of 5 mm, 949 on 0.25 mm.
#[test]
fn arcs_hold_to_what_their_radius_allows() {
    for (radius, reached) in [(5.0, 4243.0), (0.25, 949.0), (60.0, 14_697.0)] {
        let arc = Arc { plane: Plane::Xy, centre: [0.0; 3], radius, sweep: 20.0 * PI };
        let turns = Segment {
            kind: StepKind::ArcCw(arc),
            from: [radius, 0.0, 0.0],
            to: [radius, 0.0, 0.0],
            feed: Some(20_000.0),
            exact_stop: false,
            block: BlockRef::default(),
        };
        let [planned] = plan(&machine(), [turns])[..] else { panic!("one plan expected") };
        agrees(planned.peak, reached, 0);
        assert_eq!(planned.cause, Cause::Arc);
    }
}

/// A trapezoid covers `L` in `L/v + v/a`, a triangle in `2 sqrt(L/a)`.
#[test]
fn strokes_take_the_time_of_a_trapezoid_or_a_triangle() {
    agrees(trapezoid_time(100.0, 40.0, 1000.0), 2.54, 9);
    agrees(trapezoid_time(1.0, 40.0, 1000.0), 0.063_246, 6);
    agrees(trapezoid_time(0.0, 40.0, 1000.0), 0.0, 9);
}

/// With the acceleration rising at `j`, a ramp to `v` takes `v/a + a/j`, or `2 sqrt(v/j)` below `v = a^2/j`: at 1 m/s2
/// and 10 m/s3 a speed of 0.2 m/s takes 0.3 s, one of 0.1 m/s takes 0.2 s either way, one of 0.025 m/s takes 0.1 s.
#[test]
fn jerk_rounds_the_ramps() {
    let drive = Drive { acceleration: 1000.0, jerk: 10_000.0, rate: f64::INFINITY };
    for (speed, time) in [(200.0, 0.3), (100.0, 0.2), (99.999_999, 0.2), (25.0, 0.1)] {
        agrees(drive.ramp(speed), time, 6);
    }
    // Two ramps of v T(v) in all make a stop-to-stop move.
    for speed in [25.0, 100.0, 200.0] {
        let run = drive.stop_to_stop(speed * drive.ramp(speed), 1000.0);
        agrees(run.peak, speed, 6);
        agrees(run.seconds, 2.0 * drive.ramp(speed), 9);
    }
}

/// A hundred thousand tiny segments cost no more each than a few, and come to the time of one line.
#[test]
fn a_hundred_thousand_tiny_segments_are_one_line() {
    let far = Machine { look_ahead: Some(5000), ..machine() };
    let plans = plan(&far, row(100_000, 0.001, false));
    let time: f64 = plans.iter().map(|planned| planned.seconds).sum();
    agrees(time, trapezoid_time(100.0, 40.0, 1000.0), 4);
    assert_eq!(plans.len(), 100_000);
}
