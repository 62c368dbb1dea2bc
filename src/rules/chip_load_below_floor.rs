//! The feed for each edge is less than the laminate's stated floor.
//!
//! ## Why it matters
//! Below its floor an edge rubs instead of cutting: fibres bend and spring back, the matrix heats, the edge dulls. The
//! floor is the laminate's own, for each edge (`tooth_floor`) or for each turn (`rev_floor`). Only depths where the tool
//! is in the layer count; approach and return moves in air may be as slow as they like. A feed slowed for the exit has a
//! floor of its own and is judged by `slow-feed-rubs`, from as far above the exit zone as the zone itself is deep. A tool
//! that circles a hole is judged at its wall, by `wall-feed-low`.
//!
//! ## Fires on
//! 60 mm/min at 6366 rev/min is 0.0047 mm for each of two edges; the plate asks for 0.010.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F60 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F160
//! G80
//! M30
//! ```
//! A slow approach in air, and a feed slowed for the exit a little before it must be:
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z0.5 F40
//! G1 Z-5 F160
//! G1 Z-8.5 F110
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Raises the feed to the floor, where no ceiling of the same stroke lies below it. A stroke that runs on through the exit
//! keeps its feed; it is to begin lower.

use super::feed::{
    above, below, below_floor, layer, posted, posted_height, speed, stroke_ceiling, with_band, worst_of_each_feed,
};
use super::{Check, Context, HoleView, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::process::Reading;
use crate::units::{MmPerMin, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "chip-load-below-floor",
    severity: Severity::Warning,
    summary: "feeds an edge less than the laminate's floor",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    if view.recipe.orbit.is_some() {
        return;
    }
    let passes = cx.passes(view);
    let judged = || passes.iter().filter(|pass| !view.reading.is_exit_feed(pass));
    for pass in judged().filter(|pass| pass.window.stated_floor.is_none()) {
        missing(view, pass, cx);
    }
    let broken = judged().filter_map(|pass| {
        let (feed, floor) = (pass.per_rev?, pass.window.stated_floor.as_ref()?.value);
        below(feed, floor).then_some((pass, feed, floor.0))
    });
    for pass in worst_of_each_feed(broken) {
        report(view, pass, cx);
    }
}

fn report(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let (Some(feed), Some(floor)) = (pass.per_rev, &pass.window.stated_floor) else { return };
    let (is, least) = (cx.units.per_rev(feed), cx.units.per_rev(floor.value));
    let message = format!("feed {is} in `{}`, least {least}", layer(view, pass));
    let mut report = below_floor(message, (view, pass), (feed, floor), cx.units);
    // An edge worn beyond the stated floor needs more than that floor.
    let target = pass.window.floor().map_or(floor.value, |floor| floor.value);
    let fits = pass.window.ceiling().is_none_or(|ceiling| ceiling.value >= target);
    if let Some(speed) = speed(view, pass).filter(|_| fits) {
        let feed = posted(target * speed, cx.units, true);
        report = match stroke_ceiling(view, pass.stroke).filter(|ceiling| above(target, *ceiling)) {
            None => report.advice(format!("feed at {} or more", cx.units.feed(feed))).remedy(Remedy::Feed(feed)),
            Some(ceiling) => report.advice(two_feeds(view, feed, ceiling * speed, cx.units)),
        };
    }
    cx.report_once(with_band(report, view));
}

/// What helps where one feed cannot keep every limit of a stroke: slow feed that begins where the exit asks for it.
fn two_feeds(view: &HoleView<'_>, least: MmPerMin, most: MmPerMin, units: UnitSystem) -> String {
    let (least, most) = (units.feed(least), units.feed(posted(most, units, false)));
    match &view.reading.exit {
        Some(exit) => {
            let from = units.coordinate('Z', posted_height(view, exit.from, units, true));
            format!("feed at {least} or more above {from}, and start the slow feed of {most} or less at {from}")
        }
        None => format!("split the stroke: {least} or more here, {most} or less where its ceiling is lower"),
    }
}

/// A fibre layer without any floor, stated or by its edge, is not concluded on.
fn missing(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let Some((laminate, layer)) = view.laminate.and_then(|l| Some((l, l.layers.get(pass.layer)?))) else { return };
    if !layer.material.class.is_laminate() || pass.window.edge_floor.is_some() {
        return;
    }
    match (&layer.limits.tooth_floor, view.tool) {
        (Some(_), Some(tool)) => {
            cx.not_checked("the tool's edges are not given", format!("tool.{}.edges", tool.number))
        }
        _ => {
            let why = format!("`{}` states no least feed and the tool no edge radius", layer.name);
            cx.not_checked(why, format!("laminate.{}.tooth_floor", laminate.name));
        }
    }
}
