//! The staircase of feeds through a hole: fastest of all, within every window, and with words where there is none.

use crate::rules::job;
use lastply::job::{Job, Laminate, Support, Tool, ToolKind};
use lastply::process::thrust::allowed_thrust;
use lastply::tune::exit::{Drilling, Held, Opening, Piece, Plan, Schedule, Step, fastest, plan};
use lastply::units::{Degrees, Micrometres, Millimetres, MmPerRev, UnitSystem};
use proptest::prelude::*;

/// Every way to part the pieces into at most `stages` steps, tried one after another.
fn brute_force(pieces: &[Piece], stages: usize) -> Option<f64> {
    if pieces.is_empty() {
        return Some(0.0);
    }
    if stages == 0 {
        return None;
    }
    let ways = (1..=pieces.len()).filter_map(|end| {
        let (step, rest) = pieces.split_at(end);
        let most = step.iter().map(|piece| piece.most).fold(f64::INFINITY, f64::min);
        let kept = step.iter().map(|piece| piece.kept).fold(f64::INFINITY, f64::min);
        let floor = step.iter().map(|piece| piece.floor).fold(0.0, f64::max);
        let feed = kept.max(floor);
        let length: f64 = step.iter().map(|piece| piece.length).sum();
        (feed <= most).then_some(length / feed + brute_force(rest, stages - 1)?)
    });
    ways.reduce(f64::min)
}

fn turns(pieces: &[Piece], steps: &[Step]) -> f64 {
    steps.iter().map(|step| pieces[step.pieces.clone()].iter().map(|piece| piece.length).sum::<f64>() / step.feed).sum()
}

prop_compose! {
    fn piece()(length in 0.01f64..3.0, floor in 0.0f64..0.06, most in 0.01f64..0.2, margin in 0.0f64..0.3) -> Piece {
        Piece { length, floor, most, kept: most * (1.0 - margin) }
    }
}

proptest! {
    /// No staircase of as few stages takes fewer turns, and each of its steps lies in all windows it covers.
    #[test]
    fn no_staircase_is_faster(pieces in prop::collection::vec(piece(), 1..9), stages in 1usize..5) {
        let best = fastest(&pieces, stages);
        match (best, brute_force(&pieces, stages)) {
            (Some(steps), Some(least)) => {
                prop_assert!(steps.len() <= stages);
                prop_assert!((turns(&pieces, &steps) - least).abs() <= 1e-9 * least, "{steps:?} against {least}");
                prop_assert_eq!((steps[0].pieces.start, steps[steps.len() - 1].pieces.end), (0, pieces.len()));
                for step in &steps {
                    for piece in &pieces[step.pieces.clone()] {
                        prop_assert!((piece.floor..=piece.most).contains(&step.feed), "{step:?} outside {piece:?}");
                    }
                }
            }
            (None, None) => {}
            (best, least) => prop_assert!(false, "{best:?} against {least:?}"),
        }
    }
}

fn drilling(job: &Job, tool: u32) -> Drilling<'_> {
    Drilling {
        laminate: job.laminate.as_ref().unwrap(),
        tool: job.tool(tool).unwrap(),
        pilot: Millimetres(0.0),
        from: Millimetres(-1.0),
        bottom: Millimetres(8.5),
        stages: 2,
        margin: 0.0,
        floor: None,
        ceiling: None,
    }
}

proptest! {
    /// At every depth the thrust of the schedule stays under what the whole plies below the tip bear, whatever the plate.
    #[test]
    fn no_depth_is_pushed_out(
        (plies, ply, energy) in (4u32..40, 0.1f64..0.4, 0.2f64..1.5),
        (wear, stages, margin) in (1.0f64..2.0, 1usize..5, 0.0f64..0.3),
    ) {
        let mut job = job("tough_plate");
        let laminate = job.laminate.as_mut().unwrap();
        let layer = laminate.layers.last_mut().unwrap();
        (layer.plies, layer.ply) = (plies, Millimetres(ply));
        layer.limits.plate.as_mut().unwrap().fracture_energy = energy;
        job.tools.get_mut(&6).unwrap().wear_factor = Some(wear);
        let bottom = Millimetres(f64::from(plies) * ply * 1.03 + 2.5);
        let drilling = Drilling { stages, margin, bottom, ..drilling(&job, 6) };
        if let Plan::Schedule(schedule) = plan(&drilling) {
            let (laminate, tool) = (job.laminate.as_ref().unwrap(), job.tool(6).unwrap());
            let (plate, law) = (laminate.layers[0].limits.plate.as_ref().unwrap(), tool.thrust.as_ref().unwrap());
            prop_assert!(schedule.stages.len() <= stages + 1, "the entry has a feed of its own");
            prop_assert_eq!((schedule.stages[0].from, schedule.stages.last().unwrap().to), (drilling.from, bottom));
            for pair in schedule.stages.windows(2) {
                prop_assert_eq!(pair[0].to, pair[1].from);
            }
            let thin = laminate.span_of(1).0.0;
            for step in 0..500 {
                let depth = f64::from(step) / 500.0 * bottom.0;
                let stage = schedule.stages.iter().find(|stage| stage.to.0 > depth).unwrap();
                let whole = ((thin - depth) / ply).floor().clamp(1.0, f64::from(plies));
                let bears = allowed_thrust(plate, Millimetres(whole * ply)).0;
                let thrust = wear * law.c * stage.per_rev.0.powf(law.m);
                prop_assert!(thrust <= bears * (1.0 + 1e-9), "{thrust} N at {depth} mm, {whole} plies bear {bears} N");
            }
        }
    }
}

