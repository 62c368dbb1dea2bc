//! The feed slowed for the exit lies below the chip-load floor.
//!
//! ## Why it matters
//! Slower is not safer. Below its floor the edge rubs the last plies instead of cutting them; thrust does not fall to
//! nothing with the feed, and heat grows. The floor is the laminate's for the exit (`exit_tooth_floor`, else
//! `tooth_floor`), else the feed whose thinnest chip is as thick as the edge is round.
//!
//! ## Fires on
//! 90 mm/min at 6366 rev/min is 0.0141 mm/rev, 0.0071 mm for each edge; the plate asks for 0.008 at the exit.
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F90 (!)
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
//! G1 Z-8.5 F105
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Raises the slow feed to the floor, where the exit allows that much.

use super::feed::{below, below_floor, exit_passes, layer, posted, speed, with_band};
use super::{Check, Context, HoleView, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::process::Reading;

/// The rule.
pub static RULE: Rule = Rule {
    name: "slow-feed-rubs",
    severity: Severity::Warning,
    summary: "slows down below the chip-load floor",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    for pass in exit_passes(passes).filter(|pass| view.reading.is_slowed(pass)) {
        // A chip thinner than the edge is round is chip-below-edge-radius's to report.
        let Some(floor) = &pass.window.stated_floor else {
            note_missing(view, pass, cx);
            continue;
        };
        let Some(feed) = pass.per_rev.filter(|feed| below(*feed, floor.value)) else { continue };
        let (is, least) = (cx.units.per_rev(feed), cx.units.per_rev(floor.value));
        let message = format!("exit feed {is} rubs in `{}`, least {least}", layer(view, pass));
        let mut report = below_floor(message, (view, pass), (feed, floor), cx.units);
        // An edge worn beyond the stated floor needs more than that floor.
        let target = pass.window.floor().map_or(floor.value, |floor| floor.value);
        let fits = pass.window.zone_ceiling.as_ref().is_none_or(|ceiling| ceiling.value >= target);
        match speed(view, pass).filter(|_| fits) {
            Some(speed) => {
                let feed = posted(target * speed, cx.units, true);
                let advice = format!("slow down to {} and no further", cx.units.feed(feed));
                report = report.advice(advice).remedy(Remedy::Feed(feed));
            }
            None => {
                report = report.advice("back the exit face or drill a pilot hole: the exit limit lies below the floor")
            }
        }
        cx.report_once(with_band(report, view));
    }
}

/// A fibre layer without any floor, stated or by its edge, is not concluded on.
fn note_missing(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let Some(laminate) = view.laminate else { return };
    let fibre = laminate.layers.get(pass.layer).is_some_and(|layer| layer.material.class.is_laminate());
    if fibre && pass.window.edge_floor.is_none() {
        let key = format!("laminate.{}.exit_tooth_floor", laminate.name);
        cx.not_checked("no least feed is stated for the exit and the tool has no edge radius", key);
    }
}
