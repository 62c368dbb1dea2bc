//! One drilled hole worked by hand from end to end: 6 mm of carbon tape, 48 plies of 0.125 mm, unsupported; carbide drill
//! 6 mm, two lips, 118 degrees, edge radius 10 um; thrust measured as 60 N at 0.02 and 120 N at 0.08 mm/rev; and the
//! block `G83 Z-7.5 R2 Q2 F318` at S6366. Figures to the printed digits.

use super::agrees;
use lastply::job::{
    ExitZone, Extent, Job, Laminate, Layer, LayerLimits, Limit, Material, MaterialClass, PlateData, Support, ThrustLaw,
    Tool, ToolKind,
};
use lastply::operation::Recipe;
use lastply::process::chip::drill_floor;
use lastply::process::speed::turns;
use lastply::process::thrust::{critical_uncut, law_thrust, push_out};
use lastply::process::{HoleReading, Reading, Zone};
use lastply::units::{Degrees, Micrometres, Millimetres, MmPerRev, RevPerMin, Seconds};

fn law() -> ThrustLaw {
    ThrustLaw { c: 424.264, m: 0.5, p: 0.0, valid: (0.016, 0.096), origin: "worked example".to_owned() }
}

fn plate() -> PlateData {
    let origin = "worked example".to_owned();
    PlateData { modulus: 138_000.0, poisson: 0.3, fracture_energy: 0.25, safety: 1.25, origin }
}

fn drill() -> Tool {
    Tool {
        number: 6,
        label: "carbide drill 6.0".to_owned(),
        kind: ToolKind::TwistDrill { point: Some(Degrees(118.0)) },
        diameter: Millimetres(6.0),
        edges: Some(2),
        helix: None,
        flute_length: None,
        stick_out: None,
        substrate: None,
        coating: None,
        edge_radius: Some(Micrometres(10.0)),
        wear_factor: None,
        life: Vec::new(),
        used: 0.0,
        length_offset: None,
        radius_offset: None,
        length: None,
        max_speed: None,
        thrust: Some(law()),
    }
}

fn job() -> Job {
    let layer = Layer {
        name: "carbon".to_owned(),
        material: Material { name: "carbon-tape".to_owned(), class: MaterialClass::Carbon },
        plies: 48,
        ply: Millimetres(0.125),
        limits: LayerLimits { plate: Some(plate()), ..LayerLimits::default() },
        ..Layer::default()
    };
    let exit =
        ExitZone { feed: Limit::new(MmPerRev(0.025), "worked example"), extent: Extent::Length(Millimetres(0.5)) };
    let laminate = Laminate { layers: vec![layer], exit: Some(exit), support: Support::None, ..Laminate::default() };
    Job { laminate: Some(laminate), tools: [(6, drill())].into(), ..Job::default() }
}

/// Feed strokes of tool 6 at 6366 rev/min: heights from and to, feed.
fn recipe(strokes: &[(f64, f64, f64)]) -> Recipe {
    let strokes: Vec<_> = strokes.iter().map(|&(from, to, feed)| (from, to, feed, 6366.0)).collect();
    crate::readings::recipe(6, &strokes)
}

/// Pecks of 2 mm from R2 to Z-7.5, each entered again 0.2 mm above the last.
fn posted() -> Recipe {
    recipe(&[(2.0, 0.0, 318.0), (0.2, -2.0, 318.0), (-1.8, -4.0, 318.0), (-3.8, -6.0, 318.0), (-5.8, -7.5, 318.0)])
}

fn depths(pass: &Reading) -> (f64, f64) {
    (pass.depth.0.0, pass.depth.1.0)
}

#[test]
fn the_body_passes() {
    let reading = HoleReading::of(&posted(), &job());
    let body = reading.passes.first().unwrap();
    agrees(body.surface_speed.unwrap().0, 119.996, 2);
    agrees(body.per_rev.unwrap().0, 0.04995, 5);
    agrees(body.per_tooth.unwrap().0, 0.02498, 5);
    agrees(body.chip.unwrap().to_mm().0, 0.02141, 5);
    agrees(body.chip_ratio.unwrap(), 2.14, 2);
    agrees(body.thrust.unwrap().0, 94.82, 2);
    assert_eq!((body.stroke, body.zone, depths(body)), (1, Zone::Body, (0.0, 2.0)), "the first stroke cuts air");
}

#[test]
fn the_hole_is_not_through() {
    let through = HoleReading::of(&posted(), &job()).breakthrough.unwrap();
    agrees(through.point.0, 1.8026, 4);
    agrees(through.full_out[1].0 - through.bottom.0, 0.3026, 4);
    agrees(through.full_out[1].0 + 0.5, 8.303, 3);
}

#[test]
fn the_exit_zone_and_its_passes() {
    let reading = HoleReading::of(&posted(), &job());
    let zone = reading.exit.as_ref().unwrap();
    agrees(zone.from.0, 5.5, 9);
    agrees(zone.to.0, 7.8026, 4);
    let exit: Vec<_> =
        reading.passes.iter().filter(|pass| pass.zone == Zone::Exit).map(|p| (p.stroke, depths(p))).collect();
    assert_eq!(exit, [(3, (5.5, 6.0)), (4, (6.0, 7.5))], "both strokes that reach below 5.5 cut in the exit zone");
    agrees(
        critical_uncut(&plate(), law_thrust(&law(), MmPerRev(0.04995), Millimetres(6.0), 1.0).unwrap()).0,
        0.2415,
        4,
    );
}

#[test]
fn one_ply_cannot_be_met_by_feed_alone() {
    let reading = HoleReading::of(&posted(), &job());
    let exit = reading.passes.iter().find(|pass| pass.zone == Zone::Exit).unwrap();
    let (floor, ceiling) = (exit.window.floor().unwrap(), exit.window.ceiling().unwrap());
    agrees(floor.value.0, 0.02333, 5);
    agrees(ceiling.value.0, 0.00693, 5);
    assert!(ceiling.origin.contains("one ply left"), "{}", ceiling.origin);
    agrees(push_out(&plate(), Millimetres(0.125)).0, 44.15, 2);
}

#[test]
fn the_slow_feed_that_keeps_above_the_floor() {
    let slow = HoleReading::of(&recipe(&[(2.0, -5.5, 318.0), (-5.5, -8.303, 159.2)]), &job());
    let exit = slow.passes.iter().find(|pass| pass.zone == Zone::Exit).unwrap();
    assert_eq!(exit.stroke, 1);
    agrees(exit.chip.unwrap().to_mm().0, 0.01072, 5);
    agrees(exit.chip_ratio.unwrap(), 1.07, 2);
    agrees(exit.thrust.unwrap().0, 67.08, 1);
    let floor =
        drill_floor(Micrometres(10.0), 1.0, 2, &[lastply::job::Cone { to: Millimetres(6.0), angle: Degrees(118.0) }]);
    agrees((floor * RevPerMin(6366.0)).0, 148.5, 1);
}

#[test]
#[expect(clippy::approx_constant, reason = "a length that happens to look like ln 10")]
fn turns_and_time_of_the_slow_stroke() {
    // 0.02 mm/rev from Z-5.5 to full diameter out at Z-7.8026, and on to Z-8.3026.
    for (length, turned, seconds) in [(2.3026, 115.1, 1.085), (2.8026, 140.1, 1.321)] {
        let time = Seconds(length / (MmPerRev(0.02) * RevPerMin(6366.0)).0 * 60.0);
        agrees(time.0, seconds, 3);
        agrees(turns(RevPerMin(6366.0), time), turned, 1);
    }
}
