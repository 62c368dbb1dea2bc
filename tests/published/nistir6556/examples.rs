//! The report's worked examples of arcs, offsets, feeds, expressions and the order of execution, as programs of our own.

use lastply::motion::FaultKind;

use super::runs::{Run, strict};

#[track_caller]
fn clean(text: &str) -> Run {
    let run = strict(text);
    assert_eq!(run.faults, [], "{text}");
    run
}

/// The last block that moves, run after `before`.
#[track_caller]
fn last(before: &str, block: &str) -> String {
    clean(&format!("{before}\n{block}\nm2\n")).block(block)
}

/// Section 3.5.3: arcs by centre and by radius, helices, other planes, incremental ends.
#[test]
fn arcs_of_section_3_5_3() {
    let arcs = [
        ("g21 f100 g0 x7 y7 z9", "g17 g2 x10 y16 i3 j4 z9", "cw(10,16,9) about (10,11)"),
        ("g21 f100 g0 x7 y7", "g17 g2 x10 y16 i3 j4 z9", "cw(10,16,9) about (10,11)"),
        ("g21 f100 g0 z5", "g17 g2 x10 y15 r20 z5", "cw(10,15,5) about (19.8551,-2.4034)"),
        ("g21 f20 g1 x3 y1", "g2 x[6-[4*3/2]] r7.01 z0.5", "cw(0,1,0.5) about (1.5,7.8476)"),
        ("g21 f100", "g2 x10 y0 r-10", "cw(10,0,0) about (5,8.6603)"),
        ("g21 f100 g0 x10", "g3 x0 y0 r-10", "ccw(0,0,0) about (5,8.6603)"),
        ("g21 f100", "g2 x10 y0 r10", "cw(10,0,0) about (5,-8.6603)"),
        ("g21 f100 g0 x5", "g2 x5 i-5", "cw(5,0,0) about (0,0)"),
        ("g21 f100 g0 x5", "g3 y0 i-5 z-2", "ccw(5,0,-2) about (0,0)"),
        ("g21 f100 g18", "g2 x10 z0 i5 k0", "cw(10,0,0) about (0,5)"),
        ("g21 f100 g19 g0 y10", "g3 y0 z0 r5 x3", "ccw(3,0,0) about (5,0)"),
        ("g21 f100 g0 x1 y1\ng91", "g2 x10 y0 i5 j0", "cw(11,1,0) about (6,1)"),
    ];
    for (before, block, moves) in arcs {
        assert_eq!(last(before, block), moves, "{before} {block}");
    }
}

/// Section 3.5.3.2: the ends of an arc may lie at radii 0.002 mm or 0.0002 inch apart.
#[test]
fn arc_radii_may_differ_by_the_stated_amount() {
    for (end, unit, fits) in [("10.0019", "g21", true), ("10.0021", "g21", false)] {
        let run = strict(&format!("{unit} f100\ng2 x{end} y0 i5 j0\nm2\n"));
        assert_eq!(run.faults.is_empty(), fits, "{end}");
    }
    for (end, fits) in [("1.00019", true), ("1.00021", false)] {
        let run = strict(&format!("g20 f100\ng2 x{end} y0 i.5 j0\nm2\n"));
        assert_eq!(run.faults.is_empty(), fits, "{end}");
    }
}

/// Section 3.5.3: a centre-format arc needs an axis word of its plane.
#[test]
fn a_full_circle_without_an_axis_word_is_refused() {
    let run = strict("g21 f100 g0 x5\ng2 i-5\nm2\n");
    let first = run.faults.first().map(|(fault, line)| (fault.kind, line.as_str()));
    assert_eq!(first, Some((FaultKind::MotionWithoutAxis("G2"), "g2 i-5")));
    assert_eq!(run.block("g2 i-5"), "");
}

/// Table 8: the parts of a block run in one order, whatever the order of its words.
#[test]
fn the_order_of_execution_of_table_8() {
    let order = "t2 m6 s500 m3 m8 f200 g1 x5 g90 g54 (note) g43 h2 g4 p1 m0";
    assert_eq!(clean(&format!("g21\n{order}\nm2\n")).line("t2"), "tool 2 D(1) F(5,0,-1) M0");
    assert_eq!(last("g21", "g0 x1 g4 p2"), "D(2) T(1,0,0)");
    assert_eq!(last("g21", "g1 x5 g43 h2 f10"), "F(5,0,-1)");
    let run = clean("g20\ng21 f100\ng1 x10\nm2\n");
    assert_eq!(run.line("g1"), "F(10,0,0)");
}

