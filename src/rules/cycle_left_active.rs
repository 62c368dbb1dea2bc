//! A canned cycle is still active when the tool changes or the program ends.
//!
//! ## Why it matters
//! The next line with an X or Y drills a hole. Common practice, no source: G80 after the last hole.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! M5
//! T12 M6 (!)
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
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Adds G80 before the tool change.

use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::{MotionMode, StepKind};

/// The rule.
pub static RULE: Rule = Rule {
    name: "cycle-left-active",
    severity: Severity::Warning,
    summary: "a cycle still active at a tool change or at the end",
    checks: &[Check::Still(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let ends = matches!(view.step.kind, StepKind::ToolChange | StepKind::Stop(2 | 30));
    let MotionMode::Cycle(code) = view.step.state.motion.value else { return };
    if !ends {
        return;
    }
    let what = if view.step.kind == StepKind::ToolChange { "the tool changes" } else { "the program ends" };
    cx.report(
        Report::new(Aim::Block(view.step.block), format!("{} is still active when {what}", code.name()))
            .related(Aim::set(&view.step.state.motion), "cycle called here")
            .advice("G80 after the last hole")
            .remedy(Remedy::LineBefore("G80".to_owned())),
    );
}
