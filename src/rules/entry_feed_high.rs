//! The feed at the entry is more than the laminate allows there.
//!
//! ## Why it matters
//! The first plies have nothing above them: a drill that enters fast peels them up the flutes. The laminate states the
//! feed allowed and how many plies or millimetres it holds for (`entry`); it holds until the full diameter is that deep.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F380 (!)
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
//! G1 Z0.5 F1000
//! G1 Z-2.2 F318
//! G1 Z-5.3 F380
//! G1 Z-8.5 F190
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Enters at the feed allowed and goes on as before.

use super::feed::{above, feed_line, feed_word, height, posted, posted_height, speed, with_band};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::process::{FeedZone, Reading, Zone};

/// The rule.
pub static RULE: Rule = Rule {
    name: "entry-feed-high",
    severity: Severity::Warning,
    summary: "enters the first plies faster than the laminate allows",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    let Some(laminate) = view.laminate.filter(|_| !passes.is_empty()) else { return };
    if laminate.entry.is_none() {
        let key = format!("laminate.{}.entry", laminate.name);
        cx.no_limit(format!("`{key}` is not given"), key);
    }
    let Some(zone) = &view.reading.entry else { return };
    for pass in passes.iter().filter(|pass| pass.zone == Zone::Entry) {
        let Some(limit) = &pass.window.zone_ceiling else { continue };
        let Some(feed) = pass.per_rev.filter(|feed| above(*feed, limit.value)) else { continue };
        let (is, most) = (cx.units.per_rev(feed), cx.units.per_rev(limit.value));
        let report = Report::new(feed_word(pass), format!("entry feed {is}, limit {most}"))
            .why(feed_line(view, pass, cx.units))
            .measured(feed.0, "mm/rev")
            .limit(limit.value.0, "mm/rev", limit.origin.clone());
        let report = explain(report, view, zone, pass, cx);
        cx.report_once(with_band(report, view));
    }
}

fn explain(report: Report, view: &HoleView<'_>, zone: &FeedZone, pass: &Reading, cx: &Context<'_>) -> Report {
    let units = cx.units;
    let report = report.why(format!(
        "entry zone down to {}: full diameter {} deep",
        units.coordinate('Z', height(view, zone.to)),
        units.length(zone.extent),
    ));
    let (Some(speed), Some(limit)) = (speed(view, pass), &pass.window.zone_ceiling) else { return report };
    if pass.window.floor().is_some_and(|floor| floor.value > limit.value) {
        return report;
    }
    let feed = posted(limit.value * speed, units, false);
    let to = posted_height(view, zone.to, units, false);
    report
        .advice(format!("feed at {} down to {}", units.feed(feed), units.coordinate('Z', to)))
        .remedy(Remedy::SlowEntry { feed, to })
}