/// Section 3.5.11: a length offset changes the position value, not the place.
#[test]
fn length_offsets_shift_the_position() {
    let run = clean("g21 g0 z10\ng43 h1\ng91 g0 z0\ng90 g49\ng91 g0 x1\nm2\n");
    assert_eq!(run.line("g91 g0 z0"), "T(0,0,8)");
    assert_eq!(run.line("g91 g0 x1"), "T(1,0,10)");
}

/// Section 3.5.18: G92 gives the present point new coordinates, and the offset adds up.
#[test]
fn axis_offsets_of_section_3_5_18() {
    let run = clean("g21 g0 x4\ng92 x7\ng91 g0 y1\ng90 g92 x9\ng91 g0 y2\ng90 g92.1\ng91 g0 y3\nm2\n");
    assert_eq!(run.line("g91 g0 y1"), "T(7,1,0)");
    assert_eq!(run.line("g91 g0 y2"), "T(9,3,0)");
    assert_eq!(run.line("g91 g0 y3"), "T(4,6,0)");
    let back = clean("g21 g0 x4\ng92 x7\ng92.2\ng0 x4 y1\ng92.3\ng91 g0 y1\nm2\n");
    assert_eq!(back.line("g91"), "T(7,2,0)");
}

/// Section 3.5.12: G53 counts from the machine's zero, with the tool length taken off.
#[test]
fn machine_coordinates_of_section_3_5_12() {
    let before = "g21 g10 l2 p1 x10 y20 z30\ng43 h1\ng0 x0 y0 z0";
    assert_eq!(last(before, "g53 g0 x0 y0 z0"), "T(-10,-20,-32)");
}

/// Section 3.5.19: under G93 every cutting move takes 1/F minutes.
#[test]
fn inverse_time_feeds_of_section_3_5_19() {
    let run = clean("g21 g93\ng1 x10 f2\ng0 x0\ng2 x10 y0 i5 f1\ng1 a90 f2\ng1 x0 a0 f2\nm2\n");
    let feeds: Vec<f64> = run.calls.iter().filter(|call| call.feed > 0.0).map(|call| call.feed).collect();
    let expected = [20.0, 15.7080, 180.0, 20.0];
    assert_eq!(feeds.len(), expected.len(), "{feeds:?}");
    for (feed, expected) in feeds.iter().zip(expected) {
        assert!((feed - expected).abs() < 1e-4, "{feed} is not {expected}");
    }
}

/// Table 10, without its end of program in the middle.
#[test]
fn the_session_of_table_10() {
    let run = clean(
        "g21\ng1 x3 y1 f20.0\ng2 x[6-[4*3/2]] r 7.01 z0.5\n(a helix)\nt2\nm6 g43 h2\ng1 x asin[0.5]\n\
         g91 g81 x3 y2 z-0.8 r1.5 l2\nm2\n",
    );
    assert_eq!(run.line("g1 x3"), "F(3,1,0)");
    assert_eq!(run.line("g2"), "cw(0,1,0.5) about (1.5,7.8476)");
    assert_eq!(run.line("m6"), "tool 2");
    assert_eq!(run.line("g1 x asin"), "F(30,1,-0.5)");
    assert_eq!(run.line("g91"), "T(30,1,1) T(33,3,1) F(33,3,0.2) T(33,3,1) T(36,5,1) F(36,5,0.2) T(36,5,1)");
}

/// Appendix C.1: the arcs of the engraved letters.
#[test]
fn the_arcs_of_appendix_c_1() {
    let arcs = [
        ("g0 x16 y2.5 z-.5", "g3 x13.5 y0 i-2.5", "ccw(13.5,0,-0.5) about (13.5,2.5)"),
        ("g0 x32.5 z-.5", "g2 x32.5 j2.5", "cw(32.5,0,-0.5) about (32.5,2.5)"),
        ("g0 x57.5 z-.5", "g2 x57.5 j2.5", "cw(57.5,0,-0.5) about (57.5,2.5)"),
        ("g0 x64 y4 z-.5", "g2 x69 r4", "cw(69,4,-0.5) about (66.5,0.8775)"),
        ("g0 x79.5 z-.5", "g2 j2.5 y5", "cw(79.5,5,-0.5) about (79.5,2.5)"),
    ];
    for (before, block, moves) in arcs {
        assert_eq!(last(&format!("g21 f20\n{before}"), block), moves, "{block}");
    }
}

