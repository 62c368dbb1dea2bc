//! Engagement against closed forms, in a plate 200 mm square and 6 mm thick, with a tool of 12 mm.

use super::Stock;
use super::front::FILM;
use crate::job::contour::{circle, from_segment, rectangle};
use crate::job::{Head, Job, Laminate, Layer, Vertex, Workpiece};
use crate::operation::Side;
use crate::units::Millimetres;
use proptest::prelude::*;

const RADIUS: f64 = 6.0;
const THROUGH: f64 = -6.0;
const RIGHT: [f64; 2] = [1.0, 0.0];
const UP: [f64; 2] = [0.0, 1.0];

fn plate(outline: Vec<Vertex>, margin: f64, holes: &[([f64; 2], f64)]) -> Stock {
    let ply = Layer { ply: Millimetres(6.0), ..Layer::default() };
    let workpiece =
        Workpiece { outline, raw_margin: Millimetres(margin), holes: holes.to_vec(), ..Workpiece::default() };
    let job = Job {
        head: Head::default(),
        laminate: Some(Laminate { layers: vec![ply], ..Laminate::default() }),
        workpiece: Some(workpiece),
        ..Job::default()
    };
    Stock::of(&job).unwrap()
}

fn square() -> Stock {
    plate(rectangle((0.0, 200.0), (0.0, 200.0), 0.0), 0.0, &[])
}

fn sweep(stock: &mut Stock, at: [f64; 2], heading: [f64; 2]) -> f64 {
    stock.engagement(at, heading, RADIUS, THROUGH).map_or(0.0, |engaged| engaged.sweep)
}

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1.0, "{found} against {wanted} degrees");
}

/// acos(1 - 2 ae/D), the engagement of a side cut of width ae (plane geometry).
fn side_cut(share: f64) -> f64 {
    libm::acos(1.0 - 2.0 * share).to_degrees()
}

#[test]
fn a_slot_takes_half_the_circle() {
    let mut stock = square();
    close(sweep(&mut stock, [100.0, 100.0], RIGHT), 180.0);
    stock.sweep_line([50.0, 100.0], [100.0, 100.0], RADIUS, THROUGH);
    close(sweep(&mut stock, [100.2, 100.0], RIGHT), 180.0);
    let engaged = stock.engagement([101.0, 100.0], RIGHT, RADIUS, THROUGH).unwrap();
    assert_eq!((engaged.side, engaged.top), (None, 0.0));
    close(engaged.start, -90.0);
}

#[test]
fn side_cuts_follow_their_width() {
    for share in [0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 0.9] {
        let width = share * 2.0 * RADIUS;
        // Along the lower edge, the material on the left.
        let mut stock = square();
        let at = [100.0, width - RADIUS];
        let engaged = stock.engagement(at, RIGHT, RADIUS, THROUGH).unwrap();
        close(engaged.sweep, side_cut(share));
        close(engaged.start, 90.0 - side_cut(share));
        assert_eq!(engaged.side, Some(Side::Left));
        close(sweep(&mut stock, at, [-1.0, 0.0]), side_cut(share));
        // The same beside a slot cut before.
        let mut stock = square();
        stock.sweep_line([20.0, 50.0], [180.0, 50.0], RADIUS, THROUGH);
        stock.lift();
        let engaged = stock.engagement([100.0, 50.0 - width], RIGHT, RADIUS, THROUGH).unwrap();
        close(engaged.sweep, side_cut(share));
        assert_eq!(engaged.side, Some(Side::Right));
    }
}

#[test]
fn the_same_way_again_cuts_nothing() {
    let mut stock = square();
    stock.sweep_line([20.0, 50.0], [180.0, 50.0], RADIUS, THROUGH);
    stock.sweep_arc(([180.0, 50.0], [180.0, 90.0]), ([180.0, 70.0], std::f64::consts::PI), RADIUS, THROUGH);
    stock.lift();
    assert_eq!(sweep(&mut stock, [100.0, 50.0], RIGHT), 0.0);
    for degrees in [-60.0_f64, -31.0, 0.0, 17.0, 66.0] {
        let (sin, cos) = (libm::sin(degrees.to_radians()), libm::cos(degrees.to_radians()));
        assert_eq!(sweep(&mut stock, [180.0 + 20.0 * cos, 70.0 + 20.0 * sin], [-sin, cos]), 0.0, "{degrees}");
    }
}

