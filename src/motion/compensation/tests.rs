//! The published compensation examples, move by move.

use super::*;
use crate::units::trimmed;

/// A programmed move of the examples.
enum Move {
    Line([f64; 2]),
    /// End, offset of the centre from the start, counterclockwise.
    Arc([f64; 2], [f64; 2], bool),
}

fn follow(side: CutterSide, radius: f64, start: [f64; 2], moves: &[Move]) -> Vec<String> {
    let mut compensation = Compensation::new(side, radius).unwrap();
    let mut tool = start;
    let mut lines = Vec::new();
    for step in moves {
        let from = compensation.start(tool);
        let legs = match step {
            Move::Line(to) => compensation.line(tool, *to, false),
            Move::Arc(to, offset, ccw) => compensation.arc(tool, *to, plus(from, *offset), *ccw),
        };
        let legs = legs.unwrap();
        lines.extend(legs.corner.iter().map(word));
        lines.push(word(&legs.main));
        tool = legs.main.to;
    }
    lines
}

fn word(leg: &Leg) -> String {
    let pair = |point: [f64; 2]| point.map(|value| trimmed(value, 4)).join(",");
    match leg.around {
        None => format!("F({})", pair(leg.to)),
        Some((centre, ccw)) => format!("{}({}) about ({})", if ccw { "ccw" } else { "cw" }, pair(leg.to), pair(centre)),
    }
}

/// NISTIR 6556, appendix B, table 12: material edge followed by a tool of radius 0.5.
#[test]
fn the_material_edge_of_table_12() {
    use Move::{Arc, Line};
    let moves = [
        Line([1.0, 4.0]),
        Arc([2.0, 3.0], [1.0, 0.0], true),
        Arc([3.0, 2.0], [0.0, -1.0], false),
        Line([3.0, -1.0]),
        Arc([2.0, -2.0], [-1.0, 0.0], false),
        Line([-2.0, -2.0]),
        Arc([-2.6, -0.2], [0.0, 1.0], false),
        Line([1.4, 2.8]),
        Arc([2.0, 3.0], [0.6, -0.8], false),
    ];
    let expected = [
        "F(1.433,4.25)",
        "cw(1.5,4) about (1,4)",
        "ccw(2,3.5) about (2,4)",
        "cw(3.5,2) about (2,2)",
        "F(3.5,-1)",
        "cw(2,-2.5) about (2,-1)",
        "F(-2,-2.5)",
        "cw(-2.9,0.2) about (-2,-1)",
        "F(1.1,3.2)",
        "cw(2,3.5) about (2,2)",
    ];
    assert_eq!(follow(CutterSide::Left, 0.5, [1.0, 5.0], &moves), expected);
}

/// NISTIR 6556, appendix B: straight entry to a corner.
#[test]
fn an_entry_at_a_corner_rounds_it() {
    let moves = [Move::Line([3.0, 3.0]), Move::Line([3.0, -1.0])];
    let expected = ["F(3.1511,3.4766)", "cw(3.5,3) about (3,3)", "F(3.5,-1)"];
    assert_eq!(follow(CutterSide::Left, 0.5, [1.5, 4.0], &moves), expected);
}

/// NISTIR 6556, appendix B, table 13: the nominal path with a tool diameter of -0.03, so the tool runs on the right.
#[test]
fn a_negative_radius_is_the_other_side() {
    use Move::{Arc, Line};
    let moves = [
        Line([1.5, 4.0]),
        Arc([2.0, 3.5], [0.5, 0.0], true),
        Arc([3.5, 2.0], [0.0, -1.5], false),
        Line([3.5, -1.0]),
        Arc([2.0, -2.5], [-1.5, 0.0], false),
        Line([-2.0, -2.5]),
        Arc([-2.9, 0.2], [0.0, 1.5], false),
        Line([1.1, 3.2]),
        Arc([2.0, 3.5], [0.9, -1.2], false),
    ];
    let expected = [
        "F(1.485,4.0002)",
        "ccw(1.485,4) about (1.5,4)",
        "ccw(2,3.485) about (2,4)",
        "cw(3.485,2) about (2,2)",
        "F(3.485,-1)",
        "cw(2,-2.485) about (2,-1)",
        "F(-2,-2.485)",
        "cw(-2.891,0.188) about (-2,-1)",
        "F(1.109,3.188)",
        "cw(2,3.485) about (2,2)",
    ];
    assert_eq!(follow(CutterSide::Left, -0.015, [1.5, 5.0], &moves), expected);
}

