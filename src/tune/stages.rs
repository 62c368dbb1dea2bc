//! Strokes of drilled holes in stages: fast where the window lets it, slow where the last plies ask for it.

use super::exit::{Drilling, Held, Plan, Schedule, plan};
use super::feeds::posted;
use super::fulfil::{fulfil, gains};
use super::order::jumps;
use super::task::wish;
use super::{Change, Left, Outcome, Run, Task, counted};
use crate::diagnostic::Remedy;
use crate::job::{Limit, Tool};
use crate::motion::trapezoid_time;
use crate::operation::{AXIS_Z, Recipe, Stroke, StrokeKind};
use crate::units::{Millimetres, MmPerMin, RevPerMin, UnitSystem, trimmed};
use std::collections::BTreeMap;

/// Share of its feeding time that a hole must gain before its strokes are cut up: a house value.
const WORTH: f64 = 0.03;

/// Holes that may be drilled in the same stages.
struct Staged {
    tool: u32,
    stages: Vec<(Millimetres, MmPerMin)>,
    what: String,
    why: Vec<String>,
    /// Seconds, reckoned by arithmetic.
    gain: f64,
    holes: Vec<u32>,
}

/// Gives drilled holes the fastest staircase of feeds.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    if jumps(run.main()) {
        // Where a jump leads, new blocks and rewritten cycles would mean something else.
        let (what, why) = ("stages of the holes".to_owned(), "the program jumps to block numbers".to_owned());
        return Outcome { left: vec![Left { what, why }], ..Outcome::default() };
    }
    let mut groups: Vec<Staged> = Vec::new();
    let mut left: BTreeMap<(u32, String), usize> = BTreeMap::new();
    for (recipe, holes) in run.survey.recipes.iter().zip(run.holes_of()) {
        let (holes, other): (Vec<u32>, Vec<u32>) = holes.into_iter().partition(|hole| run.in_main(*hole));
        if holes.is_empty() {
            continue;
        }
        let mut stay = |why: String, count: usize| *left.entry((recipe.tool, why)).or_default() += count;
        if !other.is_empty() {
            stay("its program stands in another file".to_owned(), other.len());
        }
        match staged(recipe, run, task) {
            Ok(Some(_)) if run.waived(&holes).is_some() => {
                let id = run.waived(&holes).unwrap_or_default();
                stay(format!("waiver {id} speaks of them"), holes.len());
            }
            Ok(Some(new)) => gather(&mut groups, Staged { gain: new.gain * holes.len() as f64, holes, ..new }),
            Ok(None) => {}
            Err(why) => stay(why, holes.len()),
        }
    }
    let wishes = groups.iter().map(|group| vec![wish(run, &group.holes, remedy(&group.stages))]).collect();
    let (next, refused) = fulfil(run, task, wishes);
    let gains = gains(run, next.as_ref(), groups.iter().zip(&refused).map(|(group, why)| (group.gain, why)));
    let stays = |tool: u32, holes: usize, why: String| Left {
        what: format!("stages of {} with T{tool}", counted(holes, "hole")),
        why,
    };
    let mut outcome = Outcome { next, ..Outcome::default() };
    outcome.left = left.into_iter().map(|((tool, why), holes)| stays(tool, holes, why)).collect();
    for ((group, refused), gain) in groups.iter().zip(refused).zip(gains) {
        match refused {
            Some(why) => outcome.left.push(stays(group.tool, group.holes.len(), why)),
            None => outcome.changes.push(Change {
                tool: Some(group.tool),
                holes: group.holes.len(),
                what: group.what.clone(),
                why: group.why.clone(),
                gain,
            }),
        }
    }
    outcome
}

fn gather(groups: &mut Vec<Staged>, new: Staged) {
    let alike = |known: &&mut Staged| {
        known.tool == new.tool && known.stages == new.stages && known.what == new.what && known.why == new.why
    };
    match groups.iter_mut().find(alike) {
        Some(known) => {
            known.gain += new.gain;
            known.holes.extend(new.holes);
        }
        None => groups.push(new),
    }
}

