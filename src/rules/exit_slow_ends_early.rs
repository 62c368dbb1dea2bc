//! The stroke speeds up again before the full diameter is out.
//!
//! ## Why it matters
//! When the tip shows, the corners of the point still cut the last plies, for the length of the point. Full feed there
//! breaks the rim of the hole. The slow feed holds until the full diameter is out of the thickest part.
//!
//! ## Fires on
//! The tip is out at Z-6, the full diameter of a 118 degree point of 6 mm at Z-7.8, and at Z-7.98 of the thickest plate.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-6.2 F190
//! G1 Z-8.5 F318 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-7.99 F190
//! G1 Z-8.5 F318
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Holds the slow feed to the zone's lower end.

use super::exit_feed::{ExitFeed, SAME_DEPTH};
use super::feed::{feed_line, feed_word, height};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "exit-slow-ends-early",
    severity: Severity::Warning,
    summary: "speeds up before the full diameter is out",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(exit) = ExitFeed::of(view, cx) else { return };
    let Some(begins) = exit.slow_from() else { return };
    let Some(pass) = exit.fast.iter().find(|pass| pass.depth.0 > begins) else { return };
    let ends = pass.depth.0;
    if (exit.zone.to - ends).0 <= SAME_DEPTH {
        return;
    }
    let at = |depth| cx.units.coordinate('Z', height(view, depth));
    let message = format!("slow exit feed ends at {}, must hold to {}", at(ends), at(exit.zone.to));
    let report = Report::new(feed_word(pass), message)
        .why(feed_line(view, pass, cx.units))
        .measured(ends.0, "mm")
        .limit(exit.zone.to.0, "mm", exit.limit.origin.clone());
    let report = exit.explain(report, view, pass, cx.units);
    cx.report(report);
}
