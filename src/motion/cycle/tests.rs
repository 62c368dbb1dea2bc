//! The published worked examples and the sequence of every cycle, written as `T` traverse, `F` feed, `D` dwell.

use super::{CycleAction, CycleMove, expand};
use crate::motion::{Axes, CycleCall, CycleCode, CyclePart, Plane, Pose, SpindleSense};
use crate::units::trimmed;

/// A G99 call over `x`, `y` from a tool at `from`, R 2, bottom `bottom`.
fn call(code: CycleCode, from: [f64; 3], [x, y]: [f64; 2], r: f64, bottom: f64) -> CycleCall {
    let [_, _, z] = from;
    CycleCall {
        code,
        plane: Plane::Xy,
        from: Pose { xyz: from, ..Pose::default() },
        over: [x, y, z.max(r)],
        known: Axes::XYZ,
        r,
        bottom,
        clear: r,
        peck_clear: r,
        feed_out: r,
        q: None,
        dwell: None,
        back_off: Some(0.254),
        ijk: [None; 3],
        spindle: SpindleSense::Clockwise,
        feed: None,
        repeat: 0,
        stated_at: 0,
        form: 0,
    }
}

fn at_ten(code: CycleCode, bottom: f64) -> CycleCall {
    call(code, [0.0, 0.0, 10.0], [1.0, 1.0], 2.0, bottom)
}

fn written(call: &CycleCall) -> String {
    let mut moves = Vec::new();
    expand(call, &mut |step| moves.push(word(&step)));
    moves.join(" ")
}

fn word(step: &CycleMove) -> String {
    let to = step.to.map(|value| trimmed(value, 4)).join(",");
    match step.action {
        CycleAction::Rapid => format!("T({to})"),
        CycleAction::Line => format!("F({to})"),
        CycleAction::Dwell(seconds) => format!("D({})", seconds.map_or("?".to_owned(), |s| trimmed(s, 4))),
        CycleAction::Spindle(SpindleSense::Stopped) => "stop".to_owned(),
        CycleAction::Spindle(SpindleSense::Clockwise) => "cw".to_owned(),
        CycleAction::Spindle(SpindleSense::Counterclockwise) => "ccw".to_owned(),
        CycleAction::Stop => "M0".to_owned(),
    }
}

/// NISTIR 6556, section 3.5.16.2: `G90 G81 G98 X4 Y5 Z1.5 R2.8` from (1,2,3), and the same with G99.
#[test]
fn g81_returns_to_the_level_asked_for() {
    let mut example = call(CycleCode::G81, [1.0, 2.0, 3.0], [4.0, 5.0], 2.8, 1.5);
    assert_eq!(written(&example), "T(4,5,3) T(4,5,2.8) F(4,5,1.5) T(4,5,2.8)");
    example.clear = 3.0;
    assert_eq!(written(&example), "T(4,5,3) T(4,5,2.8) F(4,5,1.5) T(4,5,3)");
}

/// NISTIR 6556, section 3.5.16.2: `G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3` from (1,2,3), first two repeats.
#[test]
fn a_tool_below_r_rises_before_it_moves_sideways() {
    let first = call(CycleCode::G81, [1.0, 2.0, 3.0], [5.0, 7.0], 4.8, 4.2);
    assert_eq!(written(&first), "T(1,2,4.8) T(5,7,4.8) F(5,7,4.2) T(5,7,4.8)");
    let second = call(CycleCode::G81, [5.0, 7.0, 4.8], [9.0, 12.0], 4.8, 4.2);
    assert_eq!(written(&second), "T(9,12,4.8) F(9,12,4.2) T(9,12,4.8)");
}

/// NISTIR 6556, table 10: `g91 g81 x3 y2 z-0.8 r1.5 l2` from (30,1,-0.5).
#[test]
fn the_table_10_pair_of_holes() {
    let first = call(CycleCode::G81, [30.0, 1.0, -0.5], [33.0, 3.0], 1.0, 0.2);
    assert_eq!(written(&first), "T(30,1,1) T(33,3,1) F(33,3,0.2) T(33,3,1)");
    let second = call(CycleCode::G81, [33.0, 3.0, 1.0], [36.0, 5.0], 1.0, 0.2);
    assert_eq!(written(&second), "T(36,5,1) F(36,5,0.2) T(36,5,1)");
}

