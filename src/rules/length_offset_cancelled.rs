//! G49 cancels the length offset and the same tool goes on cutting.
//!
//! ## Why it matters
//! From there Z is wrong by the tool's length. Common practice, no source.
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
//! G80
//! G49
//! G0 X40
//! G81 Z-8.5 R2 (!)
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
//! G0 Z50
//! G49
//! M30
//! ```

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;
use crate::motion::LengthOffset;

/// The rule.
pub static RULE: Rule = Rule {
    name: "length-offset-cancelled",
    severity: Severity::Error,
    summary: "a cut after G49",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let (length, tool) = (view.step.state.length, view.step.state.tool.value);
    let cancelled = length.value == LengthOffset::Off && length.is_stated() && length.tool == tool;
    if !may_cut(view) || tool == 0 || !cancelled {
        return;
    }
    cx.report(
        Report::new(Aim::Block(view.step.block), format!("tool {tool} cuts after its length offset was cancelled"))
            .related(Aim::set(&length), "cancelled here")
            .advice("leave G49 out, or restate G43 before the next move in Z"),
    );
}
