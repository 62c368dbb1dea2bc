//! Whole programs through the state machine and the recogniser.

use super::watched::{self, DRILL, PLATE};
use super::{Contact, Hole, Origin, Recipe, Stroke, StrokeKind, Survey, ToolUse, Watcher};
use crate::motion::{BlockRef, CycleCode, CyclePart, MotionFault, SpindleSense, Step, StepKind};
use proptest::prelude::*;

/// Tools beside the drill.
const TOOLS: &str = r#"
[tool.2]
kind = "reamer"
diameter = 6.1
edges = 4
lead = 1.0

[tool.3]
kind = "router"
diameter = 4.0
edges = 2
end_cutting = true

[tool.4]
kind = "countersink"
diameter = 12.0
edges = 3
angle = 100
tip = 0.0

[tool.5]
kind = "twist-drill"
diameter = 5.0
edges = 2
point = 118
"#;

#[derive(Default)]
struct Log {
    steps: Vec<(StepKind, [f64; 3], [f64; 3], Contact)>,
    holes: Vec<(u32, bool)>,
    tools: Vec<u32>,
    faults: Vec<String>,
}

impl Watcher for Log {
    fn step(&mut self, step: &Step<'_>, contact: Contact) {
        self.steps.push((step.kind, step.from.xyz, step.to.xyz, contact));
    }
    fn hole(&mut self, index: u32, new: bool, survey: &Survey) {
        assert_eq!(survey.holes.len(), index as usize + 1);
        self.holes.push((index, new));
    }
    fn tool(&mut self, used: &ToolUse, _: &Survey) {
        self.tools.push(used.tool);
    }
    fn fault(&mut self, fault: MotionFault) {
        self.faults.push(format!("{fault:?}"));
    }
    fn block(&mut self, _: BlockRef, _: bool) {}
}

/// Runs a program with the job, or without any.
fn watch(with_job: bool, program: &str) -> (Survey, Log) {
    let job = with_job.then(|| watched::job(&format!("{PLATE}{DRILL}{TOOLS}")));
    let (survey, log) = watched::watch(job.as_ref(), program, Log::default());
    assert_eq!(survey.holes.len(), survey.earlier.len());
    assert_eq!(survey.recipes.len(), log.holes.iter().filter(|(_, new)| *new).count());
    (survey, log)
}

/// Runs blocks with tool `tool` in the spindle, at Z50 over X0 Y0.
fn with_tool(tool: u32, blocks: &str) -> (Survey, Log) {
    watch(true, &format!("{}{blocks}\nM30\n", change(tool)))
}

fn change(tool: u32) -> String {
    format!("G21 G90 G94 G17 G40 G49 G80\nT{tool} M6\nS2000 M3\nG0 G43 H{tool} X0 Y0 Z50\n")
}

fn places(survey: &Survey) -> Vec<(f64, f64)> {
    survey.holes.iter().map(|hole| (hole.x, hole.y)).collect()
}

fn only(survey: &Survey) -> (&Hole, &Recipe) {
    let [hole] = survey.holes.as_slice() else { panic!("one hole expected, not {:?}", survey.holes) };
    (hole, survey.recipe_of(hole).unwrap())
}

/// Feed strokes as (from, to, feed).
fn feeds(recipe: &Recipe) -> Vec<(f64, f64, Option<f64>)> {
    let feeds = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed);
    feeds.map(|stroke| (stroke.from, stroke.to, stroke.feed)).collect()
}

fn rapids_in_material(log: &Log) -> usize {
    let rapid =
        |(kind, _, _, contact): &&(StepKind, _, _, Contact)| *kind == StepKind::Rapid && *contact == Contact::Material;
    log.steps.iter().filter(rapid).count()
}

