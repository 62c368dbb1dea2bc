//! Section 3.5.16 and appendix C.3: whole programs of canned cycles, block by block.

use super::runs::{Run, strict};

#[track_caller]
fn clean(text: &str) -> Run {
    let run = strict(text);
    assert_eq!(run.faults, [], "{text}");
    run
}

/// Runs `before`, then each block, and holds each block's moves against the words beside it.
#[track_caller]
fn blocks(before: &str, rows: &[(&str, &str)]) {
    let text: String = rows.iter().map(|(block, _)| format!("{block}\n")).collect();
    let run = clean(&format!("{before}\n{text}m2\n"));
    for (block, moves) in rows {
        assert_eq!(run.block(block), *moves, "{block}");
    }
}

/// Section 3.5.16.2, examples 1 and 2, with both return levels.
#[test]
fn the_g81_examples() {
    let before = "g21 f10 g0 x1 y2 z3";
    blocks(before, &[("g90 g81 g98 x4 y5 z1.5 r2.8", "T(4,5,3) T(4,5,2.8) F(4,5,1.5) T(4,5,3)")]);
    blocks(before, &[("g90 g81 g99 x4 y5 z1.5 r2.8", "T(4,5,3) T(4,5,2.8) F(4,5,1.5) T(4,5,2.8)")]);
    let three = "T(1,2,4.8) T(5,7,4.8) F(5,7,4.2) T(5,7,4.8) T(9,12,4.8) F(9,12,4.2) T(9,12,4.8) T(13,17,4.8) \
                 F(13,17,4.2) T(13,17,4.8)";
    blocks(before, &[("g91 g81 g98 x4 y5 z-0.6 r1.8 l3", three)]);
    blocks(before, &[("g91 g81 g99 x4 y5 z-0.6 r1.8 l3", three)]);
}

/// Section 3.5.16: R, Z and P stay while the same cycle stays active.
#[test]
fn cycle_words_stay_until_they_are_given_again() {
    blocks(
        "g21 f10 g0 z10",
        &[
            ("g99 g81 x1 y1 z-5 r2", "T(1,1,10) T(1,1,2) F(1,1,-5) T(1,1,2)"),
            ("x2", "T(2,1,2) F(2,1,-5) T(2,1,2)"),
            ("y3 z-6", "T(2,3,2) F(2,3,-6) T(2,3,2)"),
            ("r1 x4", "T(4,3,2) T(4,3,1) F(4,3,-6) T(4,3,1)"),
        ],
    );
    blocks(
        "g21 f10 g0 z10",
        &[
            ("g98 g82 x1 y1 z-5 r2 p0.25", "T(1,1,10) T(1,1,2) F(1,1,-5) D(0.25) T(1,1,10)"),
            ("x2", "T(2,1,10) T(2,1,2) F(2,1,-5) D(0.25) T(2,1,10)"),
            ("x3 p0.5", "T(3,1,10) T(3,1,2) F(3,1,-5) D(0.5) T(3,1,10)"),
        ],
    );
}

/// Section 3.5.20: the level G98 returns to is that before the block, so a series that used G99 stays low.
#[test]
fn the_old_level_is_that_of_each_block() {
    blocks(
        "g21 f10 g0 z10",
        &[
            ("g98 g81 x1 y0 z-5 r2", "T(1,0,10) T(1,0,2) F(1,0,-5) T(1,0,10)"),
            ("g99 x2", "T(2,0,10) T(2,0,2) F(2,0,-5) T(2,0,2)"),
            ("x3", "T(3,0,2) F(3,0,-5) T(3,0,2)"),
            ("g98 x4", "T(4,0,2) F(4,0,-5) T(4,0,2)"),
        ],
    );
    blocks(
        "g21 f10 g0 z1",
        &[("g98 g81 x5 y5 z-2 r3", "T(0,0,3) T(5,5,3) F(5,5,-2) T(5,5,3)"), ("x6", "T(6,5,3) F(6,5,-2) T(6,5,3)")],
    );
}

