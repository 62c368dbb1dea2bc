//! Closed forms of single moves and chains.

use super::*;
use crate::job::{CornerMode, Machine, RapidStyle};
use crate::motion::{Arc, Plane};
use crate::units::{Millimetres, MmPerMin, Seconds, UnitSystem};
use std::f64::consts::{FRAC_PI_2, PI};

fn machine() -> Machine {
    Machine {
        acceleration: [Some(1.0); 3],
        rapid: [Some(MmPerMin(12_000.0)); 3],
        corner: Some(CornerMode::Blend(Millimetres(0.01))),
        ..Machine::default()
    }
}

fn segment(kind: StepKind, from: [f64; 3], to: [f64; 3], feed: f64) -> Segment {
    let feed = Some(feed).filter(|_| kind != StepKind::Rapid);
    Segment { kind, from, to, feed, exact_stop: false, block: BlockRef::default() }
}

/// Lines through `points` at one feed.
fn lines(points: &[[f64; 3]], feed: f64, exact_stop: bool) -> Vec<Segment> {
    let pair = |(from, to): (&[f64; 3], &[f64; 3])| Segment { exact_stop, ..segment(StepKind::Line, *from, *to, feed) };
    points.iter().zip(points.iter().skip(1)).map(pair).collect()
}

fn plan(machine: &Machine, segments: &[Segment]) -> Vec<Planned> {
    let mut planner = Planner::new(Limits::of(machine).unwrap());
    let mut plans = Vec::new();
    let mut emit = |_: &Segment, planned: &Planned| plans.push(*planned);
    for segment in segments {
        planner.push(*segment, &mut emit);
    }
    planner.flush(&mut emit);
    plans
}

fn one(machine: &Machine, segment: Segment) -> Planned {
    let plans = plan(machine, &[segment]);
    assert_eq!(plans.len(), 1);
    plans[0]
}

#[track_caller]
fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{value} is not {expected}");
}

fn along_x(length: f64) -> Segment {
    segment(StepKind::Line, [0.0; 3], [length, 0.0, 0.0], 2400.0)
}

#[test]
fn short_exact_stop_segments_turn_back_at_the_root_of_a_l() {
    let stops = |step: f64| {
        let points: Vec<_> = (0..5).map(|i| [f64::from(i) * step, 0.0, 0.0]).collect();
        plan(&machine(), &lines(&points, 2400.0, true))
    };
    for (step, reached) in [(0.25, 948.683_298_050_513_8), (0.5, 1_341.640_786_499_874)] {
        for planned in stops(step) {
            near(planned.peak, reached);
            near(planned.seconds, 2.0 * libm::sqrt(step / 1000.0));
            assert_eq!(planned.cause, Cause::ExactStop);
        }
    }
}

#[test]
fn from_rest_f2400_takes_eight_tenths_of_a_millimetre() {
    let planned = one(&machine(), along_x(1.6));
    near(planned.peak, 2400.0);
    assert_eq!(planned.cause, Cause::Commanded);
    let short = one(&machine(), along_x(1.59));
    assert!(short.peak < 2400.0 && short.cause == Cause::Length, "{short:?}");
    near(one(&machine(), along_x(41.6)).seconds, 1.08);
}

#[test]
fn a_five_millimetre_arc_at_1_m_s2_allows_4243() {
    let arc = Arc { plane: Plane::Xy, centre: [0.0; 3], radius: 5.0, sweep: PI };
    let half = segment(StepKind::ArcCcw(arc), [5.0, 0.0, 0.0], [-5.0, 0.0, 0.0], 9000.0);
    let planned = one(&machine(), half);
    near(planned.peak, 60.0 * libm::sqrt(1000.0 * 5.0));
    assert_eq!((planned.peak.round(), planned.cause), (4243.0, Cause::Arc));
    // The slower axis of the plane decides; an axis outside it does not.
    let slow = Machine { acceleration: [Some(1.0), Some(0.5), Some(0.1)], ..machine() };
    near(one(&slow, half).peak, 60.0 * libm::sqrt(500.0 * 5.0));
}