#[test]
fn g82_dwells_at_the_bottom() {
    let mut drill = at_ten(CycleCode::G82, -5.0);
    drill.clear = 10.0;
    drill.dwell = Some(Ok(0.25));
    assert_eq!(written(&drill), "T(1,1,10) T(1,1,2) F(1,1,-5) D(0.25) T(1,1,10)");
    drill.dwell = Some(Err(500.0));
    assert_eq!(written(&drill), "T(1,1,10) T(1,1,2) F(1,1,-5) D(?) T(1,1,10)");
}

/// NISTIR 6556, section 3.5.16.4, with its clearance of 0.010 inch.
#[test]
fn g83_comes_back_to_just_above_the_last_depth() {
    let mut peck = at_ten(CycleCode::G83, -10.0);
    peck.q = Some(4.0);
    assert_eq!(
        written(&peck),
        "T(1,1,10) T(1,1,2) F(1,1,-2) T(1,1,2) T(1,1,-1.746) F(1,1,-6) T(1,1,2) T(1,1,-5.746) F(1,1,-10) T(1,1,2)"
    );
    peck.clear = 10.0;
    assert_eq!(
        written(&peck),
        "T(1,1,10) T(1,1,2) F(1,1,-2) T(1,1,2) T(1,1,-1.746) F(1,1,-6) T(1,1,2) T(1,1,-5.746) F(1,1,-10) T(1,1,10)",
        "G98 with pecks that retract to R"
    );
    peck.peck_clear = 10.0;
    assert_eq!(
        written(&peck),
        "T(1,1,10) T(1,1,2) F(1,1,-2) T(1,1,10) T(1,1,-1.746) F(1,1,-6) T(1,1,10) T(1,1,-5.746) F(1,1,-10) T(1,1,10)",
        "G98 in the report's manner"
    );
}

#[test]
fn g83_has_no_peck_of_no_length() {
    let mut peck = at_ten(CycleCode::G83, -10.0);
    peck.q = Some(3.0);
    assert_eq!(written(&peck).matches('F').count(), 4);
    for count in 1..200 {
        let q = 0.1;
        peck.q = Some(q);
        peck.bottom = peck.r - f64::from(count) * q + 1e-13;
        assert_eq!(written(&peck).matches('F').count(), count as usize, "{count} pecks of {q}");
    }
    peck.q = Some(50.0);
    peck.bottom = -3.0;
    assert_eq!(written(&peck), "T(1,1,10) T(1,1,2) F(1,1,-3) T(1,1,2)");
}

#[test]
fn pecks_are_numbered_through() {
    let mut peck = at_ten(CycleCode::G83, -4.0);
    peck.q = Some(4.0);
    let mut parts = Vec::new();
    expand(&peck, &mut |step| parts.push(step.part));
    assert_eq!(
        parts,
        [
            CyclePart::Position,
            CyclePart::Approach,
            CyclePart::Feed(1),
            CyclePart::PeckRetract(1),
            CyclePart::PeckReturn(2),
            CyclePart::Feed(2),
            CyclePart::Retract
        ]
    );
}

/// NISTIR 6556, section 3.5.16.4 in inches: R .1, bottom -.5, Q .2 from Z1; four decimals of an inch.
#[test]
fn g83_in_an_inch_program_clears_by_ten_thousandths_of_an_inch() {
    let inch = 25.4;
    let mut peck = call(CycleCode::G83, [0.0, 0.0, inch], [inch, inch], 0.1 * inch, -0.5 * inch);
    peck.q = Some(0.2 * inch);
    let mut heights = Vec::new();
    expand(&peck, &mut |step| heights.push(trimmed(step.to[2] / inch, 4)));
    assert_eq!(heights.join(" "), "1 0.1 -0.1 0.1 -0.09 -0.3 0.1 -0.29 -0.5 0.1");
}

#[test]
fn g73_backs_off_so_later_strokes_are_longer() {
    let mut chip = at_ten(CycleCode::G73, -10.0);
    chip.q = Some(4.0);
    assert_eq!(
        written(&chip),
        "T(1,1,10) T(1,1,2) F(1,1,-2) T(1,1,-1.746) F(1,1,-6) T(1,1,-5.746) F(1,1,-10) T(1,1,2)"
    );
}

