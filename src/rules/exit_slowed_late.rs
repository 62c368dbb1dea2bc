//! The slow exit feed begins below where it must.
//!
//! ## Why it matters
//! The plies left under the tip give way before the tip shows, and a part may come out thinner than drawn. So the slow
//! feed begins the stated length above the exit face of the thinnest part, not of the nominal one.
//!
//! ## Fires on
//! The plate may be 5.82 mm; half a millimetre above that exit is Z-5.32.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.8 F318 (!)
//! G1 Z-8.5 F190
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
//! G1 Z-5.32 F318
//! G1 Z-8.5 F190
//! G0 Z5
//! M30
//! ```
//! A hole that never slows has one cause and is reported by `exit-feed-high`:
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Lets the slow feed begin at the zone's upper end.

use super::exit_feed::{ExitFeed, SAME_DEPTH};
use super::feed::height;
use super::{Aim, Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;
use crate::operation::HoleWord;

/// The rule.
pub static RULE: Rule = Rule {
    name: "exit-slowed-late",
    severity: Severity::Warning,
    summary: "slows down for the exit too late",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(exit) = ExitFeed::of(view, cx) else { return };
    let Some(begins) = exit.slow_from() else { return };
    // The stroke that is still fast just above the slow one; its depth word says where slow feed begins.
    let Some(pass) = exit.fast.iter().rev().find(|pass| pass.depth.0 < begins) else { return };
    let late = begins - exit.zone.from;
    if late.0 <= SAME_DEPTH {
        return;
    }
    let at = |depth| cx.units.coordinate('Z', height(view, depth));
    let message = format!("slow exit feed begins at {}, must begin at {}", at(begins), at(exit.zone.from));
    let report = Report::new(Aim::Hole { word: HoleWord::Depth, stroke: pass.stroke }, message)
        .why(format!("{} are still cut at full feed", cx.units.length(late)))
        .measured(begins.0, "mm")
        .limit(exit.zone.from.0, "mm", exit.limit.origin.clone());
    let report = exit.explain(report, view, pass, cx.units);
    cx.report(report);
}