#[test]
fn a_tool_of_no_radius_follows_the_programmed_path() {
    let moves = [Move::Line([1.0, 0.0]), Move::Line([1.0, 1.0]), Move::Arc([2.0, 2.0], [1.0, 0.0], false)];
    let expected = ["F(1,0)", "F(1,1)", "cw(2,2) about (2,1)"];
    assert_eq!(follow(CutterSide::Left, 0.0, [0.0, 0.0], &moves), expected);
}

#[test]
fn a_corner_on_the_tools_side_is_a_fault_and_the_next_move_enters_anew() {
    let mut left = Compensation::new(CutterSide::Left, 0.5).unwrap();
    let tool = left.line([0.0, 0.0], [5.0, 0.0], false).unwrap().main.to;
    let tool = left.line(tool, [10.0, 0.0], false).unwrap().main.to;
    assert_eq!(left.line(tool, [10.0, 5.0], false), Err(CompensationFault::ConcaveCorner));
    assert!(!left.is_entered());
    assert!(left.line(tool, [10.0, 5.0], false).is_ok());
}

#[test]
fn an_entry_shorter_than_the_tool_radius_gouges() {
    let mut left = Compensation::new(CutterSide::Left, 0.5).unwrap();
    assert_eq!(left.line([0.0, 0.0], [0.1, 0.0], false), Err(CompensationFault::Gouging));
    let arc = left.enter_arc([0.0, 0.0], [0.1, 0.0], ArcForm::Radius(5.0), true, 0.002);
    assert_eq!(arc, Err(CompensationFault::Gouging));
}

#[test]
fn an_inside_arc_must_be_larger_than_the_tool() {
    let mut left = Compensation::new(CutterSide::Left, 0.5).unwrap();
    let tool = left.line([0.0, 0.0], [5.0, 0.0], false).unwrap().main.to;
    assert_eq!(left.arc(tool, [5.0, 0.8], [5.0, 0.4], true), Err(CompensationFault::ToolTooLarge));
}

#[test]
fn turning_back_takes_half_a_turn_around_the_end() {
    let moves = [Move::Line([5.0, 0.0]), Move::Line([9.0, 0.0]), Move::Line([0.0, 0.0])];
    let lines = follow(CutterSide::Left, 0.5, [0.0, 0.5], &moves);
    assert_eq!(lines[1..], ["F(9,0.5)", "cw(9,-0.5) about (9,0)", "F(0,-0.5)"]);
    let lines = follow(CutterSide::Right, 0.5, [0.0, -0.5], &moves);
    assert_eq!(lines[1..], ["F(9,-0.5)", "ccw(9,0.5) about (9,0)", "F(0,0.5)"]);
}

#[test]
fn a_block_without_motion_in_the_plane_stays_beside_its_point() {
    let mut left = Compensation::new(CutterSide::Left, 0.5).unwrap();
    let tool = left.line([0.0, 0.0], [5.0, 0.0], false).unwrap().main.to;
    assert_eq!(left.line(tool, [5.0, 0.0], true).unwrap().main.to, tool);
}

/// The entry arc keeps its own radius and ends a tool radius beside the programmed end.
#[test]
fn an_arc_may_enter() {
    for (side, ccw) in [(CutterSide::Left, true), (CutterSide::Left, false), (CutterSide::Right, true)] {
        let mut by_radius = Compensation::new(side, 0.5).unwrap();
        let legs = by_radius.enter_arc([0.0, 0.0], [4.0, 1.0], ArcForm::Radius(5.0), ccw, 0.002).unwrap();
        let (centre, turn) = legs.main.around.unwrap();
        assert_eq!(turn, ccw);
        assert!((length(centre) - 5.0).abs() < 1e-9);
        assert!((length(minus(centre, legs.main.to)) - 5.0).abs() < 1e-9);
        assert!((length(minus([4.0, 1.0], legs.main.to)) - 0.5).abs() < 1e-9);
        let mut by_centre = Compensation::new(side, 0.5).unwrap();
        assert_eq!(by_centre.enter_arc([0.0, 0.0], [4.0, 1.0], ArcForm::Centre(centre), ccw, 0.002), Ok(legs));
        let off = ArcForm::Centre(plus(centre, [0.01, 0.0]));
        let mut uneven = Compensation::new(side, 0.5).unwrap();
        let fault = uneven.enter_arc([0.0, 0.0], [4.0, 1.0], off, ccw, 0.002);
        assert_eq!(fault, Err(CompensationFault::EntryArcUneven));
    }
    let mut small = Compensation::new(CutterSide::Left, 0.5).unwrap();
    let fault = small.enter_arc([0.0, 0.0], [4.0, 1.0], ArcForm::Radius(1.0), true, 0.002);
    assert_eq!(fault, Err(CompensationFault::EntryArcTooSmall));
}
