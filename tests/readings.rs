//! The passes of a hole: which depths of which layer a stroke cuts, in which zone, and within which window.

use crate::rules::job;
use lastply::job::{Job, NoFiles};
use lastply::motion::SpindleSense;
use lastply::operation::{Orbit, Origin, Recipe, Stroke, StrokeKind};
use lastply::process::{HoleReading, OverrideBand, SetBy, Zone};
use lastply::source::Source;
use proptest::prelude::*;
use std::sync::LazyLock;

/// A long-hand recipe of feed strokes: heights from and to, feed, spindle speed.
pub fn recipe(tool: u32, strokes: &[(f64, f64, f64, f64)]) -> Recipe {
    let bottom = strokes.iter().map(|stroke| stroke.1).fold(0.0, f64::min);
    let strokes = strokes.iter().map(|&(from, to, feed, speed)| Stroke {
        kind: StrokeKind::Feed,
        from,
        to,
        feed: Some(feed),
        speed: Some(speed),
        sense: SpindleSense::Clockwise,
        block: 0,
        part: None,
    });
    Recipe {
        tool,
        axis: 2,
        origin: Origin::LongHand,
        start: 2.0,
        r: None,
        q: None,
        bottom,
        clear: 2.0,
        strokes: strokes.collect(),
        orbit: None,
        pilot: 0.0,
        heights_known: true,
    }
}

/// Stroke, layer, zone, and depths rounded to 0.001 mm.
fn outline(reading: &HoleReading) -> Vec<(usize, usize, Zone, f64, f64)> {
    let round = |depth: f64| (depth * 1000.0).round() / 1000.0;
    let passes = reading.passes.iter();
    passes.map(|pass| (pass.stroke, pass.layer, pass.zone, round(pass.depth.0.0), round(pass.depth.1.0))).collect()
}

#[test]
fn a_layer_is_cut_from_tip_in_to_corner_out() {
    // 6 mm carbon over 5 mm titanium, 135 degree pilot drill of 6 mm: point 1.243 mm. The exit is metal: no exit zone.
    let slow = [(2.0, -5.5, 160.0, 3180.0), (-5.5, -13.0, 29.4, 490.0)];
    let reading = HoleReading::of(&recipe(21, &slow), &job("stack"));
    let expected = [
        (0, 0, Zone::Body, 0.0, 5.5),
        (1, 0, Zone::Body, 5.5, 7.243),
        (1, 1, Zone::Body, 6.0, 12.523), // thickest stack 11.28 and the point
    ];
    assert_eq!(outline(&reading), expected);
    assert_eq!((reading.exit, reading.gaps), (None, vec![]));
}

#[test]
fn zones_cut_a_stroke_into_passes() {
    let reading = HoleReading::of(&recipe(6, &[(2.0, -8.5, 318.0, 6366.0)]), &job("open_plate"));
    let expected = [
        (0, 0, Zone::Entry, 0.0, 2.178), // three plies of 0.125 and the point of 1.803
        (0, 0, Zone::Body, 2.178, 5.32), // 0.5 above the thinnest exit, 5.82
        (0, 0, Zone::Exit, 5.32, 7.983), // the point below the thickest exit, 6.18
    ];
    assert_eq!(outline(&reading), expected);
}

#[test]
fn air_and_depths_drilled_before_are_left_out() {
    let pecks =
        [(2.0, 1.0, 500.0, 6366.0), (1.0, -3.0, 318.0, 6366.0), (-3.0, 1.0, 900.0, 6366.0), (1.0, -5.0, 318.0, 6366.0)];
    let reading = HoleReading::of(&recipe(6, &pecks), &job("backed"));
    let strokes: Vec<_> = outline(&reading).iter().map(|pass| (pass.0, pass.3, pass.4)).collect();
    assert_eq!(strokes, [(1, 0.0, 2.178), (1, 2.178, 3.0), (3, 3.0, 5.0)]);
}