#[test]
fn a_line_runs_into_an_arc_without_slowing() {
    let arc = Arc { plane: Plane::Xy, centre: [50.0, 10.0, 0.0], radius: 10.0, sweep: FRAC_PI_2 };
    let path = [
        segment(StepKind::Line, [0.0; 3], [50.0, 0.0, 0.0], 2400.0),
        segment(StepKind::ArcCcw(arc), [50.0, 0.0, 0.0], [60.0, 10.0, 0.0], 2400.0),
        segment(StepKind::Line, [60.0, 10.0, 0.0], [60.0, 60.0, 0.0], 2400.0),
    ];
    let plans = plan(&machine(), &path);
    let time: f64 = plans.iter().map(|planned| planned.seconds).sum();
    near(time, (100.0 + 5.0 * PI) / 40.0 + 0.04);
    near(plans[1].mean, 2400.0);
}

#[test]
fn a_square_corner_is_rounded_within_the_tolerance() {
    let path = lines(&[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 100.0, 0.0]], 6000.0, false);
    let [first, second] = plan(&machine(), &path)[..] else { panic!("two plans expected") };
    // Radius e cos 45 / (1 - cos 45) = 0.0241 mm, so 4.913 mm/s at 1 m/s2.
    let corner = libm::sqrt(1000.0 * 0.01 * 0.5_f64.sqrt() / (1.0 - 0.5_f64.sqrt()));
    let time = 0.1 + (100.0 - corner) / 1000.0 + (100.0 - 5.0 - (10_000.0 - corner * corner) / 2000.0) / 100.0;
    near(first.seconds, time);
    near(second.seconds, time);
    assert_eq!((first.peak, first.cause), (6000.0, Cause::Commanded));
}

#[test]
fn a_reversal_stops() {
    let there = lines(&[[0.0; 3], [1.0, 0.0, 0.0], [0.0; 3]], 2400.0, false);
    for planned in plan(&machine(), &there) {
        near(planned.peak, 60.0 * libm::sqrt(1000.0));
    }
}

#[test]
fn chords_of_a_circle_go_as_fast_as_the_circle() {
    let chords: Vec<_> = (0..=400).map(|i| f64::from(i) * 0.01).map(|t| [5.0 * t.cos(), 5.0 * t.sin(), 0.0]).collect();
    let far = Machine { look_ahead: Some(1000), ..machine() };
    let plans = plan(&far, &lines(&chords, 9000.0, false));
    let middle = plans[200];
    assert!((middle.peak - 4243.0).abs() < 43.0, "{middle:?}");
    assert_eq!(middle.cause, Cause::Corner);
}

#[test]
fn short_sight_must_stop_within_it() {
    let points: Vec<_> = (0..=2000).map(|i| [f64::from(i) * 0.1, 0.0, 0.0]).collect();
    let seen = |blocks: u32| {
        let machine = Machine { look_ahead: Some(blocks), ..machine() };
        plan(&machine, &lines(&points, 9000.0, false))[1000]
    };
    // At rest at the end of the tenth block, a millimetre off.
    let ten = seen(10);
    assert_eq!(ten.cause, Cause::LookAhead);
    assert!((ten.peak - 60.0 * libm::sqrt(2000.0)).abs() < 150.0, "{ten:?}");
    near(seen(1).peak, 600.0);
    assert_eq!((seen(1000).peak, seen(1000).cause), (9000.0, Cause::Commanded));
}

#[test]
fn one_block_of_sight_is_an_exact_stop() {
    let points: Vec<_> = (0..=9).map(|i| [f64::from(i * i) * 0.1, f64::from(i), 0.0]).collect();
    let blind = plan(&Machine { look_ahead: Some(1), ..machine() }, &lines(&points, 2400.0, false));
    let stops = plan(&machine(), &lines(&points, 2400.0, true));
    let corner = plan(&Machine { corner: Some(CornerMode::ExactStop), ..machine() }, &lines(&points, 2400.0, false));
    let profile = |plans: &[Planned]| plans.iter().map(|planned| (planned.seconds, planned.peak)).collect::<Vec<_>>();
    assert_eq!(profile(&blind), profile(&stops));
    assert_eq!(corner, stops);
}

#[test]
fn a_block_takes_the_control_its_time() {
    let slow = Machine { block_time: Some(Seconds(0.01)), look_ahead: Some(1000), ..machine() };
    let points: Vec<_> = (0..=1000).map(|i| [f64::from(i) * 0.1, 0.0, 0.0]).collect();
    let planned = plan(&slow, &lines(&points, 2400.0, false))[500];
    assert_eq!((planned.peak.round(), planned.cause), (600.0, Cause::BlockTime));
    assert!(planned.seconds >= 0.01);
}

