//! A reamer leaves its hole by rapid.
//!
//! ## Why it matters
//! It scores a spiral into the bore and pulls fuzz. Cycles that feed out, such as G85, are meant for it (NISTIR 6556,
//! section 3.5.16: G85 retracts at feed, G81 at traverse).
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T8 M6
//! S4000 M3 M7
//! G0 G43 H8 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F150 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T8 M6
//! S4000 M3 M7
//! G0 G43 H8 X20 Y20 Z5
//! G4 P2
//! G85 Z-8.5 R2 F150
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Feeds out with G85.

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::ToolKind;
use crate::operation::HoleWord;
use crate::operation::StrokeKind;

/// The rule.
pub static RULE: Rule = Rule {
    name: "reamer-rapid-out",
    severity: Severity::Warning,
    summary: "a reamer leaves its hole by rapid",
    checks: &[Check::Hole(check), Check::Program(missing::job), Check::Program(missing::tool)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(job), Some(tool)) = (view.job, view.tool) else { return };
    let reams = matches!(tool.kind, ToolKind::Reamer { .. } | ToolKind::DrillReamer { .. });
    let face = job.head.entry_z.0;
    let out = view
        .recipe
        .strokes
        .iter()
        .position(|stroke| stroke.kind == StrokeKind::Rapid && stroke.to > stroke.from && stroke.from < face);
    let (Some(stroke), true) = (out, reams) else { return };
    cx.report(
        Report::new(
            Aim::Hole { word: HoleWord::Cycle, stroke },
            format!("{} leaves the hole by rapid", tool.kind.name()),
        )
        .advice("feed out with G85")
        .remedy(Remedy::FeedOut),
    );
}