#[test]
fn a_shallow_pass_leaves_what_lies_below() {
    let mut stock = square();
    stock.sweep_line([20.0, 50.0], [180.0, 50.0], RADIUS, -2.0);
    stock.lift();
    assert_eq!(stock.engagement([100.0, 50.0], RIGHT, RADIUS, -2.0), None);
    let engaged = stock.engagement([100.0, 50.0], RIGHT, RADIUS, -4.0).unwrap();
    close(engaged.sweep, 180.0);
    assert_eq!(engaged.top, -2.0);
}

/// A tool of radius r on a circle of radius e in a pilot of radius p: the leading arc outside the pilot begins where the
/// distance of the tool's circle from the middle is p; with the tool at (e, 0) that is cos a = (p^2 - e^2 - r^2) / 2 e r.
#[test]
fn an_orbit_in_a_pilot_meets_the_lens_that_is_left() {
    let (pilot, offset) = (8.0, 5.0);
    let mut stock = plate(rectangle((0.0, 200.0), (0.0, 200.0), 0.0), 0.0, &[([100.0, 100.0], 2.0 * pilot)]);
    let cosine = (pilot * pilot - offset * offset - RADIUS * RADIUS) / (2.0 * offset * RADIUS);
    let engaged = stock.engagement([100.0 + offset, 100.0], UP, RADIUS, THROUGH).unwrap();
    // The heading points up: the outer side lies to the right.
    close(engaged.sweep, libm::acos(cosine).to_degrees());
    close(engaged.start, -90.0);
    assert_eq!(engaged.side, Some(Side::Right));
}

/// A tool that comes to an edge square on meets it over 2 acos(gap / r); leaving, the edge cuts off as much.
#[test]
fn an_edge_square_across_the_way() {
    for gap in [-5.0, -3.0, 0.0, 2.0, 5.5] {
        let mut stock = square();
        let wanted = 2.0 * libm::acos(f64::max(gap, 0.0) / RADIUS).to_degrees();
        close(sweep(&mut stock, [-gap, 100.0], RIGHT), wanted);
        if gap >= 0.0 {
            close(sweep(&mut stock, [200.0 - gap, 100.0], RIGHT), 180.0 - wanted);
        }
    }
}

/// Turning left by 90 degrees at the end of a slot: after the way d the near side has been cut up to the old slot's far
/// wall, r ahead of the old way's middle, so the left quarter is free below asin((r - d) / r) above square.
#[test]
fn turning_a_corner_in_a_slot() {
    for way in [0.5, 2.0, 4.0, 5.9] {
        let mut stock = square();
        stock.sweep_line([40.0, 100.0], [100.0, 100.0], RADIUS, THROUGH);
        let free = 90.0 - libm::acos((RADIUS - way) / RADIUS).to_degrees();
        close(sweep(&mut stock, [100.0, 100.0 + way], UP), 180.0 - free);
        stock.sweep_line([100.0, 100.0], [100.0, 100.0 + way], RADIUS, THROUGH);
        let free = 90.0 - libm::acos((RADIUS - way - 0.1).max(0.0) / RADIUS).to_degrees();
        close(sweep(&mut stock, [100.0, 100.1 + way], UP), 180.0 - free);
    }
}

/// A round panel of radius R, the tool outside it so that it cuts a ring of width ae: by the law of cosines the wall is
/// met from cos a = (R^2 - d^2 - r^2) / 2 d r on, with d = R + r - ae.
#[test]
fn round_the_outside_of_a_disc() {
    let mut stock = plate(circle([0.0, 0.0], 50.0), 0.0, &[]);
    for width in [0.3_f64, 1.0, 3.0, 6.0] {
        let about = 50.0 + RADIUS - width;
        let cosine = (50.0 * 50.0 - about * about - RADIUS * RADIUS) / (2.0 * about * RADIUS);
        close(sweep(&mut stock, [about, 0.0], UP), 180.0 - libm::acos(cosine).to_degrees());
    }
}

