//! What a rule falls silent without, said once when the program has ended: each function is a `Check::Program`.

use super::Context;
use crate::operation::Survey;
use std::collections::BTreeSet;

/// A job, whose entry face tells what lies inside a hole.
pub(super) fn job(survey: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_none() && !survey.holes.is_empty() {
        cx.not_checked("no job file is given", "job.entry_z".to_owned());
    }
}

/// Whether all that the program calls is there; else a note that what this rule found lacking may stand in what is not.
pub(super) fn is_whole(cx: &mut Context<'_>) -> bool {
    let missing: Vec<u32> = cx.ledger.missing.iter().copied().collect();
    missing.iter().for_each(|number| cx.not_checked(format!("program {number} is missing"), None));
    missing.is_empty()
}

/// Each tool that feeds, for rules that ask what it is.
pub(super) fn tool(survey: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_some() {
        survey.tools.iter().filter(|used| used.feed_time > 0.0).for_each(|used| {
            cx.tool(used.tool);
        });
    }
}

/// A laminate, for rules that judge holes by its layers.
pub(super) fn laminate(survey: &Survey, cx: &mut Context<'_>) {
    if !survey.holes.is_empty() {
        cx.laminate();
    }
}

/// A peck rule of each metal layer.
pub(super) fn peck_rule(survey: &Survey, cx: &mut Context<'_>) {
    let Some(laminate) = (!survey.holes.is_empty()).then(|| cx.laminate()).flatten() else { return };
    for layer in laminate.layers.iter().filter(|layer| layer.material.class.is_metal()) {
        cx.stated(layer.limits.peck.as_ref(), format!("laminate.{}.peck", laminate.name));
    }
}

/// Holes of the drawing.
pub(super) fn drawing(survey: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_none_or(|job| job.holes.is_empty()) && !survey.holes.is_empty() {
        cx.no_limit("no holes of the drawing are given", "holes".to_owned());
    }
}

/// Clamps and posts around the part.
pub(super) fn zones(_: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_none_or(|job| !job.fixture.listed) {
        cx.no_limit("no clamps or posts are given", "fixture.zones".to_owned());
    }
}

/// Anything a tool could run into: clamps and posts, the table or a backing. That no clamp stands there says nothing of a
/// table.
pub(super) fn obstacles(_: &Survey, cx: &mut Context<'_>) {
    let fixture = cx.job.map(|job| &job.fixture);
    if fixture.is_none_or(|it| it.zones.is_empty() && it.table_z.is_none() && it.backing.is_none()) {
        cx.no_limit("no clamps, posts or table are given", "fixture.zones".to_owned());
    }
}

/// The machine's travel on each axis.
pub(super) fn travel(_: &Survey, cx: &mut Context<'_>) {
    let known = cx.job.map(|job| job.machine.travel.map(|range| range.is_some())).unwrap_or_default();
    if known == [false; 3] {
        return cx.no_limit("`machine.travel` is not given", "machine.travel".to_owned());
    }
    for (axis, known) in ["x", "y", "z"].into_iter().zip(known) {
        let key = format!("machine.travel.{axis}");
        cx.stated(known.then_some(&axis), key);
    }
}

/// The machine's fastest feed.
pub(super) fn max_feed(_: &Survey, cx: &mut Context<'_>) {
    cx.stated(cx.job.and_then(|job| job.machine.max_feed.as_ref()), "machine.max_feed");
}

/// The machine's fastest spindle speed.
pub(super) fn max_speed(_: &Survey, cx: &mut Context<'_>) {
    cx.stated(cx.job.and_then(|job| job.machine.max_speed.as_ref()), "machine.max_speed");
}

/// Time the spindle needs to reach its speed.
pub(super) fn spin_up(_: &Survey, cx: &mut Context<'_>) {
    cx.stated(cx.job.and_then(|job| job.machine.spin_up.as_ref()), "machine.spin_up");
}

/// What moves the tool along its axis: a hand or a machine.
pub(super) fn feeding(_: &Survey, cx: &mut Context<'_>) {
    cx.stated(cx.job.and_then(|job| job.machine.feeding.as_ref()), "machine.feeding");
}

/// A rule on coolant.
pub(super) fn coolant(_: &Survey, cx: &mut Context<'_>) {
    let Some(laminate) = cx.laminate() else { return };
    cx.stated(laminate.coolant.as_ref(), format!("laminate.{}.coolant", laminate.name));
}

/// A rule on dust extraction.
pub(super) fn extraction(_: &Survey, cx: &mut Context<'_>) {
    let Some(laminate) = cx.laminate() else { return };
    cx.stated(laminate.extraction.as_ref(), format!("laminate.{}.extraction", laminate.name));
}

/// The life of each tool the program uses.
pub(super) fn life(survey: &Survey, cx: &mut Context<'_>) {
    let used: BTreeSet<u32> = survey.tools.iter().map(|used| used.tool).filter(|tool| *tool != 0).collect();
    for number in used {
        let life = cx.job.and_then(|job| job.tool(number)).and_then(|tool| tool.life.first());
        cx.stated(life, format!("tool.{number}.life"));
    }
}

/// A job and its laminate, for rules that judge cuts.
pub(super) fn trimming(survey: &Survey, cx: &mut Context<'_>) {
    if !survey.cuts.is_empty() || (cx.job.is_none() && !survey.tools.is_empty()) {
        cx.laminate();
    }
}

/// Edges of the drawing.
pub(super) fn edges(survey: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_none() && !survey.tools.is_empty() {
        return cx.not_checked("no job file is given", "edges".to_owned());
    }
    if cx.job.is_some_and(|job| job.edges.is_empty()) && !survey.cuts.is_empty() {
        cx.no_limit("no edges of the drawing are given", "edges".to_owned());
    }
}