fn scheduled(drilling: &Drilling<'_>) -> Schedule {
    match plan(drilling) {
        Plan::Schedule(schedule) => schedule,
        other => panic!("no schedule: {other:?}"),
    }
}

/// Feeds with the depths they hold for, rounded as a program would post them.
fn outline(schedule: &Schedule) -> Vec<(f64, f64, f64)> {
    let round = |value: f64, to: f64| (value * to).round() / to;
    let stages = schedule.stages.iter();
    stages.map(|stage| (round(stage.from.0, 1e3), round(stage.to.0, 1e3), round(stage.per_rev.0, 1e4))).collect()
}

/// 6 mm of 48 plies, 3 % either way; entry 0.05 through 3 plies and the 1.803 mm point, exit 0.03 from 0.5 mm above the
/// thinnest exit, 0.08 between.
#[test]
fn without_a_law_the_stated_exit_feed_holds() {
    let mut job = job("plate");
    job.tools.get_mut(&6).unwrap().thrust = None;
    let schedule = scheduled(&drilling(&job, 6));
    assert_eq!(outline(&schedule), [(-1.0, 2.178, 0.05), (2.178, 5.32, 0.08), (5.32, 8.5, 0.03)]);
    assert_eq!(schedule.stages[2].limit.origin, "plate.toml: laminate.plate.exit.feed, SPEC-1 5.3");
    let margin = scheduled(&Drilling { margin: 0.1, ..drilling(&job, 6) });
    assert_eq!(outline(&margin), [(-1.0, 2.178, 0.045), (2.178, 5.32, 0.072), (5.32, 8.5, 0.027)]);
}

/// The margin never leads below the floor: 0.010 mm/tooth of two edges is 0.02 mm/rev.
#[test]
fn the_margin_stops_at_the_floor() {
    let mut job = job("plate");
    job.tools.get_mut(&6).unwrap().thrust = None;
    let schedule = scheduled(&Drilling { margin: 0.5, ..drilling(&job, 6) });
    let last = schedule.stages.last().unwrap();
    assert_eq!((last.held, last.per_rev), (Held::Floor, MmPerRev(0.016)), "the exit has a floor of 0.008 mm/tooth");
}

/// 6 mm of 30 plies of 0.2 mm: one ply bears 45.5 N at the safety factor 1.25.
#[test]
fn with_a_law_the_last_plies_set_the_feed() {
    let job = job("tough_plate");
    let schedule = scheduled(&drilling(&job, 6));
    let last = schedule.stages.last().unwrap();
    let step = last.plate.as_ref().unwrap();
    assert_eq!((step.plies, (step.uncut.0 * 1e6).round() / 1e6), (1, 0.2));
    assert!(last.limit.origin.starts_with("plate model with 1 ply left"), "{}", last.limit.origin);
    let law = job.tool(6).unwrap().thrust.as_ref().unwrap();
    let thrust = law.c * last.per_rev.0.powf(law.m);
    assert!((thrust - step.allowed.0).abs() < 1e-9, "{thrust} N, allowed {}", step.allowed);
}

/// The worn drill of the plate needs 0.0467 mm/rev for a chip as thick as its edge is round; the exit allows 0.03.
#[test]
fn without_a_window_each_way_out_has_its_number() {
    let job = job("open_plate");
    let Plan::NoWindow(none) = plan(&drilling(&job, 7)) else { panic!("a window") };
    assert!(none.floor.value > none.ceiling.value);
    assert_eq!(none.ceiling.value, MmPerRev(0.03));
    assert!(none.openings.iter().any(|opening| matches!(opening, Opening::SharperEdge { .. })), "{:?}", none.openings);
    assert!(none.openings.iter().any(|opening| matches!(opening, Opening::Backing { .. })), "{:?}", none.openings);
}

