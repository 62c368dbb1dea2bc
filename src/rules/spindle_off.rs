//! The tool feeds into material while the spindle stands still.
//!
//! ## Why it matters
//! It breaks the point or tears the entry. Drilling manuals want full speed before contact and while withdrawing
//! (NAVEDTRA 14315, chapter 5; TM 1-1500-204-23-11).
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318 (!)
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
//! Starts the spindle on a line before the cut, where the tool has a speed of its own.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::SpindleSense;

/// The rule.
pub static RULE: Rule = Rule {
    name: "spindle-off",
    severity: Severity::Error,
    summary: "a cut with the spindle stopped",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    if !may_cut(view) || state.spindle.value != SpindleSense::Stopped {
        return;
    }
    if state.doubtful.spindle {
        return cx.not_checked("a statement that was not followed may have started the spindle", None);
    }
    let report = Report::new(Aim::Block(view.step.block), "the tool feeds into material with the spindle stopped")
        .related(Aim::set(&state.spindle), "spindle stopped here")
        .advice("start the spindle with M3 after the tool change and wait for its speed");
    // Without a speed of its own there is nothing to start.
    let own_speed = state.speed.value.is_some_and(|speed| speed > 0.0) && state.speed.tool == state.tool.value;
    cx.report(if own_speed { report.remedy(Remedy::LineBefore("M3".to_owned())) } else { report });
}
