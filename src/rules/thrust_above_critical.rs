//! The thrust at the exit is more than the last plies carry.
//!
//! ## Why it matters
//! The plies left under the chisel edge act as a clamped plate; a thrust above pi sqrt(32 G M) parts them (Hocheng and
//! Dharan, Journal of Engineering for Industry, 1990). The laminate gives the plate data (`plate`) and the tool a thrust
//! law from the shop's own trials (`thrust`). Judged is each feed of the exit zone, with the plies that are whole under
//! the tip where it ends: one ply for the feed that breaks through. Where even the floor of the chip load would push
//! them out, feed alone cannot cure it, and `no-feed-window` reports that instead. Over a pilot hole, and for a tool that
//! circles, no chisel edge bears on the plies and the rule has nothing to say.
//!
//! ## Fires on
//! ```nc,tough_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F230 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,tough_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F180
//! G0 Z5
//! M30
//! ```
//! One ply of this plate carries less than the floor's thrust, so there is no feed window to keep:
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
//!
//! ## Remedy
//! Slows the exit down to the feed whose thrust one ply carries.

use super::feed::{above, exit_passes, feed_line, feed_word, posted, posted_height, speed, with_band};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::process::thrust::critical_uncut;
use crate::process::{PlateCeiling, Reading};
use crate::units::{Millimetres, Newtons, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "thrust-above-critical",
    severity: Severity::Warning,
    summary: "pushes harder than the last plies carry",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let lowest = exit_passes(cx.passes(view)).filter_map(|pass| pass.window.thrust_ceiling.as_ref());
    let lowest = lowest.map(|limit| limit.value).reduce(|a, b| if b < a { b } else { a });
    for pass in exit_passes(cx.passes(view)) {
        let Some(most) = &pass.window.thrust_ceiling else {
            missing(view, cx);
            continue;
        };
        let windowless = pass.window.floor().is_some_and(|floor| floor.value > most.value);
        let Some(feed) = pass.per_rev.filter(|feed| !windowless && above(*feed, most.value)) else { continue };
        let (is, most_text) = (cx.units.per_rev(feed), cx.units.per_rev(most.value));
        let mut report =
            Report::new(feed_word(pass), format!("exit feed {is} pushes the last plies out, most {most_text}"))
                .why(feed_line(view, pass, cx.units))
                .measured(feed.0, "mm/rev")
                .limit(most.value.0, "mm/rev", most.origin.clone());
        for line in thrust_lines(view, pass, cx) {
            report = report.why(line);
        }
        if let (Some(zone), Some(speed)) = (&view.reading.exit, speed(view, pass)) {
            let feed = posted(lowest.unwrap_or(most.value) * speed, cx.units, false);
            let past = view.laminate.and_then(|laminate| laminate.overtravel.as_ref());
            let past = past.map_or(Millimetres(0.0), |limit| limit.value);
            let from = posted_height(view, zone.from, cx.units, true);
            let to = posted_height(view, zone.to + past, cx.units, false);
            let advice = format!("feed at {} through the exit zone, or back the exit face", cx.units.feed(feed));
            report = report.advice(advice).remedy(Remedy::SlowExit { from, feed, to });
        }
        cx.report_once(with_band(report, view));
    }
}

fn thrust_lines(view: &HoleView<'_>, pass: &Reading, cx: &Context<'_>) -> Vec<String> {
    let (Some(laminate), Some(tool)) = (view.laminate, view.tool) else { return Vec::new() };
    let plate = laminate.layers.last().and_then(|last| last.limits.plate.as_ref());
    let step = PlateCeiling::of(laminate, tool).and_then(|ceiling| ceiling.until(pass.depth.1));
    let (Some(plate), Some(step)) = (plate, step) else { return Vec::new() };
    let newtons = |force: Newtons| format!("{} N", trimmed(force.0, 1));
    let mut lines = vec![format!(
        "{} left, {}, bears {}; over the safety factor {} that is {}",
        counted(step.plies, "ply", "plies"),
        cx.units.length(step.uncut),
        newtons(step.allowed * plate.safety),
        trimmed(plate.safety, 2),
        newtons(step.allowed),
    )];
    if let Some(thrust) = pass.thrust {
        let from = cx.units.length(critical_uncut(plate, thrust));
        lines.push(format!("the thrust law gives {}, critical from {from} above the exit face", newtons(thrust)));
    }
    lines
}

/// A count with its noun.
fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Says which data are missing. Over a pilot hole and for a circling tool no chisel edge bears on the plies.
fn missing(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(laminate), Some(tool)) = (view.laminate, view.tool) else { return };
    if view.recipe.pilot > 0.0 || view.recipe.orbit.is_some() {
        return;
    }
    let plate = laminate.layers.last().and_then(|last| last.limits.plate.as_ref());
    let key = match plate {
        None => format!("laminate.{}.plate", laminate.name),
        Some(_) => format!("tool.{}.thrust", tool.number),
    };
    cx.no_limit(format!("`{key}` is not given"), key);
}
