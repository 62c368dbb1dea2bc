//! A helical drill breaks through a laminate in a hand-fed job.
//!
//! ## Why it matters
//! At the exit the helix pulls the drill through faster than the hand can hold it and lifts the last plies. Common
//! practice, no source: straight flutes where the feed is by hand; powered feed, track units and CNC allow more.
//!
//! ## Fires on
//! ```nc,hand_fed
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S2000 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F100 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,hand_fed
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T7 M6
//! S2000 M3 M7
//! G0 G43 H7 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F100
//! G80
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{FeedingMethod, ToolKind};
use crate::operation::HoleWord;

/// The rule.
pub static RULE: Rule = Rule {
    name: "helical-hand-fed",
    severity: Severity::Warning,
    summary: "a helical drill fed by hand",
    checks: &[Check::Hole(check), Check::Program(missing::feeding), Check::Program(missing::tool)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(job), Some(tool), Some(laminate)) = (view.job, view.tool, view.laminate) else { return };
    let last_is_laminate = laminate.layers.last().is_some_and(|layer| layer.material.class.is_laminate());
    if job.machine.feeding != Some(FeedingMethod::Hand) || !last_is_laminate || !is_helical_drill(&tool.kind) {
        return;
    }
    let number = tool.number;
    let Some(helix) = tool.helix else {
        return cx.not_checked("the helix of a hand-fed drill is not given", format!("tool.{number}.helix"));
    };
    if helix.0 <= 0.0 {
        return;
    }
    let aim = Aim::Hole { word: HoleWord::Block, stroke: 0 };
    cx.report(
        Report::new(aim, format!("drill with {} deg helix in a hand-fed job pulls through at the exit", helix.0))
            .why("common practice, no source: straight flutes where the feed is by hand")
            .advice("a straight-flute drill, or a powered feed"),
    );
}

/// Whether it drills with helical flutes, as far as its kind tells.
fn is_helical_drill(kind: &ToolKind) -> bool {
    kind.drills() && !matches!(kind, ToolKind::StraightFluteDrill { .. })
}