#[test]
fn over_a_pilot_hole_only_the_wider_part_of_the_point_cuts() {
    let mut over = recipe(22, &[(2.0, -13.0, 29.4, 490.0)]);
    over.pilot = 6.0;
    let reading = HoleReading::of(&over, &job("stack"));
    assert_eq!(outline(&reading).first(), Some(&(0, 0, Zone::Body, 1.243, 8.009)));
    over.pilot = 9.7;
    let reading = HoleReading::of(&over, &job("stack"));
    assert_eq!((reading.passes.len(), reading.gaps.len()), (0, 0), "nothing is left to cut");
}

#[test]
fn thrust_needs_solid_material() {
    let stroke = [(2.0, -8.5, 318.0, 6366.0)];
    let solid = HoleReading::of(&recipe(6, &stroke), &job("tough_plate"));
    assert!(solid.passes.iter().all(|pass| pass.thrust.is_some()));
    let mut over = recipe(6, &stroke);
    over.pilot = 3.0;
    let over = HoleReading::of(&over, &job("tough_plate"));
    assert!(over.passes.iter().all(|pass| pass.thrust.is_none() && pass.window.thrust_ceiling.is_none()));
}

#[test]
fn reamers_and_countersinks_have_no_exit_zone() {
    let plate = job("open_plate");
    let sink = HoleReading::of(&recipe(9, &[(2.0, -2.0, 200.0, 2000.0)]), &plate);
    assert!(sink.exit.is_none() && sink.passes.iter().all(|pass| pass.zone == Zone::Body));
    let reamer = HoleReading::of(&recipe(8, &[(2.0, -9.0, 200.0, 2000.0)]), &job("plate"));
    assert!(reamer.exit.is_none() && !reamer.passes.is_empty());
}

#[test]
fn a_core_has_no_window() {
    let sandwich = job("sandwich");
    let reading = HoleReading::of(&recipe(4, &[(2.0, -30.0, 100.0, 6000.0)]), &sandwich);
    let layers = &sandwich.laminate.as_ref().expect("a laminate").layers;
    for pass in &reading.passes {
        let core = layers[pass.layer].material.class.is_core();
        assert_eq!(pass.window.floor().is_none(), core, "{}", layers[pass.layer].name);
    }
}

#[test]
fn a_circling_tool_is_read_at_the_wall() {
    let mut orbit = recipe(12, &[(1.0, -7.0, 600.0, 6000.0)]);
    orbit.orbit = Some(Orbit { diameter: 4.0, pitch: 0.5, clockwise: false });
    let reading = HoleReading::of(&orbit, &job("plate"));
    let pass = reading.passes.first().expect("it cuts");
    // Hole 12, tool 8: the wall goes by three times as fast as the centre.
    assert!((pass.per_rev.expect("known").0 - 0.3).abs() < 1e-12);
    assert!((pass.chip.expect("known").0 - 150.0).abs() < 1e-9);
    assert_eq!(pass.window.layer_ceiling, None, "a ceiling for each turn means axial feed");
}

#[test]
fn what_is_missing_is_named() {
    let mut plate = job("open_plate");
    let stroke = [(2.0, -8.5, 318.0, 6366.0)];
    let key = |recipe: &Recipe, job: &Job| HoleReading::of(recipe, job).gaps.first().map(|gap| gap.key.clone());
    assert_eq!(key(&recipe(6, &stroke), &plate), None);
    assert_eq!(key(&recipe(99, &stroke), &plate), Some(Some("tool.99".to_owned())));
    assert_eq!(key(&recipe(0, &stroke), &plate), Some(None));
    let mut adrift = recipe(6, &stroke);
    adrift.heights_known = false;
    assert_eq!(key(&adrift, &plate), Some(None));
    assert_eq!(key(&recipe(6, &[(2.0, -8.5, 318.0, 0.0)]), &plate), Some(None), "a spindle that stands still");
    plate.laminate = None;
    assert_eq!(key(&recipe(6, &stroke), &plate), Some(Some("job.laminate".to_owned())));
}

static JOBS: LazyLock<[(Job, u32); 3]> =
    LazyLock::new(|| [(job("stack"), 21), (job("plate"), 6), (job("sandwich"), 4)]);