#[test]
fn a_raw_margin_is_material_too() {
    let mut stock = plate(rectangle((0.0, 100.0), (0.0, 100.0), 10.0), 25.0, &[]);
    close(sweep(&mut stock, [50.0, -RADIUS], RIGHT), 180.0);
    close(sweep(&mut stock, [50.0, -25.0], RIGHT), 90.0);
    assert_eq!(sweep(&mut stock, [50.0, -31.1], RIGHT), 0.0);
    // The corner of the margin is rounded with 10 + 25.
    let diagonal = (35.0 + RADIUS) / std::f64::consts::SQRT_2;
    let way = [std::f64::consts::FRAC_1_SQRT_2, -std::f64::consts::FRAC_1_SQRT_2];
    assert_eq!(sweep(&mut stock, [10.0 - diagonal - 0.02, 10.0 - diagonal - 0.02], way), 0.0);
    assert!(sweep(&mut stock, [10.0 - diagonal + 0.1, 10.0 - diagonal + 0.1], way) > 5.0);
}

#[test]
fn a_plunge_meets_what_stands_below_it() {
    let mut stock = plate(rectangle((0.0, 200.0), (0.0, 200.0), 0.0), 0.0, &[([100.0, 100.0], 13.0)]);
    assert_eq!(stock.meets_below([100.0, 100.0], RADIUS, THROUGH), None);
    assert_eq!(stock.meets_below([-10.0, 100.0], RADIUS, THROUGH), None);
    assert!(stock.meets_below([101.0, 100.0], RADIUS, THROUGH).is_some());
    assert!(stock.meets_below([50.0, 50.0], RADIUS, THROUGH).is_some());
    // A core left by an orbit stands in the middle only.
    let turn = std::f64::consts::TAU;
    stock.sweep_arc(([57.0, 50.0], [57.0, 50.0]), ([50.0, 50.0], turn), RADIUS, THROUGH);
    stock.lift();
    assert!(stock.meets_below([50.0, 50.0], RADIUS, THROUGH).is_some());
}

#[test]
fn places_that_are_none_meet_nothing() {
    let mut stock = square();
    for bad in [f64::NAN, f64::INFINITY, 1e300] {
        assert_eq!(stock.engagement([bad, 1.0], RIGHT, RADIUS, THROUGH), None);
        stock.drill([bad, 0.0], 3.0, THROUGH);
    }
    assert_eq!(stock.engagement([50.0, 50.0], RIGHT, 0.0, THROUGH), None);
    assert!(stock.engagement([100.0, 100.0], RIGHT, 5000.0, THROUGH).is_none());
}

/// A way of short moves, each told by turn and length.
fn ways() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((-3.0..3.0_f64, 0.05..9.0_f64), 1..60)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// The engagement from cells and intervals against 1,000 points of the leading half, each held against every move.
    #[test]
    fn engagement_agrees_with_points_on_the_circle(turns in ways()) {
        let mut stock = square();
        let (mut at, mut angle) = ([100.0, 100.0], 0.0_f64);
        let mut moves: Vec<([f64; 2], [f64; 2])> = Vec::new();
        for (turn, length) in turns {
            angle += turn;
            let heading = [libm::cos(angle), libm::sin(angle)];
            let to = [at[0] + heading[0] * length, at[1] + heading[1] * length];
            let middle = [(at[0] + to[0]) / 2.0, (at[1] + to[1]) / 2.0];
            let found = sweep(&mut stock, middle, heading);
            let free = |point| moves.iter().all(|(from, to)| from_segment(point, *from, *to) > RADIUS);
            let (wanted, films) = by_points(free, middle, heading);
            prop_assert!((found - wanted).abs() < 1.0 + films, "{found} against {wanted} at {middle:?}");
            stock.sweep_line(at, to, RADIUS, THROUGH);
            moves.push((at, to));
            at = to;
        }
    }
}