#[test]
fn holes_of_one_series_share_a_recipe() {
    let (survey, log) = with_tool(1, "G99 G81 X10 Y20 Z-8.5 R2 F120\nX20\nY40\nX30 Z-9\nG80");
    assert_eq!(places(&survey), [(10.0, 20.0), (20.0, 20.0), (20.0, 40.0), (30.0, 40.0)]);
    let recipes: Vec<u32> = survey.holes.iter().map(|hole| hole.recipe).collect();
    assert_eq!(recipes, [0, 0, 0, 1]);
    let first = survey.recipes.first().unwrap();
    assert_eq!(first.origin, Origin::Cycle(CycleCode::G81));
    assert_eq!(feeds(first), [(2.0, -8.5, Some(120.0))]);
    assert_eq!((first.tool, first.r, first.bottom, first.clear), (1, Some(2.0), -8.5, 2.0));
    assert!(first.heights_known);
    assert_eq!(rapids_in_material(&log), 0);
    assert!(log.faults.is_empty(), "{:?}", log.faults);
    assert_eq!(log.tools, [1]);
}

#[test]
fn every_hop_between_holes_is_seen() {
    let (_, log) = with_tool(1, "G99 G81 X10 Y0 Z-8 R2 F120\nX20\nX30\nX40\nG80");
    let hop = |x: f64| ([x, 0.0, 2.0], [x + 10.0, 0.0, 2.0]);
    let sideways = log.steps.iter().filter(|(kind, from, to, _)| *kind == StepKind::Rapid && from[0] != to[0]);
    let seen: Vec<_> = sideways.map(|(_, from, to, _)| (*from, *to)).skip(1).collect();
    assert_eq!(seen, [hop(10.0), hop(20.0), hop(30.0)]);
}

#[test]
fn a_changed_state_is_seen_even_when_the_recipe_is_the_same() {
    let (survey, log) = with_tool(1, "G99 G81 X10 Y0 Z-8 R2 F120\nM8\nX20\nG80");
    assert_eq!(survey.recipes.len(), 1);
    let feeds = log.steps.iter().filter(|(kind, ..)| *kind == StepKind::Line).count();
    assert_eq!(feeds, 2);
}

/// Kind, start and end in nanometres, feed, speed and sense of a stroke.
type Plain = (StrokeKind, i64, i64, Option<f64>, Option<f64>, SpindleSense);

/// Strokes from the first that enters the plate, without their blocks and cycle parts.
fn plain(recipe: &Recipe) -> Vec<Plain> {
    let height = |value: f64| libm::round(value * 1e6) as i64;
    let plain = |s: &Stroke| (s.kind, height(s.from), height(s.to), s.feed, s.speed, s.sense);
    recipe.strokes.iter().skip_while(|stroke| stroke.to > -1e-6).map(plain).collect()
}

