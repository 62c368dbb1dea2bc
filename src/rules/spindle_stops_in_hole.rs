//! The spindle stops while the tool is in the hole.
//!
//! ## Why it matters
//! The tool is dragged out through fuzz and dust that a turning edge would cut. Drilling manuals want full speed until
//! the tool is withdrawn (NAVEDTRA 14315, chapter 5). Boring cycles that stop at the bottom (G76, G86, G87, G88) do the
//! same.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 Z2
//! G1 Z-8.5 F150
//! M5 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 Z2
//! G1 Z-8.5 F150
//! G0 Z5
//! M5
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::motion::SpindleSense;
use crate::operation::HoleWord;
use crate::operation::StrokeKind;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "spindle-stops-in-hole",
    severity: Severity::Error,
    summary: "the spindle stops inside the hole",
    checks: &[Check::Hole(check), Check::Program(missing::job)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(face) = view.job.map(|job| job.head.entry_z.0) else { return };
    for (index, stroke) in view.recipe.strokes.iter().enumerate() {
        let stops = stroke.kind == StrokeKind::Spindle && stroke.sense == SpindleSense::Stopped;
        if !stops || stroke.to >= face {
            continue;
        }
        let z = cx.units.coordinate('Z', Millimetres(stroke.to));
        return cx.report(
            Report::new(
                Aim::Hole { word: HoleWord::Block, stroke: index },
                format!("the spindle stops at {z}, inside the hole"),
            )
            .advice("retract above the face first, then stop"),
        );
    }
}
