//! Patches of trimming programs: depth, way in, side, feed and exact stop, each through both public tools.

use super::{Case, root};

/// A program of the trim job: tool 2 beside the 6 mm panel at Y105, down to the height given.
fn trim(body: &str) -> Case {
    with_tool(2, "X-20. Y105.", body)
}

/// A program of the trim job that starts with a tool at a place.
fn with_tool(tool: u32, start: &str, body: &str) -> Case {
    let head = format!("G21 G90 G94 G17 G40 G49 G80 G54\nT{tool} M6\nS15000 M3 M7\nG0 G43 H{tool} {start} Z5.\n");
    let program = format!("{head}{body}G0 Z5.\nM30\n");
    Case::new("edge.nc", program.as_bytes(), &root().join("tests/jobs/trim.toml"))
}

/// Cures `rule` by putting `new` in place of `old`; what comes out needs no further patch of that rule.
#[track_caller]
fn cures(case: &Case, rule: &str, old: &str, new: &str) {
    let patch = case.patch();
    assert!(case.cured(&patch).contains(rule), "{rule}: {:?}", patch.verdict());
    let before = String::from_utf8(case.report.sources[0].bytes.clone()).unwrap();
    assert!(before.contains(old));
    let after = case.patched(&patch);
    assert_eq!(after, before.replacen(old, new, 1));
    let again = Case::new("edge.nc", after.as_bytes(), &root().join("tests/jobs/trim.toml"));
    assert!(again.report.findings.iter().all(|finding| finding.rule != rule), "{after}");
}

/// Why a finding of `rule` is left.
#[track_caller]
fn left(case: &Case, rule: &str) -> String {
    let patch = case.patch();
    let index = case.report.findings.iter().position(|finding| finding.rule == rule).expect(rule);
    let left = patch.verdict().left.iter().find(|(left, _)| *left == index);
    left.unwrap_or_else(|| panic!("{rule} is cured: {}", String::from_utf8_lossy(&patch.diff()))).1.clone()
}

/// The exact stop of an earlier move stays; the one left on over the short moves behind it goes.
#[test]
fn an_exact_stop_is_cancelled_where_the_short_moves_begin() {
    for (feed, step, rule) in [(1000, 0.2, "reached-feed-below-floor"), (2400, 1.0, "exact-stop-left-on")] {
        let moves: String = (2..=12).map(|count| format!("X{:.1}\n", 50.0 + f64::from(count) * step)).collect();
        let first = format!("X{:.1} F{feed}.\n", 50.0 + step);
        let case = trim(&format!("G0 Z-7.\nG61\nG1 X50. F2000.\n{first}{moves}G64\nX220.\n"));
        cures(&case, rule, &first, &format!("G64\n{first}"));
    }
}

/// An exact stop over short moves goes, but not with the corner that they lead round.
#[test]
fn an_exact_stop_that_a_corner_needs_is_left() {
    let along: String = (1..=12).map(|count| format!("X{:.1}\n", 203.0 + f64::from(count) / 6.0)).collect();
    let down: String = (1..=12).map(|count| format!("Y{:.1}\n", 105.0 - f64::from(count) / 6.0)).collect();
    let case = trim(&format!("G0 Z-7.\nG1 X203. F2000.\nG61\n{along}{down}G64\nY-20.\n"));
    let why = left(&case, "reached-feed-below-floor");
    assert_eq!(why, "an exact stop would go at the corner of 90 degrees before line 20");
}

/// The demo's fitting pass: G64 takes the place of the G61 that stands alone before it. Its last pass goes through.
#[test]
fn the_hatch_is_cured_where_words_can_do_it() {
    let hatch = root().join("programs/hatch");
    let program = std::fs::read(hatch.join("hatch_op40_faulty.nc")).unwrap();
    let case = Case::new("hatch.nc", &program, &hatch.join("hatch_op40.job.toml"));
    let patch = case.patch();
    let cured = case.cured(&patch);
    for rule in ["reached-feed-below-floor", "skin-left-uncut", "wall-feed-high", "dwell-in-contact", "hop-over-clamp"]
    {
        assert!(cured.contains(rule), "{rule}: {:?}", patch.verdict());
    }
    let text = case.patched(&patch);
    for part in ["G64 (FITTING PASS)\nG1 X-39.75 F2400.\n", "\n(LOOK AT THE TAB)\n", "\nY125. Z-26.848\nY350.\n"] {
        assert!(text.contains(part), "{part}");
    }
    assert_eq!(text.matches("Z-26.848").count(), 1);
}

