//! Distances between tools and fixtures against plane geometry worked out by hand.

use lastply::check::{Options, Report, check};
use lastply::job::{Job, NoFiles};
use lastply::operation::{BodyPart, Clearance, Obstacle};
use lastply::source::{NoLibrary, Source};

/// A job with one tool and one zone.
fn job(tool: &str, zone: &str) -> Job {
    let text = format!(
        "[job]\npart = 'P'\nunits = 'mm'\nentry_z = 0\n[machine]\ndialect = 'shop'\nrapid_style = 'interpolated'\n\
         [tool.1]\nkind = 'router'\nedges = 2\n{tool}\n[fixture]\nzones = [{{ id = 'C4', kind = 'clamp', {zone} }}]\n"
    );
    Job::load(&Source::new("job.toml", text), &NoFiles).unwrap_or_else(|errors| panic!("{errors:?}"))
}

fn run(job: &Job, moves: &str) -> Report {
    let text = format!("G21 G90 G17 G94 G40 G80\nT1 M6\nS1000 M3\n{moves}\nM30\n");
    check(Source::new("run.nc", text), Some(job), &NoLibrary, &Options::of_job(Some(job)).unwrap())
}

fn least(job: &Job, moves: &str) -> Clearance {
    let report = run(job, moves);
    *report.survey.clearances.least.first().expect("something comes near")
}

#[track_caller]
fn agrees(clearance: Clearance, gap: f64, tolerance: f64) {
    assert!((clearance.gap - gap).abs() <= tolerance, "{} is not {gap}: {clearance:?}", clearance.gap);
}

/// Pins of 1 mm radius and less stand for a point; tolerance 0.001 mm, the resolution of the search.
const FINE: f64 = 1e-3;

#[test]
fn a_pin_beside_a_box() {
    // Corner of the box at (10, 10): from (6, 7) it is 5 mm away, less the radius of 0.5 mm.
    let job = job(
        "diameter = 1\nstick_out = 200\nholder = [{ length = 10, diameter = 1 }]",
        "x = [10, 40], y = [10, 30], z = [-50, 20]",
    );
    agrees(least(&job, "G0 G43 H1 X6 Y7 Z5"), 4.5, FINE);
    // Over the box: only the height counts, along Z.
    let over = least(&job, "G0 G43 H1 X20 Y20 Z23.4");
    agrees(over, 3.4, FINE);
    assert_eq!((over.axis, over.part, over.obstacle), (2, BodyPart::Tool, Obstacle::Zone(0)));
    // Beyond an upper edge: 3 mm aside, less the radius, and 4 mm above: sqrt(2.5^2 + 4^2).
    agrees(least(&job, "G0 G43 H1 X7 Y20 Z24"), (2.5_f64 * 2.5 + 16.0).sqrt(), FINE);
    // A level line past the corner: from the corner (10, 10) to x + y = 15 it is 5 / sqrt 2.
    agrees(least(&job, "G0 G43 H1 X0 Y15 Z5\nG1 X15 Y0 F500"), 5.0 / 2.0_f64.sqrt() - 0.5, FINE);
}

#[test]
fn a_cylinder_beside_a_cylinder() {
    // Axes 50 mm apart, radii 15 mm and 4 mm.
    let job = job(
        "diameter = 8\nstick_out = 90\nholder = [{ length = 10, diameter = 8 }]",
        "at = [0, 0], diameter = 30, z = [-20, 10]",
    );
    agrees(least(&job, "G0 G43 H1 X30 Y40 Z0"), 31.0, FINE);
    // An upright stroke ends at the same distance; a level one is nearest where it passes abreast.
    agrees(least(&job, "G0 G43 H1 X30 Y40 Z60\nG1 Z-15 F500"), 31.0, FINE);
    agrees(least(&job, "G0 G43 H1 X-80 Y25 Z0\nG1 X80 F500"), 6.0, FINE);
    // Above the rim: 4 mm aside and 3 mm up.
    agrees(least(&job, "G0 G43 H1 X23 Y0 Z13"), 5.0, FINE);
    // An arc of 40 mm radius about the same centre: 40 - 15 - 4, chords within 0.02 mm.
    agrees(least(&job, "G0 G43 H1 X40 Y0 Z0\nG3 X-40 Y0 I-40 J0 F500"), 21.0, 0.02);
}