fn strokes() -> impl Strategy<Value = Vec<(f64, f64, f64, f64)>> {
    prop::collection::vec((-20.0..5.0, -20.0..5.0, 1.0..2000.0, 0.0..12000.0), 0..8)
}

proptest! {
    #[test]
    fn no_depth_of_a_layer_is_cut_twice(strokes in strokes(), pilot in prop_oneof![Just(0.0), 0.0..7.0]) {
        let (stack, drill) = &JOBS[0];
        let mut made = recipe(*drill, &strokes);
        made.pilot = pilot;
        let reading = HoleReading::of(&made, stack);
        let mut reached = [f64::NEG_INFINITY; 2];
        for pass in &reading.passes {
            let (from, to) = (pass.depth.0.0, pass.depth.1.0);
            prop_assert!(from < to && from >= 0.0 && to <= -made.bottom + 1e-9, "{from} to {to}");
            prop_assert!(from >= reached[pass.layer] - 1e-6, "layer {} is cut again at {from}", pass.layer);
            reached[pass.layer] = to;
        }
    }

    #[test]
    fn no_number_brings_a_reading_down(strokes in prop::collection::vec(any::<(f64, f64, f64, f64)>(), 0..5)) {
        for (job, tool) in JOBS.iter() {
            let reading = HoleReading::of(&recipe(*tool, &strokes), job);
            prop_assert!(reading.passes.iter().all(|pass| pass.depth.0 < pass.depth.1));
        }
    }
}

#[test]
fn overrides_that_keep_every_limit() {
    // 318 mm/min at 6366 rev/min over two edges is 0.025 mm/tooth, floor 0.010; 0.05 mm/rev, ceiling 0.08; the entry may
    // have 0.05 and the exit 0.03 mm/rev, which 190 mm/min keeps.
    let job = job("open_plate");
    let band = |strokes: &[_]| OverrideBand::of_hole(&HoleReading::of(&recipe(6, strokes), &job));
    let slowed = band(&[(2.0, -5.3, 318.0, 6366.0), (-5.3, -8.5, 190.0, 6366.0)]);
    let (least, most) = (slowed.least.clone().unwrap(), slowed.most.clone().unwrap());
    assert_eq!((least.set_by, most.set_by), (SetBy::ExitFloor, SetBy::Entry));
    assert_eq!(slowed.text(), "feed override 54 % to 100 %");
    // Unslowed, the exit allows 60 % only, and the body then makes 0.015.
    let fast = band(&[(2.0, -8.5, 318.0, 6366.0)]);
    assert_eq!(
        (fast.most.clone().unwrap().set_by, fast.text()),
        (SetBy::Exit, "feed override 41 % to 60 %, not as programmed".to_owned())
    );
    // A worn edge needs 0.0467 mm/rev everywhere: no override keeps that and the exit feed.
    let worn = OverrideBand::of_hole(&HoleReading::of(&recipe(7, &[(2.0, -8.5, 318.0, 6366.0)]), &job));
    assert!(worn.is_empty(), "{worn:?}");
    assert!(slowed.and(fast).percent() == Some((54.0, 60.0)));
}

#[test]
fn an_operator_may_start_at_67_per_cent() {
    // Closing plate of thick glass, 12 mm drill: 159 mm/min at 2650 rev/min is 0.060 mm/rev, floor 0.020 mm for each of
    // two edges; slowed to 79.5 for the exit, which allows 0.030 mm/rev.
    let text = std::fs::read("programs/root_plate/root_plate_op20.job.toml").unwrap();
    let plate = Job::load(&Source::new("root_plate_op20.job.toml", text), &NoFiles).unwrap();
    let strokes = [(2.0, -33.77, 159.0, 2650.0), (-33.77, -43.8, 79.5, 2650.0)];
    let band = OverrideBand::of_hole(&HoleReading::of(&recipe(11, &strokes), &plate));
    assert_eq!(band.text(), "feed override 67 % to 100 %");
    assert_eq!(band.most.unwrap().set_by, SetBy::Exit);
}
