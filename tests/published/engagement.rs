//! Engagement of whole programs: printed angles of two public pages on radial chip thinning, and plane geometry.

use lastply::check::{Options, check};
use lastply::job::{CutDirection, Job, NoFiles};
use lastply::operation::{Cut, CutStyle, Path, Side, Stretch};
use lastply::source::{NoLibrary, Source};

/// A panel 200 mm by 100 mm and 6 mm thick with a hole of 16 mm in it, and a router of 12 mm.
const JOB: &str = r#"
[job]
part = "P"
units = "mm"
entry_z = 0.0
laminate = "plate"

[machine]
dialect = "shop"
number_input = "decimal"

[laminate.plate]
layers = [{ material = "carbon-tape", plies = 48, ply = 0.125 }]

[tool.1]
kind = "router"
diameter = 12.0
edges = 2

[workpiece]
rectangle = { x = [0, 200], y = [0, 100] }
holes = [{ x = 150, y = 50, diameter = 16 }]

[[edges]]
id = "SLOT"
slot = { at = [60, 50], length = 70, width = 22, angle = 0 }
opening = true
tolerance = 0.1
"#;

/// The cuts of some blocks that begin at Z6 above X0 Y0.
fn cuts(blocks: &str) -> Vec<Cut> {
    let job = Job::load(&Source::new("p.job.toml", JOB), &NoFiles).unwrap();
    let mut options = Options::of_job(Some(&job)).unwrap();
    options.keep_stretches = true;
    let program = format!("G21 G90 G94 G17 G40 G49 G80\nT1 M6\nS8000 M3\nG0 G43 H1 X0 Y0 Z6\n{blocks}\nG0 Z50\nM30\n");
    check(Source::new("p.nc", program.as_str()), Some(&job), &NoLibrary, &options).survey.cuts
}

/// The longest stretch of the last cut.
fn longest(cuts: &[Cut]) -> Stretch {
    let stretches = &cuts.last().unwrap().stretches;
    *stretches.iter().max_by(|one, other| one.length.total_cmp(&other.length)).unwrap()
}

/// Holds the greatest engagement of a stretch to one degree; the least may be two less, where the stretch begins or ends.
#[track_caller]
fn within_a_degree(stretch: &Stretch, angle: f64) {
    let (least, most) = stretch.engagement.unwrap();
    assert!((most - angle).abs() < 1.0 && most - least <= 2.0, "{least} to {most}, not {angle} degrees");
}

/// 36.9 degrees at a tenth of the diameter is the figure printed with the worked example of a public page on radial chip
/// thinning (machinecalcs.com); the rest is acos(1 - 2 ae/D), which it and a second page (formulafactory.tools) give.
#[test]
fn side_cuts_by_their_share_of_the_diameter() {
    let table = [
        (0.01, 11.48),
        (0.02, 16.26),
        (0.05, 25.84),
        (0.10, 36.87),
        (0.15, 45.57),
        (0.20, 53.13),
        (0.25, 60.00),
        (0.30, 66.42),
        (0.40, 78.46),
        (0.50, 90.00),
    ];
    for (share, angle) in table {
        let found = cuts(&format!("X-30 Y{}\nG1 Z-7 F600\nX230 F1200", 12.0 * share - 6.0));
        let stretch = longest(&found);
        within_a_degree(&stretch, angle);
        let cut = found.last().unwrap();
        let style = if share <= 0.1 { CutStyle::Light } else { CutStyle::Profile };
        assert_eq!(
            (cut.style, cut.side, cut.direction),
            (Some(style), Some(Side::Left), Some(CutDirection::Conventional))
        );
    }
}

#[test]
fn a_slot_and_the_pass_beside_it() {
    let found = cuts("X-30 Y50\nG1 Z-7 F600\nX120 F1200\nG0 Z6\nX-30 Y53\nG1 Z-7 F600\nX120 F1200");
    let [slot, beside] = found.as_slice() else { panic!("{found:#?}") };
    within_a_degree(&longest(std::slice::from_ref(slot)), 180.0);
    assert_eq!(slot.style, Some(CutStyle::Slot));
    // A quarter of the diameter is left.
    within_a_degree(&longest(std::slice::from_ref(beside)), 60.0);
    assert_eq!(beside.side, Some(Side::Left));
}

/// The tool of radius r on a circle of radius e in a pilot of radius p: the law of cosines in the triangle of the two
/// middles and the point where both circles meet gives cos a = (p^2 - e^2 - r^2) / (2 e r) from the way outwards.
#[test]
fn an_orbit_in_a_pilot() {
    let found = cuts("X150 Y50\nG1 Z-7 F600\nX155 F300\nG3 I-5 F600\nG1 X190");
    let cosine: f64 = (64.0 - 25.0 - 36.0) / (2.0 * 5.0 * 6.0);
    let circle = found.iter().flat_map(|cut| &cut.stretches).filter(|stretch| stretch.path != Path::Line);
    let circle = circle.max_by(|one, other| one.length.total_cmp(&other.length)).unwrap();
    assert_eq!(circle.path, Path::Arc { radius: 5.0, inside: true });
    within_a_degree(circle, cosine.acos().to_degrees());
}

#[test]
fn the_ends_of_a_slot_have_their_wall_outside() {
    // Down the middle first, then round the walls: a path of 5 mm radius in a slot end of 11 mm.
    let rough = "X36 Y50\nG1 Z-7 F600\nX84 F1200\nG0 Z6\n";
    let round = "X60 Y45\nG1 Z-7 F600\nX84 F1200\nG3 Y55 J5\nG1 X36\nG3 Y45 J-5\nG1 X60";
    let found = cuts(&format!("{rough}{round}"));
    let cut = found.last().unwrap();
    assert_eq!((cut.edge, cut.side, cut.direction), (Some(0), Some(Side::Right), Some(CutDirection::Climb)));
    let ends: Vec<Path> = cut.stretches.iter().map(|stretch| stretch.path).filter(|path| *path != Path::Line).collect();
    assert!(ends.contains(&Path::Arc { radius: 5.0, inside: true }), "{ends:?}");
    assert!(!ends.contains(&Path::Arc { radius: 5.0, inside: false }), "{ends:?}");
}
