//! No feed satisfies the limits of a pass: its floor lies above its ceiling.
//!
//! ## Why it matters
//! Near an unsupported exit the plies ask for little thrust and so for little feed; the edge asks for a chip it can cut.
//! When the least feed is more than the most, slowing down trades push-out for rubbing, and no number in the program is
//! right. The plate model of Hocheng and Dharan (Journal of Engineering for Industry, 1990) takes part where the laminate
//! gives plate data and the tool a thrust law: one ply left must still carry the thrust.
//!
//! ## Fires on
//! The worn drill needs 0.0467 mm/rev for a chip as thick as its edge is round; the exit allows 0.03.
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S6366 M3 M7
//! G0 G43 H7 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F190 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G1 Z-5.3 F318
//! G1 Z-8.5 F190
//! G0 Z5
//! M30
//! ```
//! The same worn drill over a backing, which needs no exit feed:
//! ```nc,backed
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S6366 M3 M7
//! G0 G43 H7 X20 Y20 Z5
//! G1 Z-8.5 F318
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a backing under the exit, a pilot hole, another point or a sharper edge opens the window.

use super::feed::feed_word;
use super::{Check, Context, HoleView, Report, Rule};
use crate::diagnostic::Severity;
use crate::process::{Reading, Zone};

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-feed-window",
    severity: Severity::Warning,
    summary: "limits leave no feed that satisfies them all",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    for pass in cx.passes(view) {
        let (Some(floor), Some(ceiling)) = (floor(pass), pass.window.ceiling()) else { continue };
        if floor.value <= ceiling.value {
            continue;
        }
        let (least, most) = (cx.units.per_rev(floor.value), cx.units.per_rev(ceiling.value));
        let place = match pass.zone {
            Zone::Entry => "at the entry",
            Zone::Body => "in the body of the hole",
            Zone::Exit => "at the exit",
        };
        cx.report_once(
            Report::new(feed_word(pass), format!("no feed is right {place}: least {least}, most {most}"))
                .why(format!("least {least}: {}", floor.origin))
                .why(format!("most {most}: {}", ceiling.origin))
                .measured(floor.value.0, "mm/rev")
                .limit(ceiling.value.0, "mm/rev", ceiling.origin.clone())
                .advice("back the exit face, drill a pilot hole, or use another point or a sharper edge"),
        );
    }
}

/// The higher of the laminate's floor and the edge's: a worn edge may need more than the laminate states.
fn floor(pass: &Reading) -> Option<&crate::job::Limit<crate::units::MmPerRev>> {
    let floors = [&pass.window.stated_floor, &pass.window.edge_floor].into_iter().flatten();
    floors.reduce(|a, b| if b.value > a.value { b } else { a })
}