/// The moves of a cycle block, written one by one.
fn by_hand(program: &str) -> String {
    let (_, log) = watch(true, program);
    let moves = log.steps.iter().skip_while(|(kind, _, to, _)| *kind != StepKind::Rapid || to[0] == 0.0);
    moves
        .filter_map(|(kind, _, [x, y, z], _)| match kind {
            StepKind::Rapid => Some(format!("G0 X{x} Y{y} Z{z:.6}\n")),
            StepKind::Line => Some(format!("G1 X{x} Y{y} Z{z:.6} F120\n")),
            _ => None,
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn a_cycle_and_its_long_hand_form_give_the_same_hole(
        code in 0_usize..3, r in 0_u32..40, depth in 1_u32..90, q in 3_u32..60, level in 98_u32..100,
    ) {
        let code = ["G81", "G83", "G73"][code];
        let [r, bottom, q] = [f64::from(r) / 10.0, -f64::from(depth) / 10.0, f64::from(q) / 10.0];
        let q = if code == "G81" { String::new() } else { format!("Q{q}") };
        let program = format!("{}G{level} {code} X10 Y5 Z{bottom} R{r} {q} F120\nM30\n", change(1));
        let (cycle, _) = watch(true, &program);
        let (hand, log) = watch(true, &format!("{}{}G0 X20\nM30\n", change(1), by_hand(&program)));
        let ((place, cycle), (hole, hand)) = (only(&cycle), only(&hand));
        prop_assert_eq!((place.x, place.y), (hole.x, hole.y));
        prop_assert_eq!(plain(cycle), plain(hand));
        prop_assert_eq!((cycle.bottom, cycle.clear), (hand.bottom, hand.clear));
        prop_assert_eq!(rapids_in_material(&log), 0);
    }
}

#[test]
fn a_feed_approach_in_the_air_is_no_hole() {
    let (survey, _) = with_tool(1, "G1 Z3 F500\nX10\nZ1\nG1 Z-8 F120\nG0 Z3\nX30\nG1 Z0.5\nG0 Z50\nX0");
    let (hole, recipe) = only(&survey);
    assert_eq!((hole.x, recipe.start, recipe.bottom), (10.0, 1.0, -8.0));
}

#[test]
fn stops_and_dwells_in_a_hole_are_kept_with_their_depth_and_block() {
    let text = "G0 X10\nZ2\nG1 Z-4 F120\nM5\nG4 P0.5\nG1 Z-8\nG0 Z5\nG4 P2\nX20";
    let (survey, _) = with_tool(1, text);
    let (_, recipe) = only(&survey);
    let dwells: Vec<_> =
        recipe.strokes.iter().filter(|s| matches!(s.kind, StrokeKind::Dwell(_))).map(|s| (s.kind, s.to)).collect();
    assert_eq!(dwells, [(StrokeKind::Dwell(Some(0.5)), -4.0)]);
    let spindle = recipe.strokes.iter().find(|stroke| stroke.kind == StrokeKind::Spindle).unwrap();
    assert_eq!((spindle.sense, spindle.to, spindle.block), (SpindleSense::Stopped, -4.0, 1));
}

#[test]
fn a_hole_left_sideways_below_the_face_is_kept_and_seen() {
    let (survey, log) = with_tool(1, "G0 X10\nZ2\nG1 Z-8 F120\nG0 Z-1\nX20\nG0 Z5");
    assert_eq!(only(&survey).1.clear, -1.0);
    assert_eq!(rapids_in_material(&log), 1);
}

#[test]
fn a_rapid_plunge_into_material_is_seen_and_one_into_a_hole_is_not() {
    let (_, log) = with_tool(1, "G0 X10\nZ-3\nG0 Z5\nX20");
    assert_eq!(rapids_in_material(&log), 1);
    let (_, log) = with_tool(1, "G99 G81 X10 Z-8.5 R2 F120\nG80\nG0 X20\nX10\nZ-8\nZ5\nX30");
    assert_eq!(rapids_in_material(&log), 0);
    let deeper = "G99 G81 X10 Z-4 R2 F120\nG80\nG0 X20\nX10\nZ-5\nZ5\nX30";
    assert_eq!(rapids_in_material(&with_tool(1, deeper).1), 1);
}

#[test]
fn a_reamer_finds_its_pilot() {
    let ream = "G99 G85 X10 Y0 Z-9 R2 F200\nX20\nX30\nG80\nM30\n";
    let program = format!("{}G99 G81 X10 Y0 Z-8.5 R2 F120\nX20 Z-6.5\nG80\nG0 Z50\n{}{ream}", change(1), change(2));
    let (survey, _) = watch(true, &program);
    let reamed: Vec<f64> = survey.holes.iter().skip(2).map(|hole| survey.recipe_of(hole).unwrap().pilot).collect();
    assert_eq!(reamed, [6.0, 0.0, 0.0]);
    assert_eq!(survey.earlier, [0, 0, 1, 2, 0]);
    let stretches: Vec<_> = survey.tools.iter().map(|used| (used.tool, used.holes.clone())).collect();
    assert_eq!(stretches, [(1, 0..2), (2, 2..5)]);
}

#[test]
fn a_pilot_stays_the_pilot_through_a_countersink() {
    let program = format!(
        "{}G99 G81 X10 Z-9 R2 F120\nG80\nG0 Z50\n{}G99 G82 X10 Z-2 R2 P0.2 F100\nG80\nG0 Z50\n{}G99 G85 X10 Z-9 R2 F100\nM30\n",
        change(1),
        change(4),
        change(2)
    );
    let (survey, _) = watch(true, &program);
    let pilots: Vec<f64> = survey.recipes.iter().map(|recipe| recipe.pilot).collect();
    assert_eq!(pilots, [0.0, 6.0, 6.0]);
    assert_eq!(survey.earlier, [0, 1, 2]);
}

#[test]
fn the_same_hole_again_is_linked_to_the_first() {
    let (survey, _) = with_tool(1, "G99 G81 X10 Z-9 R2 F120\nX20\nX10.02\nG80");
    assert_eq!(survey.earlier, [0, 0, 1]);
    assert_eq!(survey.earlier_than(2).unwrap().0, 0);
}

#[test]
fn a_helix_down_through_is_a_milled_hole() {
    let turns = "G0 X13\nZ1\nG1 Z0 F500\nG3 X13 I-3 Z-2 F240\nI-3 Z-4\nI-3 Z-6.5\nI-3\nG1 X10\nG0 Z20\nX50";
    let (survey, log) = with_tool(3, turns);
    let (hole, recipe) = only(&survey);
    assert_eq!((hole.x, hole.y, recipe.origin), (10.0, 0.0, Origin::Orbit));
    let orbit = recipe.orbit.unwrap();
    assert_eq!((orbit.diameter, orbit.clockwise), (6.0, false));
    assert!((orbit.pitch - 6.5 / 3.0).abs() < 1e-9, "{}", orbit.pitch);
    assert_eq!((recipe.bottom, recipe.clear), (-6.5, 20.0));
    assert_eq!(rapids_in_material(&log), 0);
    let used = survey.tools.first().unwrap();
    assert_eq!((used.cut_length, used.drilled_length), (0.0, 6.0));
}

#[test]
fn circles_with_plunges_between_are_a_milled_hole() {
    let circles = "G0 X10\nZ1\nG1 Z-2 F100\nX13 F240\nG2 I-3\nG1 Z-4 F100\nG2 I-3 F240\nG1 Z-6.5\nG2 I-3\nG0 Z20\nX50";
    let (survey, _) = with_tool(3, circles);
    let (hole, recipe) = only(&survey);
    assert_eq!((hole.x, hole.y), (10.0, 0.0));
    let orbit = recipe.orbit.unwrap();
    assert_eq!((orbit.diameter, orbit.clockwise), (6.0, true));
    assert!((orbit.pitch - 6.5 / 3.0).abs() < 1e-9, "{}", orbit.pitch);
}

#[test]
fn trimming_is_no_hole() {
    for path in [
        "G0 X10\nZ1\nG1 Z-6.5 F100\nX60 F600\nY30\nG3 X50 Y40 I-10\nG1 X10\nY0\nG0 Z20\nX0",
        "G0 X10\nZ1\nG1 Z-6.5 F100\nX60 F600\nG0 Z20\nX0",
        "G0 X40\nZ1\nG1 Z-6.5 F100\nG2 I-40 F600\nG0 Z20\nX0",
        "G0 X3\nZ0\nG3 I-3 Z-2 F200\nI-3 Z-4\nG1 X30\nY20\nG0 Z20\nX0",
    ] {
        let (survey, _) = with_tool(3, path);
        assert_eq!(survey.holes, [], "{path}");
        assert!(survey.tools.first().unwrap().cut_length > 40.0, "{path}");
    }
}

#[test]
fn without_a_job_plunges_and_cycles_are_holes() {
    let (survey, log) = watch(false, "G21 G90\nG0 X5 Y5 Z5\nG1 Z-3 F100\nG0 Z5\nX10\nG81 Z-4 R2\nG80\nM30\n");
    assert_eq!(places(&survey), [(5.0, 5.0), (10.0, 5.0)]);
    let material: Vec<_> = log.steps.iter().filter(|(.., contact)| *contact == Contact::Material).collect();
    let (kind, _, to, _) = *material.first().unwrap();
    assert_eq!((material.len(), *kind, *to), (1, StepKind::Line, [10.0, 5.0, -4.0]));
}

#[test]
fn heights_are_unknown_without_a_length_offset() {
    let known = |blocks: &str| {
        let (survey, _) = watch(true, &format!("G21 G90 G49\nT1 M6\nS2000 M3\n{blocks}\nM30\n"));
        only(&survey).1.heights_known
    };
    assert!(known("G0 G43 H1 X0 Y0 Z5\nG81 Z-8 R2 F100"));
    assert!(!known("G0 X0 Y0 Z5\nG81 Z-8 R2 F100"));
    // Another tool's number is a finding of its own; the holes are judged as meant.
    assert!(known("G0 G43 H2 X0 Y0 Z5\nG81 Z-8 R2 F100"));
    assert!(!known("G0 G43 H1 X0 Y0 Z5\nG49\nG81 Z-8 R2 F100"));
    assert!(!known("G0 G43 H1 X0 Y0 Z5\nB30\nG81 Z-8 R2 F100"));
}

#[test]
fn a_cycle_across_another_axis_is_a_hole_along_it() {
    let (survey, _) = watch(true, "G21 G90 G18\nT1 M6\nS2000 M3\nG0 G43 H1 X0 Y10 Z0\nG81 X1 Z2 Y-5 R2 F100\nM30\n");
    let (hole, recipe) = only(&survey);
    assert_eq!((recipe.axis, hole.x, hole.y, recipe.bottom), (1, 2.0, 1.0, -5.0));
}

#[test]
fn an_unknown_position_is_not_a_number() {
    let (survey, _) = watch(false, "G21 G90\nS2000 M3\nGOTO 5\nG81 Z-5 R2 F100\nG81 X5 Y5 Z-5 R2 F100\nM30\n");
    let [lost, found] = survey.holes.as_slice() else { panic!("two holes expected") };
    assert!(lost.x.is_nan() && lost.y.is_nan());
    assert_eq!((found.x, found.y), (5.0, 5.0));
}

#[test]
fn a_hole_left_by_the_tool_change_belongs_to_the_old_tool() {
    let hand = "G0 X10\nZ2\nG1 Z-8 F120\nG0 Z50\n";
    let (survey, _) = watch(true, &format!("{}{hand}{}M30\n", change(1), change(2)));
    let (_, recipe) = only(&survey);
    assert_eq!((recipe.tool, recipe.heights_known), (1, true));
    assert_eq!(survey.tools.first().map(|used| (used.tool, used.holes.clone())), Some((1, 0..1)));
}

#[test]
fn a_tool_that_comes_back_only_counts_what_it_goes_deeper() {
    let (survey, _) = with_tool(1, "G99 G81 X10 Z-4 R2 F120\nG80\nG0 Z50\nG0 Z-3.8\nG1 Z-8\nG0 Z50\nX0");
    assert_eq!(survey.earlier, [0, 1]);
    assert_eq!(survey.tools.first().unwrap().drilled_length, 6.0);
    assert!(survey.returns_to(1) && !survey.returns_to(0));
}

#[test]
fn what_a_tool_did_is_summed_up() {
    let (survey, _) = with_tool(1, "G99 G81 X10 Z-8 R2 F120\nX20\nG80\nG0 X30\nG1 Z-4 F60\nG0 Z5");
    let used = survey.tools.first().unwrap();
    assert_eq!(used.holes, 0..3);
    assert_eq!(used.lowest, Some(-8.0));
    assert!((used.drilled_length - 16.0).abs() < 1e-9, "{}", used.drilled_length);
    assert!((used.feed_time - (2.0 * 5.0 + 6.0)).abs() < 1e-9, "{}", used.feed_time);
}

#[test]
fn holes_of_a_subprogram_keep_their_calls() {
    let sub = "O100\nG99 G81 X10 Z-8 R2 F120\nG80\nM99\n";
    let (survey, _) = watch(true, &format!("O1\n{}M98 P100\nG0 X20\nM98 P100\nM30\n{sub}", change(1)));
    let traces: Vec<_> = survey.holes.iter().map(|hole| hole.trace).collect();
    assert_ne!(traces.first(), traces.last());
    assert_eq!(survey.earlier, [0, 1]);
    let pilots: Vec<f64> = survey.recipes.iter().map(|recipe| recipe.pilot).collect();
    assert_eq!(pilots, [0.0, 6.0]);
}

#[test]
fn tapping_and_boring_keep_their_spindle_changes() {
    let (survey, _) = with_tool(2, "G99 G86 X10 Z-8 R2 P0.5 F100\nX20\nG80");
    assert_eq!(survey.recipes.len(), 1);
    let recipe = survey.recipes.first().unwrap();
    let parts: Vec<_> = recipe.strokes.iter().map(|stroke| (stroke.kind, stroke.sense, stroke.part)).collect();
    let (cw, stopped) = (SpindleSense::Clockwise, SpindleSense::Stopped);
    let expected = [
        (StrokeKind::Feed, cw, Some(CyclePart::Feed(1))),
        (StrokeKind::Dwell(Some(0.5)), cw, Some(CyclePart::Dwell)),
        (StrokeKind::Spindle, stopped, Some(CyclePart::Spindle)),
        (StrokeKind::Rapid, stopped, Some(CyclePart::Retract)),
        (StrokeKind::Spindle, cw, Some(CyclePart::Spindle)),
    ];
    assert_eq!(parts, expected);
}

#[test]
fn a_shifted_pattern_lies_where_it_is_drilled() {
    let pattern = "G0 Z5\nG99 G81 X10 Y0 Z-8 R2 F120\nX20\nG80";
    let shifted = format!("{pattern}\nG52 X100\n{pattern}\nG52 X0\n{pattern}\nG92 X0\nG0 X3\n{pattern}");
    let (survey, _) = with_tool(1, &shifted);
    let x: Vec<f64> = survey.holes.iter().map(|hole| hole.x).collect();
    assert_eq!(x, [10.0, 20.0, 110.0, 120.0, 10.0, 20.0, 30.0, 40.0]);
    assert_eq!(survey.earlier, [0, 0, 0, 0, 1, 2, 0, 0]);
}

#[test]
fn the_same_coordinates_under_another_work_offset_are_another_place() {
    let drill = "G0 X0 Y0 Z5\nG99 G81 X10 Y0 Z-8 R2 F120\nG80";
    let (survey, _) = with_tool(1, &format!("G54\n{drill}\nG55\n{drill}\nG54\n{drill}"));
    assert_eq!(survey.earlier, [0, 0, 1]);
}

#[test]
fn a_cycle_straight_after_a_shift_lies_where_it_is_drilled() {
    let row = "G99 G81 X20 Y320 Z-8 R2 F120\nX60\nX160 G98\nG80";
    let hand = "G0 X20 Y320\nG1 Z-8 F120\nG0 Z50\nG0 X60\nG1 Z-8\nG0 Z50\nG0 X160\nG1 Z-8\nG0 Z50";
    for blocks in [row, hand] {
        for shift in ["G52 X0 Y-300", "G92 X0 Y300"] {
            for back in ["G52 X0 Y0\nG92.1", "G0 X7\nG52 X0 Y0\nG92.1\nG0 X3"] {
                let (survey, _) = with_tool(1, &format!("{shift}\n{blocks}\n{back}"));
                assert_eq!(places(&survey), [(20.0, 20.0), (60.0, 20.0), (160.0, 20.0)], "{shift}, {blocks}, {back}");
            }
        }
    }
}

/// Before the first position and behind a home that nobody knows, no jump of the coordinates tells of G52.
#[test]
fn a_shift_counts_where_the_position_is_not_known() {
    let row = "G0 X20 Y320\nG99 G81 X20 Y320 Z-8 R2 F120\nX60\nG80";
    let early = format!("G21 G90 G94 G17\nG52 X0 Y-300\nT1 M6\nS2000 M3\nG43 H1\n{row}\nM30\n");
    let homed = format!("{}G28\nG52 X0 Y-300\n{row}\nM30\n", change(1));
    let elsewhere = format!("{}G54\nG52 X0 Y-300\nG55\n{row}\nG52 X0 Y0\nM30\n", change(1));
    for program in [early, homed, elsewhere] {
        assert_eq!(places(&watch(true, &program).0), [(20.0, 20.0), (60.0, 20.0)], "{program}");
    }
    let back = format!("{}G52 X0 Y-300\nG52 X0 Y0\nG28\n{row}\nM30\n", change(1));
    assert_eq!(places(&watch(true, &back).0), [(20.0, 320.0), (60.0, 320.0)]);
}