#[test]
fn an_axis_at_its_greatest_rate_holds_the_path_back() {
    let slow = Machine { rapid: [Some(MmPerMin(6000.0)), Some(MmPerMin(1200.0)), None], ..machine() };
    let planned = one(&slow, segment(StepKind::Line, [0.0; 3], [300.0, 400.0, 0.0], 2400.0));
    near(planned.peak, 1500.0);
    assert_eq!(planned.cause, Cause::AxisRate);
}

#[test]
fn rapids_run_straight_or_each_axis_by_itself() {
    let hop = segment(StepKind::Rapid, [0.0; 3], [300.0, 400.0, 0.0], 0.0);
    // Along 3-4-5 the Y axis takes 0.8 of the path: 250 mm/s and 1250 mm/s2.
    near(one(&machine(), hop).seconds, 2.0 + 0.2);
    let dog_leg = Machine { rapid_style: Some(RapidStyle::AxisByAxis), ..machine() };
    near(one(&dog_leg, hop).seconds, 2.0 + 0.2);
    let slow_x = Machine { rapid: [Some(MmPerMin(3000.0)), Some(MmPerMin(12_000.0)), None], ..dog_leg };
    near(one(&slow_x, hop).seconds, 6.0 + 0.05);
    let no_rate = Machine { rapid: [None; 3], ..machine() };
    assert_eq!(plan(&no_rate, &[hop]), []);
}

#[test]
fn a_jerk_bound_lengthens_every_ramp() {
    let soft = Machine { jerk: [Some(10.0); 3], ..machine() };
    // 0.25 mm turns back before its acceleration is full: v^3 = L^2 j / 4.
    let short = one(&soft, along_x(0.25));
    let speed = libm::cbrt(0.25 * 0.0625 * 10_000.0);
    near(short.peak, 60.0 * speed);
    near(short.seconds, 4.0 * libm::sqrt(speed / 10_000.0));
    // A speed of 200 mm/s takes v/a + a/j = 0.3 s.
    let long = one(&soft, segment(StepKind::Line, [0.0; 3], [1000.0, 0.0, 0.0], 12_000.0));
    near(long.seconds, 5.0 + 0.3);
}

#[test]
fn what_cannot_be_planned_is_left_out_and_stopped_at() {
    let lone = |points: &[[f64; 3]]| lines(points, 2400.0, false);
    let mut path = lone(&[[0.0; 3], [10.0, 0.0, 0.0], [f64::NAN, 0.0, 0.0], [20.0, 0.0, 0.0]]);
    path.extend(lone(&[[20.0, 0.0, 0.0], [20.0, 0.0, 0.0], [30.0, 0.0, 0.0]]));
    path.extend([0.0, -5.0, f64::NAN, f64::INFINITY].map(|feed| Segment { feed: Some(feed), ..along_x(5.0) }));
    let plans = plan(&machine(), &path);
    assert_eq!(plans.len(), 2);
    for planned in plans {
        near(planned.seconds, 10.0 / 40.0 + 0.04);
    }
}

#[test]
fn limits_need_an_acceleration_of_every_axis() {
    assert_eq!(Limits::of(&Machine::default()), None);
    for wrong in [0.0, -1.0, f64::NAN] {
        assert_eq!(Limits::of(&Machine { acceleration: [Some(1.0), Some(wrong), Some(1.0)], ..machine() }), None);
    }
    assert_eq!(Limits::of(&Machine { acceleration: [Some(1.0), None, Some(1.0)], ..machine() }), None);
}

#[test]
fn limits_say_what_is_assumed() {
    let stated = Limits::of(&Machine { look_ahead: Some(50), block_time: Some(Seconds(0.002)), ..machine() });
    let text = "acceleration X 1 Y 1 Z 1 m/s2, corners within 0.01 mm, 50 blocks looked ahead, 2 ms a block";
    assert_eq!(stated.as_ref().unwrap().words(UnitSystem::Metric), text);
    let inch =
        "acceleration X 39.4 Y 39.4 Z 39.4 in/s2, corners within 0.0004 in, 50 blocks looked ahead, 2 ms a block";
    assert_eq!(stated.unwrap().words(UnitSystem::Inch), inch);
    let house = Limits::of(&Machine { corner: None, ..machine() }).unwrap().words(UnitSystem::Metric);
    assert!(house.contains("corners within 0.01 mm (house value), 100 blocks looked ahead (house value)"), "{house}");
}
