//! The feed in a laminate is slower than the slowest its specification allows.
//!
//! ## Why it matters
//! A drill that lingers heats the matrix. A public naval training manual (NAVEDTRA 14315, chapter 5) asks for 10 to 15 s
//! for an inch of graphite-epoxy and never slower than 30 s, which is 50.8 mm/min. The limit counts only where the
//! laminate states it (`slowest_feed`), and only while fibres are being cut.
//!
//! ## Fires on
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S1500 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F45 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S1500 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F52
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! None: feed and speed go up together.

use super::feed::{below, feed_word, layer};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;
use crate::process::POST_ROUNDING;
use crate::process::speed::inch_time;
use crate::units::{MmPerMin, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "feed-below-slow-limit",
    severity: Severity::Note,
    summary: "feeds slower than the slowest the laminate allows",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    let Some(laminate) = view.laminate.filter(|_| !passes.is_empty()) else { return };
    let key = format!("laminate.{}.slowest_feed", laminate.name);
    let Some(limit) = cx.stated(laminate.slowest_feed.as_ref(), key) else { return };
    for pass in passes {
        let fibre = laminate.layers.get(pass.layer).is_some_and(|layer| layer.material.class.is_laminate());
        // A feed below its chip-load floor is reported there.
        let rubs = pass.per_rev.zip(pass.window.floor()).is_some_and(|(feed, floor)| below(feed, floor.value));
        let feed = view.recipe.strokes.get(pass.stroke).and_then(|stroke| stroke.feed).map(MmPerMin);
        let Some(feed) = feed.filter(|feed| fibre && !rubs && *feed < limit.value * (1.0 - POST_ROUNDING)) else {
            continue;
        };
        let (is, least) = (cx.units.feed(feed), cx.units.feed(limit.value));
        cx.report_once(
            Report::new(feed_word(pass), format!("feed {is} in `{}`, least {least}", layer(view, pass)))
                .why(format!("one inch takes {} s", trimmed(inch_time(feed).0, 1)))
                .measured(feed.0, "mm/min")
                .limit(limit.value.0, "mm/min", limit.origin.clone())
                .advice("raise feed and spindle speed together, so that the chip stays the same"),
        );
    }
}
