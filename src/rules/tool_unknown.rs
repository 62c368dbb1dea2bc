//! A tool cuts that the job file does not list.
//!
//! ## Why it matters
//! Without diameter, edges and point nothing about its cut can be judged.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T77 M6
//! S6366 M3 M7
//! G0 G43 H77 X20 Y20 Z5
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

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "tool-unknown",
    severity: Severity::Error,
    summary: "a tool the job file does not list",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let tool = view.step.state.tool.value;
    let Some(job) = cx.job.filter(|_| may_cut(view) && view.tool.is_none()) else { return };
    if cx.swap(u64::from(tool)) == Some(u64::from(tool)) {
        return;
    }
    if tool != 0 && job.tools.is_empty() {
        return cx.not_checked("the job file describes no tool", format!("tool.{tool}"));
    }
    let message = if tool == 0 {
        "a cut before any tool change: which tool is in the spindle is not known".to_owned()
    } else {
        let listed: Vec<String> = job.tools.keys().map(|number| format!("T{number}")).collect();
        let listed = if listed.is_empty() { "no tool".to_owned() } else { format!("only {}", listed.join(", ")) };
        format!("tool {tool} cuts, but the job file lists {listed}")
    };
    cx.report(
        Report::new(Aim::Block(view.step.block), message)
            .related(Aim::set(&view.step.state.tool), "tool changed here")
            .advice("add the tool to the job file, or correct the T word"),
    );
}