/// The panel is 6 mm, 6.18 at its thickest, and asks for 0.5 mm of overhang.
#[test]
fn a_pass_is_put_below_the_thickest_part() {
    let shallow = trim("G0 Z-5.5\nG1 X220. F2000.\n");
    cures(&shallow, "skin-left-uncut", "Z-5.5", "Z-6.68");
    let short = trim("G0 Z-3.\nG1 X220. F2000.\nG0 Z5.\nX-20.\nG0 Z-6.3\nG1 X220. F2000.\n");
    cures(&short, "overhang-short", "Z-6.3", "Z-6.68");
}

/// Every Z word of the pass says the new height, the way over the tab keeps its own.
#[test]
fn a_pass_over_a_tab_comes_back_to_the_new_depth() {
    let way = |z: &str| format!("G0 Z{z}\nG1 X108. Y-5. F2000.\nZ-3.\nX92.\nX40. Z{z}\nX94.\nX-20. Z{z}\n");
    let case = with_tool(2, "X220. Y-5.", &way("-6.3"));
    cures(&case, "overhang-short", &way("-6.3"), &way("-6.68"));
}

/// An up-cut of 4.5 mm puts the crossing 1 mm inside the thinnest part with the tip at -9.32 or higher.
#[test]
fn a_crossing_is_put_inside() {
    let case = with_tool(1, "X-20. Y105.", "G0 Z-11.\nG1 X220. F1000.\n");
    cures(&case, "crossing-outside-laminate", "Z-11.", "Z-9.32");
}

#[test]
fn a_depth_that_no_plain_word_gives_is_left() {
    let increments = trim("G91 G0 Z-10.5\nG1 X240. F2000.\nG90\n");
    assert_eq!(left(&increments, "skin-left-uncut"), "its height is given in increments");
    let computed = trim("#1=5.5\nG0 Z[-#1]\nG1 X220. F2000.\n");
    assert_eq!(left(&computed, "skin-left-uncut"), "the height of this pass does not stand in a plain Z word");
}

/// 7.5 mm at 5 degrees are 86 mm of way: four times along the 40 mm of the move behind the plunge.
#[test]
fn a_plunge_becomes_a_ramp_along_the_move_behind_it() {
    let case = with_tool(2, "X80. Y50.", "G1 Z-7. F300.\nG1 X120. F1000.\n");
    let ramp = "G1 Z0.5 F300.\nX120. Z-1.375 F1000.\nX80. Z-3.25\nX120. Z-5.125\nX80. Z-7.\nG1 X120. F1000.\n";
    cures(&case, "plunge-into-material", "G1 Z-7. F300.\nG1 X120. F1000.\n", ramp);
    let long = with_tool(2, "X40. Y20.", "G1 Z-7. F300.\nG1 X140. Y35. F1000.\n");
    let ramp = "G1 Z0.5 F300.\nX82.388 Y26.358 Z-3.25 F1000.\nX40. Y20. Z-7.\nG1 X140. Y35. F1000.\n";
    cures(&long, "plunge-into-material", "G1 Z-7. F300.\nG1 X140. Y35. F1000.\n", ramp);
}

/// 7.5 mm on a circle of 12 mm at 5 degrees: three turns of 2.5 mm.
#[test]
fn a_plunge_becomes_a_helix_round_the_circle_behind_it() {
    let circle = "G3 X86. Y50. I-6. J0. F1000.\n";
    let case = with_tool(2, "X86. Y50.", &format!("G1 Z-7. F300.\n{circle}G1 X120.\n"));
    let turn = "G3 X86. Y50. I-6. J0. Z";
    let helix = format!("G1 Z0.5 F300.\n{turn}-2. F1000.\n{turn}-4.5\n{turn}-7.\n{circle}");
    cures(&case, "plunge-into-material", &format!("G1 Z-7. F300.\n{circle}"), &helix);
}