/// Section 3.5.16.4 with G91: R counts from the height the tool stands at, Z from R, and repeats keep both.
#[test]
fn pecks_of_an_incremental_row() {
    blocks(
        "g21 f10 g0 z10",
        &[(
            "g91 g99 g83 x5 y0 z-6 r-8 q2.5 l2",
            "T(5,0,10) T(5,0,2) F(5,0,-0.5) T(5,0,2) T(5,0,-0.246) F(5,0,-3) T(5,0,2) T(5,0,-2.746) F(5,0,-4) T(5,0,2) \
             T(10,0,2) F(10,0,-0.5) T(10,0,2) T(10,0,-0.246) F(10,0,-3) T(10,0,2) T(10,0,-2.746) F(10,0,-4) T(10,0,2)",
        )],
    );
}

/// Appendix C.3 in the XY plane, inch, tool length 2; in-plane words that the listing leaves out under G91 are given.
#[test]
fn appendix_c_3_in_the_xy_plane() {
    let peck = "T(5,6,0.2) F(5,6,-0.01) T(5,6,0.2) T(5,6,0) F(5,6,-0.22) T(5,6,0.2) T(5,6,-0.21) F(5,6,-0.43) T(5,6,0.2) \
                T(5,6,-0.42) F(5,6,-0.64) T(5,6,0.2) T(5,6,-0.63) F(5,6,-0.85) T(5,6,0.2) T(5,6,-0.84) F(5,6,-1.06) \
                T(5,6,0.2) T(5,6,-1.05) F(5,6,-1.1) T(5,6,0.2)";
    blocks(
        "g20 g99\ng17 g43 h1 m3 s1234 f16",
        &[
            ("g81 x3 y4 r0.2 z-1.1", "T(0,0,0.2) T(3,4,0.2) F(3,4,-1.1) T(3,4,0.2)"),
            (
                "x1 y0 r0 g91 l3",
                "T(4,4,0.2) F(4,4,-0.9) T(4,4,0.2) T(5,4,0.2) F(5,4,-0.9) T(5,4,0.2) T(6,4,0.2) F(6,4,-0.9) T(6,4,0.2)",
            ),
            ("x0 y-2 r0.1", "T(6,4,0.3) T(6,2,0.3) F(6,2,-0.8) T(6,2,0.3)"),
            ("g82 g90 x4 y5 r0.2 z-1.1 p0.6", "T(4,5,0.3) T(4,5,0.2) F(4,5,-1.1) D(0.6) T(4,5,0.2)"),
            ("x2 z-3.0", "T(2,5,0.2) F(2,5,-3) D(0.6) T(2,5,0.2)"),
            (
                "g91 x-2 y2 r0 l4",
                "T(0,7,0.2) F(0,7,-2.8) D(0.6) T(0,7,0.2) T(-2,9,0.2) F(-2,9,-2.8) D(0.6) T(-2,9,0.2) T(-4,11,0.2) \
                 F(-4,11,-2.8) D(0.6) T(-4,11,0.2) T(-6,13,0.2) F(-6,13,-2.8) D(0.6) T(-6,13,0.2)",
            ),
            ("g83 g90 x5 y6 r0.2 z-1.1 q0.21", peck),
            ("g84 x6 y7 r0.2 z-1.1", "T(6,7,0.2) F(6,7,-1.1) stop ccw F(6,7,0.2) stop cw"),
            ("g85 x7 y8 r0.2 z-1.1", "T(7,8,0.2) F(7,8,-1.1) F(7,8,0.2)"),
            ("g86 x8 y9 r0.2 z-1.1 p902.61", "T(8,9,0.2) F(8,9,-1.1) D(902.61) stop T(8,9,0.2) cw"),
            (
                "g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3",
                "T(9,10,0.2) T(9.231,10,0.2) stop T(9.231,10,-1.1) T(9,10,-1.1) cw F(9,10,-3) F(9,10,-1.1) stop \
                 T(9.231,10,-1.1) T(9.231,10,0.2) T(9,10,0.2) cw",
            ),
            (
                "g91 x1 y0 r0.2 z-1.1 i0.231 j-0 k-3",
                "T(9,10,0.4) T(10,10,0.4) T(10.231,10,0.4) stop T(10.231,10,-0.7) T(10,10,-0.7) cw F(10,10,-3.7) \
                 F(10,10,-0.7) stop T(10.231,10,-0.7) T(10.231,10,0.4) T(10,10,0.4) cw",
            ),
            ("g88 x10 y11 r0.2 z-1.1 p0.3333", "T(10,10,0.6) T(20,21,0.6) F(20,21,-0.5) D(0.3333) stop M0 cw"),
            ("g89 x11 y12 r0.2 z-1.1 p1.272", "T(20,21,0.8) T(31,33,0.8) F(31,33,-0.3) D(1.272) F(31,33,0.8)"),
        ],
    );
}