fn remedy(stages: &[(Millimetres, MmPerMin)]) -> Remedy {
    match stages {
        [(_, feed)] => Remedy::Feed(*feed),
        _ => Remedy::Stages(stages.to_vec()),
    }
}

/// The stages of one kind of hole; `None` when they would gain nothing, or the tool does not drill.
fn staged(recipe: &Recipe, run: &Run, task: &Task<'_>) -> Result<Option<Staged>, String> {
    let job = task.job;
    let (Some(laminate), Some(tool)) = (&job.laminate, job.tool(recipe.tool)) else { return Ok(None) };
    if !tool.kind.drills() || recipe.orbit.is_some() {
        return Ok(None);
    }
    let face = job.head.entry_z.0;
    if !recipe.heights_known || recipe.axis != AXIS_Z {
        return Err("the height of its tool tip is not known".to_owned());
    }
    let strokes = downward(recipe).ok_or("it pecks, or comes back up at feed")?;
    let speed = strokes.iter().find_map(|stroke| stroke.speed).filter(|speed| *speed > 0.0);
    let speed = RevPerMin(speed.ok_or("its spindle speed is not known")?);
    let per_rev = |limit: &Limit<MmPerMin>| Limit::new(limit.value / speed, limit.origin.clone());
    let drilling = Drilling {
        laminate,
        tool,
        pilot: Millimetres(recipe.pilot),
        from: Millimetres(face - recipe.start),
        bottom: Millimetres(face - recipe.bottom),
        stages: job.tuning.stages.value as usize,
        margin: task.margin(),
        floor: laminate.slowest_feed.as_ref().map(per_rev),
        ceiling: job.machine.max_feed.as_ref().map(per_rev),
    };
    let schedule = match plan(&drilling) {
        Plan::Schedule(schedule) => schedule,
        Plan::Unknown(gaps) => {
            let gap = gaps.into_iter().next().ok_or("nothing is known of its limits")?;
            return Err(gap.key.map_or(gap.why.clone(), |key| format!("{}: give `{key}` in the job file", gap.why)));
        }
        Plan::NoWindow(none) => {
            let openings: Vec<String> = none.openings.iter().map(|opening| opening.worded(run.units)).collect();
            let (floor, ceiling) = (run.units.per_rev(none.floor.value), run.units.per_rev(none.ceiling.value));
            return Err(format!(
                "no feed is right at some depth: floor {floor} ({}), ceiling {ceiling} ({}); {}",
                none.floor.origin,
                none.ceiling.origin,
                openings.join("; or ")
            ));
        }
    };
    let stages = heights(&schedule, face, speed, run.units);
    let acceleration = job.machine.acceleration.get(2).copied().flatten();
    let now: f64 = strokes.iter().map(|stroke| seconds(stroke.from - stroke.to, stroke.feed, acceleration)).sum();
    let then = time(&stages, recipe.start, acceleration);
    if !then.is_finite() || then > now * (1.0 - WORTH) {
        return Ok(None);
    }
    let what = format!("{} becomes {}", said_now(&strokes, run.units), said(&stages, run.units));
    let why = why(&schedule, &stages, tool, task, run.units);
    Ok(Some(Staged { tool: recipe.tool, stages, what, why, gain: now - then, holes: Vec::new() }))
}

/// The feed strokes of a hole that is drilled in one go.
fn downward(recipe: &Recipe) -> Option<Vec<&Stroke>> {
    let first = recipe.strokes.iter().position(|stroke| stroke.kind == StrokeKind::Feed)?;
    let last = recipe.strokes.iter().rposition(|stroke| stroke.kind == StrokeKind::Feed)?;
    let strokes: Vec<&Stroke> = recipe.strokes.get(first..=last)?.iter().collect();
    let goes_on = strokes.windows(2).all(|pair| matches!(pair, [a, b] if (a.to - b.from).abs() < 1e-6));
    let down = strokes.iter().all(|stroke| stroke.kind == StrokeKind::Feed && stroke.to < stroke.from);
    (goes_on && down).then_some(strokes)
}