/// Appendix C.2: the value each expression gives X, to four decimals.
#[test]
fn the_expressions_of_appendix_c_2() {
    let values = [
        ("[1+2]", "3"),
        ("[1-2]", "-1"),
        ("[1--3]", "4"),
        ("[2/5]", "0.4"),
        ("[3.0*5]", "15"),
        ("[0 or 1]", "1"),
        ("[2 or 2]", "1"),
        ("[0 and 1]", "0"),
        ("[2 and 2]", "1"),
        ("[0 xor 1]", "1"),
        ("[2 xor 2]", "0"),
        ("[15 mod 4.0]", "3"),
        ("[1+2*3-4/5]", "6.2"),
        ("sin[30]", "0.5"),
        ("cos[0]", "1"),
        ("tan[60]", "1.7321"),
        ("sqrt[3]", "1.7321"),
        ("atan[1.7321]/[1.0]", "60.0007"),
        ("asin[1.0]", "90"),
        ("acos[0.707107]", "45"),
        ("abs[20.0]", "20"),
        ("abs[-1.23]", "1.23"),
        ("round[-0.499]", "0"),
        ("round[-0.5001]", "-1"),
        ("round[2.444]", "2"),
        ("round[9.975]", "10"),
        ("fix[-0.499]", "-1"),
        ("fix[-0.5001]", "-1"),
        ("fix[2.444]", "2"),
        ("fix[9.975]", "9"),
        ("fup[-0.499]", "0"),
        ("fup[-0.5001]", "0"),
        ("fup[2.444]", "3"),
        ("fup[9.975]", "10"),
        ("exp[2.3026]", "10.0001"),
        ("ln[10.0]", "2.3026"),
        ("[2**3.0]", "8"),
        ("[2+asin[1/2.1+-0.345]/[atan[fix[4.4]*2.1*sqrt[16.8]]/[-18]]**2]", "2.0005"),
        ("sqrt[3**2+4**2]", "5"),
    ];
    for (expression, value) in values {
        let block = format!("g1 x{expression}");
        assert_eq!(last("g21 f20", &block), format!("F({value},0,0)"), "{expression}");
    }
}

/// Appendix C.2, its last part: what a line sets is read from the next line on.
#[test]
fn parameters_are_set_behind_their_line() {
    let run = clean("g21 f20\n#1=2.0\n##1=0.375\ng1 x#2 #3=7.0\n#3=5.0 x#3\nx#3 #3=1.1\nm2\n");
    assert_eq!(run.line("g1"), "F(0.375,0,0)");
    assert_eq!(run.line("#3=5.0"), "F(7,0,0)");
    assert_eq!(run.line("x#3"), "F(5,0,0)");
}

/// Section 3.5.10 and appendix B: an edge followed by a tool of radius 0.5 inch, and G40 without an exit move.
#[test]
fn compensation_along_a_material_edge() {
    let run = clean(
        "g20 f10 t1 m6 m3 s100\ng1 x1 y5\ng41 g1 y4\ng3 x2 y3 i1\ng2 x3 y2 j-1\ng1 y-1\ng2 x2 y-2 i-1\n\
         g1 x-2\ng40\nm2\n",
    );
    assert_eq!(run.line("g41"), "F(1.433,4.25,0)");
    assert_eq!(run.line("g3"), "cw(1.5,4,0) about (1,4) ccw(2,3.5,0) about (2,4)");
    assert_eq!(run.line("g2 x3"), "cw(3.5,2,0) about (2,2)");
    assert_eq!(run.line("g2 x2"), "cw(2,-2.5,0) about (2,-1)");
    assert_eq!(run.line("g1 x-2"), "F(-2,-2.5,0)");
    assert_eq!(run.line("g40"), "");
    let corner = clean("g20 f10 t1 m6\ng1 x1.5 y4\ng41 g1 x3 y3\ng1 y-1\ng40\nm2\n");
    assert_eq!(corner.line("g41"), "F(3.1511,3.4766,0)");
    assert_eq!(corner.line("g1 y-1"), "cw(3.5,3,0) about (3,3) F(3.5,-1,0)");
}
