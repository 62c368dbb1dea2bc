//! Whole programs through the state machine into cuts, in a panel 200 mm x 100 mm and 6 mm thick.

use crate::job::CutDirection;
use crate::motion::{BlockRef, Cause, MotionFault, Step};
use crate::operation::{
    Contact, Cut, CutEntry, CutStyle, LayerLength, Path, Side, Stretch, Survey, ToolUse, Watcher, watched,
};
use std::fmt::Write;

const JOB: &str = r#"
[job]
part = "P"
units = "mm"
entry_z = 0.0
laminate = "skin"

[machine]
dialect = "shop"
dwell_unit = "seconds"
number_input = "decimal"

[laminate.skin]
layers = [
  { material = "carbon-tape", plies = 16, ply = 0.125 },
  { material = "foam", plies = 1, ply = 4.0 },
]

[laminate.thin]
layers = [
  { name = "upper", material = "glass-fabric", plies = 1, ply = 1.0 },
  { name = "lower", material = "glass-fabric", plies = 1, ply = 1.0 },
]

[tool.1]
kind = "router"
diameter = 12.0
edges = 2
end_cutting = true
"#;

const PANEL: &str = r#"
[workpiece]
rectangle = { x = [0, 200], y = [0, 100] }
raw_margin = 20
zones = [{ id = "THIN", laminate = "thin", rectangle = { x = [120, 180], y = [20, 80] } }]

[[edges]]
id = "OUT"
contour = "outline"
finish = true
tolerance = 0.2
"#;

/// Way engaged along Y106: from where the tool touches the margin's corner, rounded with 20 mm about X0 Y100, at
/// X = -sqrt(26^2 - 6^2), to where its leading half leaves at X220.
const LENGTH: f64 = 220.0 + 25.298;

struct Log(usize);

impl Watcher for Log {
    fn step(&mut self, _: &Step<'_>, _: Contact) {}
    fn hole(&mut self, _: u32, _: bool, _: &Survey) {}
    fn cut(&mut self, cut: &Cut, survey: &Survey) {
        assert_eq!(survey.cuts.len(), self.0);
        assert!(!cut.stretches.is_empty());
        self.0 += 1;
    }
    fn tool(&mut self, _: &ToolUse, survey: &Survey) {
        assert_eq!(survey.cuts.len(), self.0);
    }
    fn fault(&mut self, _: MotionFault) {}
    fn block(&mut self, _: BlockRef, _: bool) {}
}

fn survey_of(job: &str, blocks: &str) -> Survey {
    let job = watched::job(job);
    let text = format!("G21 G90 G94 G17 G40 G49 G80\nT1 M6\nS8000 M3\nG0 G43 H1 X0 Y0 Z50\n{blocks}\nG0 Z50\nM30\n");
    let (survey, Log(cuts)) = watched::watch(Some(&job), &text, Log(0));
    assert_eq!(cuts, survey.cuts.len());
    survey
}

fn in_panel(blocks: &str) -> Survey {
    survey_of(&format!("{JOB}{PANEL}"), blocks)
}

fn only(survey: &Survey) -> &Cut {
    let [cut] = survey.cuts.as_slice() else { panic!("one cut expected, not {:#?}", survey.cuts) };
    cut
}

#[track_caller]
fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected}");
}

fn most(stretch: &Stretch) -> f64 {
    stretch.engagement.unwrap().1
}

#[test]
fn a_trim_of_the_outline_is_a_slot_along_its_edge() {
    let survey = in_panel("G0 X-40 Y106\nZ2\nG1 Z-6.5 F600\nX240 F1200");
    let cut = only(&survey);
    near(cut.length, LENGTH, 0.5);
    assert_eq!((cut.entry, cut.style), (CutEntry::Straight, Some(CutStyle::Slot)));
    assert_eq!((cut.side, cut.direction), (Some(Side::Right), Some(CutDirection::Climb)));
    assert_eq!((cut.edge, cut.lowest), (Some(0), -6.5));
    assert_eq!(survey.tools.first().unwrap().cut_length, cut.length);
    let slot = cut.stretches.iter().max_by(|one, other| one.length.total_cmp(&other.length)).unwrap();
    near(most(slot), 180.0, 1.0);
    assert_eq!((slot.path, slot.moves, slot.top, slot.feed), (Path::Line, 1, 0.0, Some(1200.0)));
}

