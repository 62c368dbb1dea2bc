//! The feed is more than the laminate's stated ceiling for the layer.
//!
//! ## Why it matters
//! Thrust grows with feed, and thrust is what parts the plies. The ceiling is the laminate's own, for each turn
//! (`rev_ceiling`) or for each edge (`tooth_ceiling`). A tool that circles a hole is judged at its wall, by
//! `wall-feed-high`.
//!
//! ## Fires on
//! 640 mm/min at 6366 rev/min is 0.1005 mm/rev; the plate allows 0.08.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F640 (!)
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
//! G99 G81 Z-8.5 R2 F509
//! G80
//! M30
//! ```
//! A fast feed that ends in air:
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z20
//! G1 Z0.5 F2000
//! G1 Z-8.5 F318
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Lowers the feed to the ceiling, where no floor lies above it.

use super::feed::{above, feed_line, feed_word, layer, posted, speed, tooth_line, with_band, worst_of_each_feed};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::process::Reading;

/// The rule.
pub static RULE: Rule = Rule {
    name: "feed-above-ceiling",
    severity: Severity::Error,
    summary: "feeds faster than the laminate allows",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    if view.recipe.orbit.is_some() {
        return;
    }
    let passes = cx.passes(view);
    for pass in passes.iter().filter(|pass| pass.window.layer_ceiling.is_none()) {
        missing(view, pass.layer, cx);
    }
    let broken = passes.iter().filter_map(|pass| {
        let (feed, ceiling) = (pass.per_rev?, pass.window.layer_ceiling.as_ref()?.value);
        above(feed, ceiling).then_some((pass, feed, -ceiling.0))
    });
    for pass in worst_of_each_feed(broken) {
        report(view, pass, cx);
    }
}

fn report(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let (Some(feed), Some(ceiling)) = (pass.per_rev, &pass.window.layer_ceiling) else { return };
    let (is, most) = (cx.units.per_rev(feed), cx.units.per_rev(ceiling.value));
    let mut report = Report::new(feed_word(pass), format!("feed {is} in `{}`, most {most}", layer(view, pass)))
        .why(feed_line(view, pass, cx.units))
        .measured(feed.0, "mm/rev")
        .limit(ceiling.value.0, "mm/rev", ceiling.origin.clone());
    if let (Some(is), Some(most)) = (tooth_line(view, feed, cx.units), tooth_line(view, ceiling.value, cx.units)) {
        report = report.why(format!("{is}; most {most}"));
    }
    let fits = pass.window.floor().is_none_or(|floor| floor.value <= ceiling.value);
    if let Some(speed) = speed(view, pass).filter(|_| fits) {
        let feed = posted(ceiling.value * speed, cx.units, false);
        report = report.advice(format!("feed at {} or less", cx.units.feed(feed))).remedy(Remedy::Feed(feed));
    }
    cx.report_once(with_band(report, view));
}

fn missing(view: &HoleView<'_>, layer: usize, cx: &mut Context<'_>) {
    let Some((laminate, layer)) = view.laminate.and_then(|l| Some((l, l.layers.get(layer)?))) else { return };
    if layer.material.class.is_core() {
        return;
    }
    let key = match (view.tool, &layer.limits.tooth_ceiling) {
        (Some(tool), Some(_)) => format!("tool.{}.edges", tool.number),
        _ => format!("laminate.{}.rev_ceiling", laminate.name),
    };
    cx.not_checked(format!("`{key}` is not given"), key);
}