#[test]
fn a_cone_beside_a_box() {
    // A holder that widens from 10 to 50 mm of diameter over 20 mm: its side rises 1 to 1. Bottom at Z30, axis 25 mm
    // from the wall; the box ends at Z40. Its edge (25, 40) is (25 - 5 - 10) / sqrt 2 from the side of the cone.
    let holder = "holder = [{ length = 20, lower = 10, upper = 50 }]";
    let job = job(&format!("diameter = 4\nstick_out = 30\n{holder}"), "x = [25, 60], y = [-30, 30], z = [-50, 40]");
    let gap = least(&job, "G0 G43 H1 X0 Y0 Z0");
    agrees(gap, 10.0 / 2.0_f64.sqrt(), FINE);
    assert_eq!(gap.part, BodyPart::Holder);
}

#[test]
fn an_oblique_rapid_passes_over_an_edge() {
    // From (0, 0, 40) down to (40, 0, 0) in the plane y = 0: the lower rim of a pin of 1 mm radius runs along
    // x + z = 41; the edge at (15, 15) is (41 - 30) / sqrt 2 away from it, but the rim on the near side leads: the line of
    // its foremost lower point is x - 1 + z = 40, so 9 / sqrt 2.
    let job = job(
        "diameter = 2\nstick_out = 200\nholder = [{ length = 10, diameter = 2 }]",
        "x = [5, 15], y = [-30, 30], z = [-50, 15]",
    );
    agrees(least(&job, "G0 G43 H1 X0 Y0 Z40\nG0 X40 Z0"), 9.0 / 2.0_f64.sqrt(), FINE);
}

#[test]
fn tolerance_is_taken_off() {
    let job = job(
        "diameter = 8\nstick_out = 90\nholder = [{ length = 10, diameter = 8 }]",
        "x = [0, 10], y = [0, 10], z = [0, 10], tolerance = 1.5",
    );
    agrees(least(&job, "G0 G43 H1 X20 Y5 Z5"), 4.5, FINE);
    let beside = run(&job, "G0 G43 H1 X15 Y-40 Z5\nG1 Y40 F500");
    let finding = beside.findings.iter().find(|finding| finding.rule == "clearance-short").unwrap();
    assert!(finding.message.contains("0.5 mm too close to clamp `C4`"), "{}", finding.message);
}

/// A drill 61 mm out of its holder where 75 mm were asked for: 14 mm less clearance, from +10.8 to -3.2 mm.
#[test]
fn a_short_tool_brings_its_holder_onto_the_clamp() {
    let holder = "holder = [{ length = 60, diameter = 50 }]";
    let clamp = "x = [-15, 15], y = [370, 410], z = [-10, 22], tolerance = 1";
    let bore = "G0 G43 H1 X33.99 Y388.52 Z40\nN2210 G1 Z-41.2 F159\nG0 Z40";
    let asked = job(&format!("diameter = 12\nstick_out = 75\n{holder}"), clamp);
    agrees(least(&asked, bore), 10.8, FINE);
    assert!(!run(&asked, bore).findings.iter().any(|finding| finding.rule == "clearance-short"));
    let short = job(&format!("diameter = 12\nstick_out = 61\n{holder}"), clamp);
    let worst = least(&short, bore);
    agrees(worst, -3.2, FINE);
    assert_eq!((worst.part, worst.axis, worst.block.index), (BodyPart::Holder, 2, 4));
    let report = run(&short, bore);
    let finding = report.findings.iter().find(|finding| finding.rule == "clearance-short").unwrap();
    assert_eq!(finding.message, "the holder of T1 comes 3.2 mm too close to clamp `C4`");
}

/// The root plate's drill hops at Z30 over clamp C4, which stands up to 22 mm and may be 1 mm off, and goes to Z-43.8 beside
/// it: 30 - 23 mm for the tip, and 75 - 43.8 - 23 mm for the holder, which becomes the less as the drill gets shorter.
#[test]
fn the_root_plate_needs_its_drill_as_long_as_it_says() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate");
    let read = |name: &str| Source::new(name, std::fs::read(folder.join(name)).unwrap());
    let mut job = Job::load(&read("root_plate_op20.job.toml"), &NoFiles).unwrap();
    for (stick_out, gap, short) in [(75.0, 7.0, false), (72.0, 5.2, false), (61.0, -5.8, true)] {
        job.tools.get_mut(&11).unwrap().stick_out = Some(lastply::units::Millimetres(stick_out));
        let options = Options::of_job(Some(&job)).unwrap();
        let report = check(read("root_plate_op20.nc"), Some(&job), &NoLibrary, &options);
        let least = report.survey.clearances.least.iter().find(|least| least.tool == 11).copied();
        agrees(least.unwrap(), gap, FINE);
        assert_eq!(report.findings.iter().any(|finding| finding.rule == "clearance-short"), short);
    }
}
