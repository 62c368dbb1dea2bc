//! One drilled hole worked by hand from end to end: 6 mm of carbon tape, 48 plies of 0.125 mm, unsupported; carbide drill
//! 6 mm, two lips, 118 degrees, edge radius 10 um; thrust measured as 60 N at 0.02 and 120 N at 0.08 mm/rev; and the
//! block `G83 Z-7.5 R2 Q2 F318` at S6366. Figures to the printed digits.

use super::agrees;
use lastply::check::{Options, check};
use lastply::diagnostic::{Finding, Remedy, Severity};
use lastply::job::{Cone, Job, PlateData, ThrustLaw};
use lastply::operation::Recipe;
use lastply::process::chip::drill_floor;
use lastply::process::speed::turns;
use lastply::process::thrust::{critical_uncut, law_thrust, push_out};
use lastply::process::{HoleReading, Reading, Zone};
use lastply::source::{NoLibrary, Source};
use lastply::units::{Degrees, Micrometres, Millimetres, MmPerRev, RevPerMin, Seconds};

fn job() -> Job {
    crate::rules::job("worked_plate")
}

fn plate(job: &Job) -> &PlateData {
    let last = job.laminate.as_ref().and_then(|laminate| laminate.layers.last());
    last.and_then(|layer| layer.limits.plate.as_ref()).expect("the job gives plate data")
}

fn law(job: &Job) -> &ThrustLaw {
    job.tool(6).and_then(|tool| tool.thrust.as_ref()).expect("the job gives a thrust law")
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
        critical_uncut(plate(&job()), law_thrust(law(&job()), MmPerRev(0.04995), Millimetres(6.0), 1.0).unwrap()).0,
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
    assert!(ceiling.origin.contains("1 ply left"), "{}", ceiling.origin);
    agrees(push_out(plate(&job()), Millimetres(0.125)).0, 44.15, 2);
}

#[test]
fn the_slow_feed_that_keeps_above_the_floor() {
    let slow = HoleReading::of(&recipe(&[(2.0, -5.5, 318.0), (-5.5, -8.303, 159.2)]), &job());
    let exit = slow.passes.iter().find(|pass| pass.zone == Zone::Exit).unwrap();
    assert_eq!(exit.stroke, 1);
    agrees(exit.chip.unwrap().to_mm().0, 0.01072, 5);
    agrees(exit.chip_ratio.unwrap(), 1.07, 2);
    agrees(exit.thrust.unwrap().0, 67.08, 1);
    let floor = drill_floor(Micrometres(10.0), 1.0, 2, &[Cone { to: Millimetres(6.0), angle: Degrees(118.0) }]);
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

/// Findings of the whole check about this hole; the program's head is not the subject here.
fn findings(program: &str) -> Vec<Finding> {
    let job = job();
    let options = Options::of_job(Some(&job)).expect("the dialect is known");
    let report = check(Source::new("worked.nc", program.as_bytes()), Some(&job), &NoLibrary, &options);
    let head = ["work-offset-unstated", "extraction-off", "power-up-relied-on"];
    report.findings.into_iter().filter(|finding| !head.contains(&finding.rule)).collect()
}

fn names(findings: &[Finding]) -> Vec<(Severity, &'static str)> {
    findings.iter().map(|finding| (finding.severity, finding.rule)).collect()
}

#[test]
fn the_whole_check_of_the_posted_hole() {
    let found = findings(
        "N10 G21 G90 G94 G17 G40 G49 G80\nN20 T6 M6\nN30 S6366 M3\nN40 G0 G43 H6 X20 Y20 Z5\n\
         N50 G83 Z-7.5 R2 Q2 F318\nN60 G80\nN70 G0 Z50 M5\nN80 M30\n",
    );
    let expected = [
        (Severity::Error, "exit-feed-high"),
        (Severity::Error, "not-through"),
        (Severity::Warning, "no-feed-window"),
        (Severity::Warning, "peck-in-laminate"),
        (Severity::Warning, "peck-stops-at-exit"),
    ];
    let mut have = names(&found);
    have.sort_by_key(|(severity, rule)| (std::cmp::Reverse(*severity), *rule));
    assert_eq!(have, expected);
    let exit = found.iter().find(|finding| finding.rule == "exit-feed-high").unwrap();
    let Some(Remedy::SlowExit { from, feed, to }) = exit.remedy else { unreachable!("{:?}", exit.remedy) };
    // 0.025 mm/rev at 6366 rev/min, from half a millimetre above the exit to the point and 0.5 mm below it.
    agrees(from.0, -5.5, 9);
    agrees(feed.0, 159.1, 9);
    agrees(to.0, -8.31, 9);
}

#[test]
fn the_whole_check_of_the_cured_hole() {
    let found = findings(
        "N10 G21 G90 G94 G17 G40 G49 G80\nN20 T6 M6\nN30 S6366 M3\nN40 G0 G43 H6 X20 Y20 Z5\n\
         N50 G0 Z2\nN52 G1 Z-5.5 F318\nN54 G1 Z-8.303 F159.1\nN56 G0 Z5\nN70 G0 Z50 M5\nN80 M30\n",
    );
    // One ply cannot be met by feed alone; nothing else is left, and the spindle stops above the part.
    assert_eq!(names(&found), [(Severity::Warning, "no-feed-window")]);
}
