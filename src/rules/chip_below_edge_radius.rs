//! The thinnest chip is thinner than the cutting edge is round.
//!
//! ## Why it matters
//! A lip at half point angle kappa cuts a chip of fz sin(kappa). When that is less than the edge radius, the rounded nose
//! bends and rubs the fibres instead of shearing them, and force for the area cut rises (Size effects in micro drilling
//! of carbon fiber reinforced plastic composite). Under some share of the radius no chip forms at all: 0.08 to 0.63 over
//! the metals of one review (Wojciechowski, Materials 2022, 15(1), 59, doi 10.3390/ma15010059); the laminate says which
//! (`no_chip_ratio`), and below it the finding is an error. On a point of several cones the sharpest cuts thinnest.
//!
//! ## Fires on
//! The worn drill of this plate has an edge radius of 20 um; 0.05 mm/rev gives it a chip of 21 um, 0.04 one of 17 um.
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S6366 M3 M7
//! G0 G43 H7 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F255 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S6366 M3 M7
//! G0 G43 H7 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//! A sharp drill at the lower feed:
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F255
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! None: a sharper tool is the better cure, and the programmer decides whether a higher feed is allowed.

use super::feed::{below, exit_passes, feed_line, feed_word, is_shut};
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;
use crate::job::{Layer, Tool};
use crate::process::{EDGE_SOURCE, Reading};
use crate::units::{Micrometres, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "chip-below-edge-radius",
    severity: Severity::Warning,
    summary: "cuts a chip thinner than the edge is round",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    let (Some(laminate), Some(tool)) = (view.laminate, view.tool) else { return };
    for pass in passes {
        let Some(layer) = laminate.layers.get(pass.layer).filter(|layer| layer.material.class.is_laminate()) else {
            continue;
        };
        let Some(radius) = tool.edge_radius else {
            // A stated floor already answers the question.
            if pass.window.stated_floor.is_none() {
                cx.no_limit("the tool's edge radius is not given", format!("tool.{}.edge_radius", tool.number));
            }
            continue;
        };
        let (Some(chip), Some(ratio)) = (pass.chip, pass.chip_ratio) else { continue };
        let no_chip = laminate.no_chip_ratio.as_ref().filter(|limit| ratio < limit.value);
        let report = match no_chip {
            Some(limit) => report(view, cx, pass, (chip, radius)).severity(Severity::Error).limit(
                limit.value,
                "chip / edge radius",
                limit.origin.clone(),
            ),
            None if ratio < 1.0 && !is_reported_elsewhere(view, passes, pass) => {
                report(view, cx, pass, (chip, radius)).limit(1.0, "chip / edge radius", EDGE_SOURCE)
            }
            None => continue,
        };
        cx.report_once(report.why(why(tool, layer, chip, radius)).measured(ratio, "chip / edge radius"));
    }
}

fn report(view: &HoleView<'_>, cx: &Context<'_>, pass: &Reading, (chip, radius): (Micrometres, Micrometres)) -> Report {
    let (chip, radius) = (trimmed(chip.0, 1), trimmed(radius.0, 1));
    Report::new(feed_word(pass), format!("chip of {chip} um on an edge of {radius} um radius"))
        .why(feed_line(view, pass, cx.units))
        .advice("feed faster where the limits allow it, or use a sharper edge")
}

fn why(tool: &Tool, layer: &Layer, chip: Micrometres, radius: Micrometres) -> String {
    let share = trimmed(chip / radius, 2);
    format!("the thinnest chip of tool {} in `{}` is {share} times the edge radius", tool.number, layer.name)
}

/// Whether the laminate's own floor already reports this feed, or no feed could give the edge its chip at the exit.
fn is_reported_elsewhere(view: &HoleView<'_>, passes: &[Reading], pass: &Reading) -> bool {
    let floor = pass.window.stated_floor.as_ref();
    let rubs = pass.per_rev.zip(floor).is_some_and(|(feed, floor)| below(feed, floor.value));
    rubs || view.reading.is_exit_feed(pass) && exit_passes(passes).any(is_shut)
}