#[test]
fn a_plunge_without_room_for_a_ramp_is_left() {
    let short = with_tool(2, "X80. Y50.", "G1 Z-7. F300.\nG1 X88. F1000.\nX120.\n");
    let why = "the move behind the plunge is shorter than the tool is wide: no room for a ramp";
    assert_eq!(left(&short, "plunge-into-material"), why);
    let alone = with_tool(2, "X80. Y50.", "G1 Z-7. F300.\n");
    assert_eq!(left(&alone, "plunge-into-material"), "no text edit is known; change it in CAM");
    let increments = with_tool(2, "X80. Y50.", "G91\nG1 Z-12. F300.\nG1 X40. F1000.\nG90\n");
    assert_eq!(left(&increments, "plunge-into-material"), "its height is given in increments");
}

/// The contour itself is programmed; on its right the tool runs inside the panel, and conventional.
#[test]
fn compensation_to_the_wrong_side_is_turned() {
    let body = "G0 X-40. Y100.\nG0 Z-7.\nG42 D2 G1 X-20. F1000.\nX220.\nG40 X240. Y120.\n";
    let case = with_tool(2, "X-40. Y120.", body);
    cures(&case, "direction-changed", "G42", "G41");
    let plain = with_tool(2, "X220. Y105.", "G0 Z-7.\nG1 X-20. F1000.\n");
    let why = "no compensation is in force: the path itself must be posted the other way";
    assert_eq!(left(&plain, "direction-changed"), why);
}

#[test]
fn compensation_by_another_tools_radius_is_put_right() {
    let body = "G0 X-60. Y100.\nG0 Z-7.\nG41 D5 G1 X-20. F1000.\nX220.\nG40 X240. Y120.\n";
    cures(&with_tool(2, "X-60. Y120.", body), "radius-offset-mismatch", "D5", "D2");
}

/// 3 mm are too short to lead in a tool of 10 mm; the 37 mm of the rapid before are not.
#[test]
fn compensation_begins_on_a_move_that_is_long_enough() {
    let tail = "X220.\nG40 X240. Y120.\n";
    let late = format!("G0 X-23.\nG41 D2 G1 X-20. F1000.\n{tail}");
    let early = format!("G41 D2 G0 X-23.\nG1 X-20. F1000.\n{tail}");
    let case = with_tool(2, "X-60. Y100.", &format!("G0 Z-7.\n{late}"));
    cures(&case, "compensation-impossible", &late, &early);
    let case = with_tool(2, "X-23. Y100.", &format!("G0 Z-7.\nG41 D2 G1 X-20. F1000.\n{tail}"));
    let why = "no rapid in the plane stands before it, which could lead in";
    assert_eq!(left(&case, "compensation-impossible"), why);
}

/// A 2 mm path in a 7 mm slot end may have 685.7 mm/min; the moves behind it keep theirs, stated or taken over.
#[test]
fn an_arc_is_slowed_for_itself_alone() {
    let slot = |arc: &str, behind: &str| {
        let way = "G0 X77. Y48. Z1.\nS10000\nG1 X123. Z-2. F1000.\nX77. Z-5.\nX123. Z-7.\nX77.\nX123.\n";
        format!("{way}{arc}\n{behind}\nG0 Z5.\n")
    };
    let cases = [
        ("G3 Y52. J2.", "G1 X77.", "G3 Y52. J2. F685.7", "G1 X77. F1000."),
        ("G3 Y52. J2. F1000.", "G1 X77.", "G3 Y52. J2. F685.7", "G1 X77. F1000."),
        ("G3 Y52. J2.", "G1 X77. F900.", "G3 Y52. J2. F685.7", "G1 X77. F900."),
        (
            "G3 X125. Y50. J2.\nX123. Y52. I-2.",
            "G1 X77.",
            "G3 X125. Y50. J2. F685.7\nX123. Y52. I-2.",
            "G1 X77. F1000.",
        ),
    ];
    for (arc, behind, slowed, restored) in cases {
        let case = with_tool(2, "X77. Y48.", &slot(arc, behind));
        cures(&case, "wall-feed-high", &slot(arc, behind), &slot(slowed, restored));
    }
    let line = trim("G0 Z-7.\nG1 X-19. F5000.\nX100.\nX220.\n");
    let why = left(&line, "wall-feed-high");
    assert_eq!(why, "the feed of this cut is stated before it, for other moves too");
}