#[test]
fn a_second_pass_cuts_what_the_first_left() {
    let survey = in_panel("G0 X-40 Y107\nZ2\nG1 Z-6.5 F600\nX240 F1200\nG0 Z5\nX-40 Y106\nG1 Z-6.5 F600\nX240 F1200");
    let [rough, finish] = survey.cuts.as_slice() else { panic!("{:#?}", survey.cuts) };
    assert_eq!((rough.style, finish.style), (Some(CutStyle::Slot), Some(CutStyle::Light)));
    assert_eq!((rough.edge, finish.edge), (None, Some(0)));
    let long = finish.stretches.iter().max_by(|one, other| one.length.total_cmp(&other.length)).unwrap();
    near(most(long), libm::acos(1.0 - 2.0 / 12.0).to_degrees(), 1.0);
    let again = in_panel("G0 X-40 Y106\nZ2\nG1 Z-6.5 F600\nX240 F1200\nX-40");
    near(only(&again).length, LENGTH, 0.5);
}

#[test]
fn lead_ins_in_air_are_no_cut() {
    let survey = in_panel("G0 X-60 Y50\nZ2\nG1 Z-6.5 F600\nX-30 F1200\nY60\nG0 Z50");
    assert_eq!(survey.cuts, []);
    assert_eq!(survey.tools.first().unwrap().cut_length, 0.0);
}

#[test]
fn entries_are_told_apart() {
    for (blocks, entry) in [
        ("G0 X60 Y50\nZ2\nG1 Z-6.5 F300\nX100 F1200", CutEntry::Plunge),
        ("G0 X-60 Y50\nZ2\nG1 Z-6.5 F300\nX30 F1200", CutEntry::Straight),
        ("G0 X-40 Y70\nZ2\nG1 Z-6.5 F300\nG3 X-20 Y50 I20 F1200\nG1 X30", CutEntry::Arc),
        ("G0 X60 Y50\nZ2\nG1 Z-6.5 F300\nG0 Z5\nG1 Z-6.5\nX100 F1200", CutEntry::Open),
    ] {
        let survey = in_panel(blocks);
        let cut = survey.cuts.last().unwrap();
        assert_eq!(cut.entry, entry, "{blocks}: {:#?}", survey.cuts);
    }
    let ramp = in_panel("G0 X60 Y50\nZ0\nG1 X120 Z-6 F600\nX60");
    let CutEntry::Ramp(degrees) = only(&ramp).entry else { panic!("{ramp:#?}") };
    near(degrees, libm::atan(0.1).to_degrees(), 1e-9);
    near(only(&ramp).stretches.first().unwrap().descent, degrees, 1e-9);
    let helix = in_panel("G0 X66 Y50\nZ0\nG3 I-6 Z-2 F600\nI-6 Z-4\nI-6 Z-6\nI-6\nG1 X100");
    let CutEntry::Ramp(degrees) = only(&helix).entry else { panic!("{helix:#?}") };
    near(degrees, libm::atan(2.0 / (12.0 * std::f64::consts::PI)).to_degrees(), 1e-9);
    assert_eq!(only(&helix).stretches.first().unwrap().path, Path::Arc { radius: 6.0, inside: true });
}

#[test]
fn a_hole_made_before_is_an_opening() {
    let drilled = "G99 G81 X60 Y50 Z-6.5 R2 F300\nG80\nG0 Z5\nG1 Z-6.5\nX100 F1200";
    let survey = in_panel(drilled);
    assert_eq!(survey.holes.len(), 1);
    assert_eq!(only(&survey).entry, CutEntry::Open);
    near(only(&survey).length, 40.0, 0.5);
}

#[test]
fn alike_moves_make_one_stretch() {
    let mut blocks = String::from("G0 X-40 Y106\nZ2\nG1 Z-6.5 F600\nX20 F1200\n");
    for step in 1..=400 {
        writeln!(blocks, "X{}", 20.0 + 0.25 * f64::from(step)).unwrap();
    }
    blocks.push_str("F900\nX180");
    let survey = in_panel(&blocks);
    let cut = only(&survey);
    let full: Vec<_> = cut.stretches.iter().filter(|stretch| most(stretch) > 178.0).collect();
    let [fast, slow] = full.as_slice() else { panic!("{:#?}", cut.stretches) };
    assert_eq!((fast.moves, slow.moves), (401, 1));
    assert_eq!((fast.feed, slow.feed), (Some(1200.0), Some(900.0)));
    near(fast.length + slow.length, 200.0 - 6.0, 7.0);
}

#[test]
fn zones_and_layers_are_told_apart() {
    let survey = in_panel("G0 X60 Y50\nZ2\nG1 Z-1 F300\nX100 F1200\nX170 Z-1.5");
    let cut = only(&survey);
    assert_eq!(cut.stretches.last().unwrap().zone, Some(0));
    let layers = &survey.tools.first().unwrap().layers;
    let [
        LayerLength { zone: None, layer: 0, length: own },
        LayerLength { zone: Some(0), layer: 0, length: first },
        second,
    ] = layers.as_slice()
    else {
        panic!("{layers:?}")
    };
    assert_eq!((second.zone, second.layer), (Some(0), 1));
    near(*own, 60.0, 6.0);
    near(*first, 50.0, 6.0);
    assert!(second.length <= *first);
}