/// Appendix C.3: with M4 the cycles restart counterclockwise.
#[test]
fn appendix_c_3_with_the_spindle_counterclockwise() {
    blocks(
        "g20 g99\ng43 h1 m4 s1234 f16\ng0 x31 y33 z0.8\ng91",
        &[
            ("g86 x8 y9 r0.2 z-1.1 p902.61", "T(31,33,1) T(39,42,1) F(39,42,-0.1) D(902.61) stop T(39,42,1) ccw"),
            (
                "g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3",
                "T(39,42,1.2) T(48,52,1.2) T(48.231,52,1.2) stop T(48.231,52,0.1) T(48,52,0.1) ccw F(48,52,-2.9) \
                 F(48,52,0.1) stop T(48.231,52,0.1) T(48.231,52,1.2) T(48,52,1.2) ccw",
            ),
            ("g88 x10 y11 r0.2 z-1.1 p0.3333", "T(48,52,1.4) T(58,63,1.4) F(58,63,0.3) D(0.3333) stop M0 ccw"),
        ],
    );
}

/// Appendix C.3 in the XZ plane, where Y is the depth and K the shift along Z.
#[test]
fn appendix_c_3_in_the_xz_plane() {
    blocks(
        "g20 g99\ng18 m3 s1234 f16\ng0 x58 y1.4 z4.4",
        &[
            ("g82 g90 z4 x5 r0.2 y-1.1 p0.6", "T(5,1.4,4) T(5,0.2,4) F(5,-1.1,4) D(0.6) T(5,0.2,4)"),
            ("g91 z-2 x2 r0 l2", "T(7,0.2,2) F(7,-0.9,2) D(0.6) T(7,0.2,2) T(9,0.2,0) F(9,-0.9,0) D(0.6) T(9,0.2,0)"),
            ("g90 g84 z6 x7 r0.2 y-1.1", "T(7,0.2,6) F(7,-1.1,6) stop ccw F(7,0.2,6) stop cw"),
            (
                "g87 z9 x10 r0.2 y-1.1 k0.231 i-0 j-3",
                "T(10,0.2,9) T(10,0.2,9.231) stop T(10,-1.1,9.231) T(10,-1.1,9) cw F(10,-3,9) F(10,-1.1,9) stop \
                 T(10,-1.1,9.231) T(10,0.2,9.231) T(10,0.2,9) cw",
            ),
            (
                "g91 x0 z1 r0.2 y-1.1 k0.231 i-0 j-3",
                "T(10,0.4,9) T(10,0.4,10) T(10,0.4,10.231) stop T(10,-0.7,10.231) T(10,-0.7,10) cw F(10,-3.7,10) \
                 F(10,-0.7,10) stop T(10,-0.7,10.231) T(10,0.4,10.231) T(10,0.4,10) cw",
            ),
        ],
    );
}

/// Appendix C.3 in the YZ plane, where X is the depth and J, K are the shifts.
#[test]
fn appendix_c_3_in_the_yz_plane() {
    blocks(
        "g20 g99\ng19 m3 s1234 f16\ng0 x43.2 y0.8 z31",
        &[
            ("g82 g90 y4 z5 r0.2 x-1.1 p0.6", "T(43.2,4,5) T(0.2,4,5) F(-1.1,4,5) D(0.6) T(0.2,4,5)"),
            ("g83 y5 z6 r0.2 x-1.1 q0.7", "T(0.2,5,6) F(-0.5,5,6) T(0.2,5,6) T(-0.49,5,6) F(-1.1,5,6) T(0.2,5,6)"),
            (
                "g87 y9 z10 r0.2 x-1.1 j0.231 k-0 i-3",
                "T(0.2,9,10) T(0.2,9.231,10) stop T(-1.1,9.231,10) T(-1.1,9,10) cw F(-3,9,10) F(-1.1,9,10) stop \
                 T(-1.1,9.231,10) T(0.2,9.231,10) T(0.2,9,10) cw",
            ),
        ],
    );
}
