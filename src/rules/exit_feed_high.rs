//! No stroke slows down for an unsupported exit.
//!
//! ## Why it matters
//! The last plies carry the thrust alone once the tip comes near the exit face; a drill that keeps its full feed pushes
//! them out instead of cutting them. The laminate states the feed allowed there and how far above the face it begins
//! (`exit`). Slow feed must cover the whole way from there on the thinnest part until the full diameter is out of the
//! thickest. A backing, or a metal as the last layer, carries the plies and needs no exit feed.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318 (!)
//! G80
//! M30
//! ```
//! Slowed, but not enough: 0.04 mm/rev where 0.03 is allowed.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F255 (!)
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
//! G1 Z-8.5 F190
//! G0 Z5
//! M30
//! ```
//! The same plate on a backing:
//! ```nc,backed
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//! Carbon over aluminium, whose exit is metal:
//! ```nc,inch_stack
//! G20 G90 G94 G17 G40 G49 G80
//! T5 M6
//! S4000 M3
//! G0 G43 H5 X1. Y1. Z.2
//! G99 G81 Z-.47 R.1 F6.4
//! G80
//! M30
//! ```
//! A countersink, and a hole that stays above the exit zone:
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T9 M6
//! S2400 M3 M7
//! G0 G43 H9 X20 Y20 Z5
//! G99 G81 Z-2.4 R2 F180
//! G80 G0 Z20
//! T6 M6
//! S6366 M3
//! G0 G43 H6 X40 Y20 Z5
//! G99 G81 Z-3 R2 F318
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Splits the stroke: full feed down to the zone, slow feed through it. Never below the chip-load floor.

use super::exit_feed::ExitFeed;
use super::feed::{feed_line, feed_word, with_band};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;
use crate::process::Reading;
use crate::units::MmPerRev;

/// The rule.
pub static RULE: Rule = Rule {
    name: "exit-feed-high",
    severity: Severity::Error,
    summary: "does not slow down for an unsupported exit",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(exit) = ExitFeed::of(view, cx).filter(|exit| exit.slow.is_empty()) else { return };
    let faster = |a, b| if feed(b) > feed(a) { b } else { a };
    let Some(pass) = exit.fast.iter().copied().reduce(faster) else { return };
    let (is, most) = (cx.units.per_rev(MmPerRev(feed(pass))), cx.units.per_rev(exit.limit.value));
    let report = Report::new(feed_word(pass), format!("exit feed {is}, limit {most}"))
        .why(feed_line(view, pass, cx.units))
        .measured(feed(pass), "mm/rev")
        .limit(exit.limit.value.0, "mm/rev", exit.limit.origin.clone());
    let report = exit.explain(report, view, pass, cx.units);
    cx.report(with_band(report, view));
}

fn feed(pass: &Reading) -> f64 {
    pass.per_rev.map_or(0.0, |feed| feed.0)
}