#[test]
fn a_senseless_peck_increment_is_one_stroke_or_a_bounded_number() {
    let mut peck = at_ten(CycleCode::G83, -10.0);
    for q in [None, Some(0.0), Some(-1.0), Some(f64::NAN), Some(f64::INFINITY)] {
        peck.q = q;
        assert_eq!(written(&peck), "T(1,1,10) T(1,1,2) F(1,1,-10) T(1,1,2)", "{q:?}");
    }
    peck.q = Some(1e-9);
    let mut moves = 0;
    expand(&peck, &mut |_| moves += 1);
    assert_eq!(moves, 2 + 3 * 9_999 + 2);
}

#[test]
fn tapping_reverses_at_the_bottom_and_again_at_the_top() {
    let mut tap = at_ten(CycleCode::G84, -5.0);
    tap.clear = 10.0;
    tap.feed_out = 10.0;
    assert_eq!(written(&tap), "T(1,1,10) T(1,1,2) F(1,1,-5) stop ccw F(1,1,10) stop cw");
    tap.code = CycleCode::G74;
    tap.feed_out = 2.0;
    assert_eq!(written(&tap), "T(1,1,10) T(1,1,2) F(1,1,-5) stop cw F(1,1,2) stop ccw T(1,1,10)");
}

#[test]
fn g85_feeds_out_to_the_height_the_control_feeds_to() {
    let mut bore = at_ten(CycleCode::G85, -5.0);
    bore.clear = 10.0;
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) F(1,1,2) T(1,1,10)");
    bore.feed_out = 10.0;
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) F(1,1,10)");
    bore.code = CycleCode::G89;
    bore.dwell = Some(Ok(1.272));
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) D(1.272) F(1,1,10)");
}

#[test]
fn boring_cycles_restart_the_spindle_the_way_it_turned() {
    let mut bore = at_ten(CycleCode::G86, -5.0);
    bore.dwell = Some(Ok(0.5));
    bore.spindle = SpindleSense::Counterclockwise;
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) D(0.5) stop T(1,1,2) ccw");
    bore.code = CycleCode::G88;
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) D(0.5) stop M0 ccw");
}

#[test]
fn g76_takes_the_edge_off_the_wall_before_it_leaves() {
    let mut bore = at_ten(CycleCode::G76, -5.0);
    bore.q = Some(0.2);
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) stop T(1.2,1,-5) T(1.2,1,2) T(1,1,2) cw");
    bore.ijk = [None, Some(-0.1), None];
    assert_eq!(written(&bore), "T(1,1,10) T(1,1,2) F(1,1,-5) stop T(1,0.9,-5) T(1,0.9,2) T(1,1,2) cw");
}

/// NISTIR 6556, section 3.5.16.8: `g98 g87 x1 y1 z-5 r2 i0.3 j-0.2 k-3` from Z10.
#[test]
fn g87_goes_through_off_centre_and_bores_upwards() {
    let mut bore = at_ten(CycleCode::G87, -5.0);
    bore.clear = 10.0;
    bore.ijk = [Some(0.3), Some(-0.2), Some(-3.0)];
    assert_eq!(
        written(&bore),
        "T(1,1,10) T(1,1,2) T(1.3,0.8,2) stop T(1.3,0.8,-5) T(1,1,-5) cw F(1,1,-3) F(1,1,-5) stop T(1.3,0.8,-5) \
         T(1.3,0.8,10) T(1,1,10) cw"
    );
}

#[test]
fn other_planes_drill_along_their_own_normal() {
    let mut side = call(CycleCode::G81, [0.0, 10.0, 0.0], [0.0, 0.0], 2.0, -5.0);
    side.plane = Plane::Zx;
    side.over = [1.0, 10.0, 2.0];
    assert_eq!(written(&side), "T(1,10,2) T(1,2,2) F(1,-5,2) T(1,2,2)");
    side.plane = Plane::Yz;
    side.from.xyz = [10.0, 0.0, 0.0];
    side.over = [10.0, 1.0, 2.0];
    assert_eq!(written(&side), "T(10,1,2) T(2,1,2) F(-5,1,2) T(2,1,2)");
}
