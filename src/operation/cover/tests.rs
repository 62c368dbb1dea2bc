//! Edges cut in part, all round, in stages, and from the side.

use super::edge::distance;
use super::{Covers, EdgeCover, Mark};
use crate::job::{EdgeGroup, Job, Laminate, Layer, Tool, ToolKind, contour};
use crate::motion::{Arc, BlockRef, Plane, SpindleSense, UNSTATED};
use crate::operation::track::{FeedMove, Line};
use crate::units::Millimetres;
use std::f64::consts::PI;

/// A panel of 6 mm, 100 x 60, with its outline wanted.
fn job() -> Job {
    let layer = Layer { ply: Millimetres(6.0), ..Layer::default() };
    let contour = contour::rectangle((0.0, 100.0), (0.0, 60.0), 0.0);
    let edge = EdgeGroup {
        id: "OUT".to_owned(),
        contour,
        opening: false,
        finish: true,
        direction: None,
        tools: Vec::new(),
        tabs: Vec::new(),
        tolerance: Millimetres(0.1),
    };
    let mut job = Job { edges: vec![edge], ..Job::default() };
    job.laminate = Some(Laminate { layers: vec![layer], ..Laminate::default() });
    job.tools.insert(1, router());
    job
}

fn router() -> Tool {
    Tool {
        number: 1,
        label: String::new(),
        kind: ToolKind::Router { end_cutting: false },
        diameter: Millimetres(10.0),
        edges: Some(2),
        helix: None,
        flute_length: None,
        stick_out: None,
        substrate: None,
        coating: None,
        edge_radius: None,
        wear_factor: None,
        life: Vec::new(),
        life_law: None,
        used: 0.0,
        length_offset: None,
        radius_offset: None,
        length: None,
        holder: Vec::new(),
        max_speed: None,
        thrust: None,
    }
}

fn move_along(line: Line, from: [f64; 3], to: [f64; 3], number: u32) -> FeedMove {
    let (sideways, heading) = line.course(from, to);
    FeedMove {
        from,
        to,
        line,
        sideways,
        heading,
        shift: [0.0, 0.0],
        work_offset: 1,
        radius: Some(5.0),
        tool: 1,
        feed: Some(1000.0),
        speed: Some(10000.0),
        sense: SpindleSense::Clockwise,
        feed_at: UNSTATED,
        exact: None,
        planned: None,
        block: BlockRef { index: number, ..BlockRef::default() },
    }
}

fn run(moves: &[FeedMove]) -> EdgeCover {
    let (job, tool) = (job(), router());
    let mut covers = Covers::of(Some(&job));
    moves.iter().for_each(|feed_move| covers.take(feed_move, Some(&tool)));
    covers.finish().remove(0)
}

fn straight(from: [f64; 3], to: [f64; 3], number: u32) -> FeedMove {
    move_along(Line::Straight, from, to, number)
}

#[test]
fn one_side_is_cut_and_the_others_are_not() {
    let cover = run(&[straight([-20.0, 65.0, -7.0], [120.0, 65.0, -7.0], 1)]);
    let through: Vec<&Mark> = cover.marks.iter().filter(|mark| mark.through.is_some()).collect();
    assert!(through.iter().all(|mark| mark.at[1] == 60.0), "{through:?}");
    assert!((99..=101).contains(&through.len()), "{}", through.len());
    assert!(cover.arrivals.is_empty());
}

#[test]
fn the_deepest_of_two_passes_counts() {
    let shallow = straight([-20.0, 65.0, -3.0], [120.0, 65.0, -3.0], 1);
    let deep = straight([40.0, 65.0, -6.5], [60.0, 65.0, -6.5], 2);
    let cover = run(&[shallow, deep]);
    let (lowest, order): (Vec<f64>, Vec<Option<u32>>) =
        cover.marks.iter().filter(|mark| mark.is_cut()).map(|mark| (mark.lowest, mark.through)).unzip();
    assert!(lowest.contains(&-3.0) && lowest.contains(&-6.5));
    assert_eq!(order.iter().flatten().filter(|order| **order == 2).count(), 21);
}

#[test]
fn a_ring_closes_whatever_the_length_of_its_moves() {
    // All round outside with quarter circles about the corners, in pieces of 0.3 mm and in whole moves.
    let corners = [[100.0, 60.0], [100.0, 0.0], [0.0, 0.0], [0.0, 60.0]];
    let starts = [[0.0, 65.0], [105.0, 60.0], [100.0, -5.0], [-5.0, 0.0]];
    let ends = [[100.0, 65.0], [105.0, 0.0], [0.0, -5.0], [-5.0, 60.0]];
    for piece in [0.3, 1000.0] {
        let mut moves = Vec::new();
        for ((start, end), centre) in starts.into_iter().zip(ends).zip(corners) {
            let length = distance(start, end);
            let pieces = (length / piece).ceil();
            let at = |k: f64| {
                let share = k / pieces;
                [start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share, -7.0]
            };
            let mut k = 0.0;
            while k < pieces {
                moves.push(straight(at(k), at(k + 1.0), 1));
                k += 1.0;
            }
            let arc = Arc { plane: Plane::Xy, centre: [centre[0], centre[1], -7.0], radius: 5.0, sweep: PI / 2.0 };
            let line = Line::Round { arc, counterclockwise: false };
            moves.push(move_along(line, [end[0], end[1], -7.0], [end[0], end[1], -7.0], 2));
        }
        let cover = run(&moves);
        let open: Vec<[f64; 2]> =
            cover.marks.iter().filter(|mark| mark.through.is_none()).map(|mark| mark.at).collect();
        assert!(open.is_empty(), "pieces of {piece}: {open:?}");
        assert!(cover.arrivals.is_empty(), "{:?}", cover.arrivals);
    }
}

#[test]
fn a_square_arrival_is_noted_and_one_along_the_edge_is_not() {
    let square = straight([50.0, 90.0, -7.0], [50.0, 65.0, -7.0], 1);
    let along = straight([50.0, 65.0, -7.0], [70.0, 65.0, -7.0], 2);
    let cover = run(&[square, along]);
    assert_eq!(cover.arrivals.len(), 1);
    assert!(cover.arrivals[0].angle > 89.0 && cover.arrivals[0].block.index == 1);
}

#[test]
fn a_jump_to_another_side_cuts_nothing_between() {
    let top = straight([-20.0, 65.0, -7.0], [50.0, 65.0, -7.0], 1);
    let bottom = straight([50.0, -5.0, -7.0], [-20.0, -5.0, -7.0], 2);
    let cover = run(&[top, bottom]);
    assert!(cover.marks.iter().filter(|mark| mark.is_cut()).all(|mark| mark.at[0] <= 51.0 && mark.at[0] >= -1.0));
    assert!(cover.marks.iter().filter(|mark| mark.at[1] > 1.0 && mark.at[1] < 59.0).all(|mark| !mark.is_cut()));
}

#[test]
fn far_and_broken_moves_do_nothing() {
    let far = straight([1e12, 1e12, -7.0], [1e12 + 50.0, 1e12, -7.0], 1);
    let broken = straight([f64::NAN, 0.0, -7.0], [50.0, f64::INFINITY, -7.0], 2);
    assert!(run(&[far, broken]).marks.iter().all(|mark| !mark.is_cut()));
}