#[test]
fn without_a_workpiece_contact_comes_from_heights_alone() {
    let survey = survey_of(JOB, "G0 X-60 Y50\nZ2\nG1 Z-6.5 F600\nX240 F1200\nG2 X260 Y30 J-20\nG0 Z5");
    let cut = only(&survey);
    assert_eq!((cut.style, cut.side, cut.direction, cut.edge), (None, None, None, None));
    near(cut.length, 300.0 + 10.0 * std::f64::consts::PI, 1e-9);
    let paths: Vec<_> = cut.stretches.iter().map(|stretch| (stretch.path, stretch.engagement)).collect();
    assert_eq!(paths, [(Path::Plunge, None), (Path::Line, None), (Path::Arc { radius: 20.0, inside: true }, None)]);
}

#[test]
fn stretches_hold_the_feed_their_moves_reached() {
    let machine = "number_input = \"decimal\"\nacceleration = { x = 1.0, y = 1.0, z = 1.0 }\nrapid = { x = 15000, y = 15000, z = 8000 }";
    let job = format!("{JOB}{PANEL}").replace("number_input = \"decimal\"", machine);
    for (step, peak) in [(0.25, 948.683), (0.5, 1341.641)] {
        let mut blocks = String::from("G0 X-40 Y106\nZ2\nG1 Z-6.5 F2400\nX20\nG61.1\n");
        for count in 1..=100 {
            writeln!(blocks, "X{}", 20.0 + step * f64::from(count)).unwrap();
        }
        blocks.push_str("G64\nX240");
        let survey = survey_of(&job, &blocks);
        let cut = only(&survey);
        let slow = cut.stretches.iter().find(|stretch| stretch.exact.is_some()).unwrap();
        let (least, most, cause) = slow.reached.unwrap();
        assert_eq!((slow.moves, cause), (100, Cause::ExactStop));
        // sqrt(a L) of a segment from stop to stop; the first comes in moving and only brakes: sqrt(2 a L).
        near(least, peak, 0.01);
        near(most, peak * std::f64::consts::SQRT_2, 0.02);
        let fast = cut.stretches.last().unwrap();
        assert!(cut.stretches.iter().all(|stretch| stretch.reached.is_some()), "{:#?}", cut.stretches);
        near(fast.reached.unwrap().1, 2400.0, 1e-6);
    }
}

#[test]
fn other_work_offsets_are_not_laid_over_the_panel() {
    let survey = in_panel("G54 G0 X60 Y50\nZ2\nG1 Z-3 F300\nX100\nG0 Z5\nG55 G0 G43 H1 X60 Y50 Z2\nG1 Z-3\nX100");
    let known: Vec<_> = survey.cuts.iter().map(|cut| cut.style.is_some()).collect();
    assert_eq!(known, [true, false]);
}

#[test]
fn a_shifted_origin_moves_the_tool_over_the_panel() {
    let shifted = in_panel("G0 X60 Y50\nZ2\nG1 Z-6.5 F300\nX100\nG0 Z5\nX0 Y0\nG52 X10 Y0\nG0 X50 Y50\nG1 Z-6.5\nX90");
    assert_eq!(shifted.cuts.len(), 1, "the second pass runs where the first did: {:#?}", shifted.cuts);
}

#[test]
fn a_hundred_thousand_tiny_moves_end() {
    let mut blocks = String::from("G0 X60 Y50\nZ2\nG1 Z-6.5 F300\n");
    for step in 0..20_000_u32 {
        let (sin, cos) = (libm::sin(f64::from(step) * 0.37), libm::cos(f64::from(step) * 0.0013));
        writeln!(blocks, "X{:.4} Y{:.4}", 60.0 + 3.0 * cos + 0.01 * sin, 50.0 + 3.0 * sin * cos).unwrap();
    }
    assert!(!in_panel(&blocks).cuts.is_empty());
}

#[test]
fn a_tool_wider_than_the_panel_and_numbers_beyond_all_bounds() {
    let wide = format!("{JOB}{PANEL}").replace("diameter = 12.0", "diameter = 900.0");
    let survey = survey_of(&wide, "G0 X60 Y50\nZ2\nG1 Z-6.5 F300\nX100");
    assert_eq!(only(&survey).entry, CutEntry::Plunge);
    let far = "G0 X60 Y50\nZ2\nG1 Z-6.5 F300\nX1e300\nX60 Y-99999999999999999999\nG2 X60 Y50 R99999999999999999999";
    in_panel(&far.replace("1e300", &"9".repeat(200)));
}