/// The job's laminate and tool after the change of set-up that an opening names; `None` for one that is not theirs.
fn changed(laminate: &Laminate, tool: &Tool, opening: &Opening) -> Option<(Laminate, Tool)> {
    let (mut laminate, mut tool) = (laminate.clone(), tool.clone());
    match opening {
        Opening::Backing { .. } => laminate.support = Support::Backed,
        Opening::SharperEdge { radius } => tool.edge_radius = Some(*radius),
        Opening::Point { angle } => tool.kind = ToolKind::TwistDrill { point: Some(*angle) },
        Opening::LessWear { factor } => tool.wear_factor = Some(*factor),
        // The share of the thrust that the pilot takes, on the plate that bears least.
        Opening::Pilot { share } => tool.thrust.as_mut()?.c *= 1.0 - share,
        Opening::RimFirst { delamination } => {
            tool.kind = ToolKind::BradPointDrill { tip: Millimetres(1.0) };
            laminate.layers.last_mut()?.limits.plate.as_mut()?.delamination = Some(*delamination);
        }
        Opening::Trials { .. } | Opening::Stages(_) => return None,
    }
    Some((laminate, tool))
}

/// Every change of set-up that is named opens a window indeed.
#[test]
fn every_opening_opens_a_window() {
    let mut names = Vec::new();
    let mut worn = job("tough_plate");
    worn.tools.get_mut(&6).unwrap().wear_factor = Some(2.0);
    let mut sharp = job("open_plate");
    let tool = sharp.tools.get_mut(&7).unwrap();
    (tool.kind, tool.edge_radius) = (ToolKind::TwistDrill { point: Some(Degrees(60.0)) }, Some(Micrometres(13.0)));
    // Shut by the plate model, by the edge, by wear, and by the point.
    for (job, tool) in [(job("plate"), 6), (job("open_plate"), 7), (worn, 6), (sharp, 7)] {
        let before = drilling(&job, tool);
        let Plan::NoWindow(none) = plan(&before) else { panic!("a window for T{tool}") };
        assert!(!none.openings.is_empty());
        for opening in &none.openings {
            assert!(!opening.worded(UnitSystem::Metric).is_empty());
            let Some((laminate, tool)) = changed(before.laminate, before.tool, opening) else { continue };
            let after = plan(&Drilling { laminate: &laminate, tool: &tool, stages: 3, ..before.clone() });
            assert!(matches!(after, Plan::Schedule(_)), "{opening:?} opens nothing: {after:?}");
            names.push(format!("{opening:?}").split([' ', '{']).next().unwrap().to_owned());
        }
    }
    for name in ["Backing", "SharperEdge", "Point", "LessWear", "Pilot", "RimFirst"] {
        assert!(names.iter().any(|found| found == name), "no {name} among {names:?}");
    }
}

/// Spurs bear on the rim: with delamination let pass up to 1.25 times the hole, 1 / (1 - 0.8^2) = 2.7778 times a point.
#[test]
fn a_tool_that_cuts_at_the_rim_may_push_harder() {
    let mut job = job("tough_plate");
    let step = |job: &Job| scheduled(&drilling(job, 6)).stages.last().unwrap().plate.clone().unwrap();
    let point = step(&job);
    job.tools.get_mut(&6).unwrap().kind = ToolKind::BradPointDrill { tip: Millimetres(1.8) };
    assert_eq!(step(&job).allowed, point.allowed, "without a stated factor every tool is a point load");
    let plate = &mut job.laminate.as_mut().unwrap().layers.last_mut().unwrap().limits.plate;
    plate.as_mut().unwrap().delamination = Some(1.25);
    let ring = step(&job);
    assert!((ring.allowed / point.allowed - 2.7778).abs() < 5e-5);
    assert!(ring.ceiling.origin.contains("2.78 times the load of a point"), "{}", ring.ceiling.origin);
}

/// The plate model over three exit stages: two plies bear 2^1.5 times the thrust of one, so at m 0.5 eight times the feed.
#[test]
fn more_stages_are_faster() {
    let mut job = job("tough_plate");
    job.laminate.as_mut().unwrap().exit = None;
    let turns = |stages| scheduled(&Drilling { stages, ..drilling(&job, 6) }).turns();
    let (one, two, three) = (turns(1), turns(2), turns(3));
    assert!(one > two && two >= three, "{one}, {two}, {three} turns");
    let schedule = scheduled(&Drilling { stages: 2, ..drilling(&job, 6) });
    let slow = schedule.stages.last().unwrap();
    // 6 mm less 3 % less two plies of 0.2 mm: from there on one ply alone is whole under the tip.
    assert!((slow.from.0 - 5.42).abs() < 1e-9, "{slow:?}");
}
