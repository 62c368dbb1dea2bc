//! A drill dwells in a through hole or inside the laminate.
//!
//! ## Why it matters
//! The lips rub at no feed: half a second at 6366 rev/min is 53 turns of heat on the last plies. Countersinks and
//! reamers may dwell; so may a spot at the face. Cutters that trim are judged by `dwell-in-contact`.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G82 Z-8.5 R2 P0.5 F150 (!)
//! G80
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
//! G81 Z-8.5 R2 F150
//! G80
//! G4 P0.5
//! M30
//! ```
//!
//! ## Remedy
//! Leaves the dwell out.

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::ToolKind;
use crate::operation::HoleWord;
use crate::operation::StrokeKind;

/// The rule.
pub static RULE: Rule = Rule {
    name: "dwell-in-hole",
    severity: Severity::Warning,
    summary: "a drill dwells in the laminate",
    checks: &[Check::Hole(check), Check::Program(missing::tool)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(job), Some(tool), Some(laminate)) = (view.job, view.tool, view.laminate) else { return };
    if matches!(tool.kind, ToolKind::Countersink { .. } | ToolKind::Reamer { .. }) || !tool.kind.makes_holes() {
        return;
    }
    let face = job.head.entry_z.0;
    if !laminate.layers.iter().any(|layer| layer.material.class.is_laminate()) {
        return;
    }
    for (index, stroke) in view.recipe.strokes.iter().enumerate() {
        let StrokeKind::Dwell(Some(seconds)) = stroke.kind else { continue };
        if stroke.to >= face || seconds <= 0.0 {
            continue;
        }
        let turns = stroke.speed.map(|speed| format!(": {:.0} turns at no feed", seconds * speed / 60.0));
        let message = format!("dwell of {seconds} s in the hole{}", turns.unwrap_or_default());
        return cx.report(
            Report::new(Aim::Hole { word: HoleWord::Dwell, stroke: index }, message)
                .measured(seconds, "s")
                .limit(0.0, "s", "common practice, no source")
                .advice("leave the dwell out")
                .remedy(Remedy::NoDwell),
        );
    }
}
