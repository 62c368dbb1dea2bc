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
use crate::job::Limit;
use crate::process::{Reading, Zone};
use crate::units::MmPerRev;

/// The rule.
pub static RULE: Rule = Rule {
    name: "no-feed-window",
    severity: Severity::Warning,
    summary: "limits leave no feed that satisfies them all",
    checks: &[Check::Hole(check)],
};

type Feed = Limit<MmPerRev>;

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.passes(view);
    for zone in [Zone::Entry, Zone::Body, Zone::Exit] {
        let shut = passes.iter().filter(|pass| pass.zone == zone).filter_map(|pass| {
            let (floor, ceiling) = pass.window.floor().zip(pass.window.ceiling())?;
            (floor.value > ceiling.value).then_some((pass, floor, ceiling))
        });
        // Several layers may leave no window; the widest gap tells.
        let gap = |floor: &Feed, ceiling: &Feed| floor.value.0 - ceiling.value.0;
        let worst = shut.reduce(|a, b| if gap(b.1, b.2) > gap(a.1, a.2) { b } else { a });
        if let Some((pass, floor, ceiling)) = worst {
            report(pass, floor, ceiling, cx);
        }
    }
}

fn report(pass: &Reading, floor: &Feed, ceiling: &Feed, cx: &mut Context<'_>) {
    let (least, most) = (cx.units.per_rev(floor.value), cx.units.per_rev(ceiling.value));
    let place = match pass.zone {
        Zone::Entry => "at the entry",
        Zone::Body => "in the body of the hole",
        Zone::Exit => "at the exit",
    };
    cx.report(
        Report::new(feed_word(pass), format!("no feed is right {place}: least {least}, most {most}"))
            .why(format!("least {least}: {}", floor.origin))
            .why(format!("most {most}: {}", ceiling.origin))
            .measured(floor.value.0, "mm/rev")
            .limit(ceiling.value.0, "mm/rev", ceiling.origin.clone())
            .advice("back the exit face, drill a pilot hole, or use another point or a sharper edge"),
    );
}
