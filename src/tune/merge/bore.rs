//! Holes drilled twice that the second drill would make alone.

use super::{Suggestion, kept, per_cent};
use crate::job::{Job, Tool, ToolKind};
use crate::motion::trapezoid_time;
use crate::operation::{Recipe, StrokeKind};
use crate::process::{HoleReading, POST_ROUNDING, Reading, SetBy, Zone, limits_of};
use crate::tune::{Run, counted};
use crate::units::{Millimetres, UnitSystem};
use std::collections::BTreeMap;

/// Holes whose pilot the drill behind it could do without, by the two recipes.
pub(super) fn suggestions(run: &Run, job: &Job) -> Vec<Suggestion> {
    let mut pairs: BTreeMap<(u32, u32), usize> = BTreeMap::new();
    for (index, hole) in (0..).zip(&run.survey.holes) {
        let Some((_, pilot)) = run.survey.earlier_than(index) else { continue };
        if !drawing_wants(pilot.recipe, index, run, job) {
            *pairs.entry((pilot.recipe, hole.recipe)).or_default() += 1;
        }
    }
    let found = pairs.into_iter().filter_map(|((pilot, drill), holes)| {
        let recipe = |index: u32| run.survey.recipes.get(index as usize);
        alone(recipe(pilot)?, recipe(drill)?, holes, job, run.units)
    });
    found.collect()
}

/// Whether the drawing lists the pilot's tool for the hole.
fn drawing_wants(pilot: u32, hole: u32, run: &Run, job: &Job) -> bool {
    let drawn = run.survey.drawing.of_hole.get(hole as usize).copied().flatten();
    let tool = run.survey.recipes.get(pilot as usize).map(|recipe| recipe.tool);
    let group = drawn.and_then(|drawn| job.holes.get(drawn.group));
    group.zip(tool).is_some_and(|(group, tool)| group.tools.contains(&tool))
}

/// Whether a tool opens the middle of a hole as well.
fn opens(tool: &Tool) -> bool {
    tool.kind.drills() && !matches!(tool.kind, ToolKind::CoreDrill { .. })
}

/// What the drill comes to without the pilot; `None` where a limit would be broken or is not known.
fn alone(pilot: &Recipe, drill: &Recipe, holes: usize, job: &Job, units: UnitSystem) -> Option<Suggestion> {
    let (small, large) = (job.tool(pilot.tool)?, job.tool(drill.tool)?);
    let widens = opens(small) && opens(large) && small.diameter < large.diameter && drill.bottom <= pilot.bottom;
    if !widens || pilot.orbit.is_some() || drill.orbit.is_some() {
        return None;
    }
    let reading = HoleReading::of(&Recipe { pilot: 0.0, ..drill.clone() }, job);
    if !reading.gaps.is_empty() || reading.passes.is_empty() {
        return None;
    }
    let laminate = job.laminate.as_ref()?;
    let mut tightest: Option<(f64, &Reading)> = None;
    for pass in &reading.passes {
        if laminate.layers.get(pass.layer)?.material.class.is_core() {
            continue;
        }
        let used = used(pass)?;
        if used > 1.0 + POST_ROUNDING {
            return None;
        }
        if tightest.is_none_or(|(known, _)| used > known) {
            tightest = Some((used, pass));
        }
    }
    let (used, pass) = tightest?;
    let limits = limits_of(pass).into_iter().map(|(limit, by)| {
        kept(&format!("T{} without a pilot: {}", drill.tool, by.words()), &units.per_rev(limit.value), &limit.origin)
    });
    let feed = units.per_rev(pass.per_rev?);
    let first = format!("{feed} would use {} of what is allowed where it is tightest", per_cent(used));
    let last = "not judged: whether the drawing or the shop wants the pilot for size, position or finish".to_owned();
    Some(Suggestion {
        tool: drill.tool,
        what: format!(
            "{}: {} by T{}, then {} by T{}; T{} alone keeps its limits",
            counted(holes, "hole"),
            units.length(small.diameter),
            pilot.tool,
            units.length(large.diameter),
            drill.tool,
            drill.tool
        ),
        why: [first].into_iter().chain(limits).chain([last]).collect(),
        seconds: Some(holes as f64 * seconds(pilot, job)),
    })
}

/// How much of the lowest ceiling the feed of a pass uses; `None` where that is not known, where the exit has no ceiling
/// of thrust, which is what a pilot lowers, or where the feed is below its floor.
fn used(pass: &Reading) -> Option<f64> {
    let feed = pass.per_rev?;
    let limits = limits_of(pass);
    let is_floor = |by: &SetBy| matches!(by, SetBy::Floor | SetBy::ExitFloor);
    if pass.zone == Zone::Exit && !limits.iter().any(|(_, by)| *by == SetBy::Thrust) {
        return None;
    }
    let low = limits.iter().any(|(limit, by)| is_floor(by) && feed.0 < limit.value.0 * (1.0 - POST_ROUNDING));
    let ceilings = limits.iter().filter(|(_, by)| !is_floor(by)).map(|(limit, _)| limit.value.0);
    let lowest = ceilings.reduce(f64::min).filter(|_| !low)?;
    Some(feed.0 / lowest)
}

/// Seconds that one pilot hole is fed.
fn seconds(recipe: &Recipe, job: &Job) -> f64 {
    let acceleration = job.machine.acceleration.get(2).copied().flatten().map_or(f64::MAX, |a| 1000.0 * a);
    let fed = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed);
    let each = fed.filter_map(|stroke| {
        let length = Millimetres((stroke.from - stroke.to).abs());
        stroke.feed.map(|feed| trapezoid_time(length.0, feed / 60.0, acceleration))
    });
    each.sum()
}
