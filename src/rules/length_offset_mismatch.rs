//! The H number is not the one that belongs to the tool.
//!
//! ## Why it matters
//! The tool runs with another tool's length: too deep or in the air by the difference. The number that belongs to a
//! tool is `tool.N.length_offset`, or its own number.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H12 X20 Y20 Z5 (!)
//! G4 P2
//! G81 Z-8.5 R2 F318
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
//! Puts the tool's own H number in.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::LengthOffset;

/// The rule.
pub static RULE: Rule = Rule {
    name: "length-offset-mismatch",
    severity: Severity::Error,
    summary: "an H number of another tool",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let (length, tool) = (view.step.state.length, view.step.state.tool.value);
    let LengthOffset::On { h, .. } = length.value else { return };
    let own = length.is_stated() && length.tool == tool;
    let wanted = view.tool.and_then(|tool| tool.length_offset).unwrap_or(tool);
    if !may_cut(view) || tool == 0 || !own || h == wanted {
        return;
    }
    let aim = Aim::Beside { source: length.source, at: length.at, letter: b'H' };
    cx.report(
        Report::new(aim, format!("H{h} called with tool {tool}, it should be H{wanted}"))
            .why(offset_origin(view, wanted))
            .advice(format!("H{wanted}, or name H{h} as `tool.{tool}.length_offset` if the shop maps it so"))
            .remedy(Remedy::Replace(format!("H{wanted}"))),
    );
}

fn offset_origin(view: &StepView<'_>, wanted: u32) -> String {
    match view.tool.and_then(|tool| tool.length_offset) {
        Some(_) => format!("from job file: tool.{}.length_offset", view.step.state.tool.value),
        None => format!("a tool's offset has the tool's number, {wanted}, unless the job file says otherwise"),
    }
}