/// An arc: centre, radius, direction of its start and turn, radians.
type Bend = ([f64; 2], f64, f64, f64);

/// Distance of a place from an arc, by the angle it is seen under from the centre.
fn from_bend([x, y]: [f64; 2], ([cx, cy], about, start, turn): Bend) -> f64 {
    let seen = (libm::atan2(y - cy, x - cx) - start) * turn.signum();
    if seen.rem_euclid(std::f64::consts::TAU) <= turn.abs() {
        return (libm::hypot(x - cx, y - cy) - about).abs();
    }
    let end = |angle: f64| libm::hypot(x - cx - about * libm::cos(angle), y - cy - about * libm::sin(angle));
    end(start).min(end(start + turn))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// The same for arcs of every size and turn, each beginning where and as the one before it ended, cut in four pieces.
    #[test]
    fn engagement_on_arcs_agrees_with_points_on_the_circle(
        bends in prop::collection::vec((-6.5..6.5_f64, 0.05..20.0_f64), 1..16)
    ) {
        let mut stock = square();
        let (mut at, mut angle) = ([100.0, 100.0], 0.3_f64);
        let mut arcs: Vec<Bend> = Vec::new();
        for (turn, about) in bends {
            let aside = angle + std::f64::consts::FRAC_PI_2.copysign(turn);
            let centre = [at[0] + about * libm::cos(aside), at[1] + about * libm::sin(aside)];
            let start = aside + std::f64::consts::PI;
            let place = |share: f64| {
                let angle = start + turn * share;
                [centre[0] + about * libm::cos(angle), centre[1] + about * libm::sin(angle)]
            };
            let middle = angle + turn / 2.0;
            let (view, heading) = (place(0.5), [libm::cos(middle), libm::sin(middle)]);
            let found = sweep(&mut stock, view, heading);
            let free = |point| arcs.iter().all(|arc| from_bend(point, *arc) > RADIUS);
            let (wanted, films) = by_points(free, view, heading);
            prop_assert!((found - wanted).abs() < 1.0 + films, "{found} against {wanted} at {view:?}");
            for quarter in 0..4 {
                let share = f64::from(quarter) / 4.0;
                stock.sweep_arc((place(share), place(share + 0.25)), (centre, turn / 4.0), RADIUS, THROUGH);
            }
            arcs.push((centre, about, start, turn));
            (at, angle) = (place(1.0), angle + turn);
        }
    }
}

/// Degrees in material, and how many of them belong to slivers about as thin as a film.
fn by_points(stands: impl Fn([f64; 2]) -> bool, at: [f64; 2], heading: [f64; 2]) -> (f64, f64) {
    let count = 1000;
    let angle = |index: i32| (f64::from(index) / f64::from(count) - 0.5) * std::f64::consts::PI;
    let solid = |index: &i32| {
        let angle = angle(*index) + 0.5 * std::f64::consts::PI / f64::from(count);
        let (sin, cos) = (libm::sin(angle) * RADIUS, libm::cos(angle) * RADIUS);
        let [x, y] = [at[0] + heading[0] * cos - heading[1] * sin, at[1] + heading[1] * cos + heading[0] * sin];
        let inside = (0.0..200.0).contains(&x) && (0.0..200.0).contains(&y);
        inside && stands([x, y])
    };
    let points: Vec<i32> = (0..count).filter(solid).collect();
    let (mut all, mut films) = (0.0, 0.0);
    for run in points.chunk_by(|one, next| one + 1 == *next) {
        let (low, high) = (angle(*run.first().unwrap()), angle(run.last().unwrap() + 1));
        all += (high - low).to_degrees();
        if RADIUS * (libm::sin(high) - libm::sin(low)) < 2.0 * FILM {
            films += (high - low).to_degrees();
        }
    }
    (all, films)
}