/// Stages as heights and table feeds, each rounded to its safe side: slow feed begins early and ends late.
fn heights(schedule: &Schedule, face: f64, speed: RevPerMin, units: UnitSystem) -> Vec<(Millimetres, MmPerMin)> {
    let step = match units {
        UnitSystem::Metric => 0.01,
        UnitSystem::Inch => 0.0254,
    };
    let mut stages: Vec<(Millimetres, MmPerMin)> = Vec::new();
    for (index, stage) in schedule.stages.iter().enumerate() {
        let slower_next = schedule.stages.get(index + 1).is_some_and(|next| next.per_rev < stage.per_rev);
        let steps = (face - stage.to.0) / step;
        let last = index + 1 == schedule.stages.len();
        let height = match (last, slower_next) {
            (true, _) => face - stage.to.0,
            (_, true) => libm::ceil(steps - 1e-6) * step,
            (_, false) => libm::floor(steps + 1e-6) * step,
        };
        let exact = stage.per_rev * speed;
        let feed = if stage.held == Held::Floor { raised(exact, units) } else { posted(exact, units) };
        match stages.last_mut() {
            Some(known) if known.1 == feed => known.0 = Millimetres(height),
            _ => stages.push((Millimetres(height), feed)),
        }
    }
    stages
}

/// A feed at its floor, cut to the digits a program writes, never downwards.
fn raised(feed: MmPerMin, units: UnitSystem) -> MmPerMin {
    let step = 0.1 * units.mm();
    MmPerMin(libm::ceil(feed.0 / step - 1e-6) * step)
}

fn seconds(length: f64, feed: Option<f64>, acceleration: Option<f64>) -> f64 {
    feed.map_or(0.0, |feed| trapezoid_time(length, feed / 60.0, acceleration.map_or(f64::MAX, |a| 1000.0 * a)))
}

fn time(stages: &[(Millimetres, MmPerMin)], start: f64, acceleration: Option<f64>) -> f64 {
    let mut at = start;
    let mut sum = 0.0;
    for (to, feed) in stages {
        sum += seconds((at - to.0).max(0.0), Some(feed.0), acceleration);
        at = to.0;
    }
    sum
}

fn said_now(strokes: &[&Stroke], units: UnitSystem) -> String {
    let feeds = strokes.iter().filter_map(|stroke| stroke.feed).map(|feed| units.feed(MmPerMin(feed)));
    feeds.collect::<Vec<_>>().join(" then ")
}

fn said(stages: &[(Millimetres, MmPerMin)], units: UnitSystem) -> String {
    let one = |(to, feed): &(Millimetres, MmPerMin)| format!("{} to {}", units.feed(*feed), units.coordinate('Z', *to));
    stages.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// The limit behind each stage.
fn why(
    schedule: &Schedule,
    stages: &[(Millimetres, MmPerMin)],
    tool: &Tool,
    task: &Task<'_>,
    units: UnitSystem,
) -> Vec<String> {
    let margin = trimmed(100.0 * task.margin(), 1);
    let mut lines: Vec<String> = Vec::new();
    for stage in &schedule.stages {
        let limit = units.per_rev(stage.limit.value);
        let line = match stage.held {
            Held::Ceiling => {
                format!("{} is held by its ceiling {limit}, less {margin} % margin", units.per_rev(stage.per_rev))
            }
            Held::Floor => format!("{} is held by its floor {limit}", units.per_rev(stage.per_rev)),
        };
        lines.push(format!("{line}; source: {}", stage.limit.origin));
    }
    if stages.len() > 1 {
        lines.push(format!(
            "slow feed begins and ends by the point of T{}, each end rounded to its safe side",
            tool.number
        ));
    }
    lines
}
