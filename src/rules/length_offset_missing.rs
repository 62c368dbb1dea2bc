//! A tool works in Z without a length offset of its own: none since its tool change, or still the offset of the tool
//! before.
//!
//! ## Why it matters
//! Z is wrong by the tool's length, so the tool cuts air or dives through the part. Common practice, no source: every
//! tool change is followed by G43 with its H before the first move in Z.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318 (!)
//! G80
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z50
//! T6 M6
//! S6366 M3
//! G0 X20 Y20 Z5
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
//! Puts G43 with the tool's own H on a line before the first cut.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::LengthOffset;

/// The rule.
pub static RULE: Rule = Rule {
    name: "length-offset-missing",
    severity: Severity::Error,
    summary: "no length offset since the tool change",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let (length, tool) = (view.step.state.length, view.step.state.tool.value);
    if !may_cut(view) || tool == 0 || view.step.state.doubtful.modes {
        return;
    }
    let own = length.is_stated() && length.tool == tool;
    let message = match length.value {
        LengthOffset::Off if !own => format!("tool {tool} cuts without a length offset: no G43 since its tool change"),
        LengthOffset::On { h, .. } if !own => {
            format!("tool {tool} cuts with H{h} that was set for tool {}", length.tool)
        }
        LengthOffset::Off | LengthOffset::On { .. } => return,
    };
    let wanted = view.tool.and_then(|tool| tool.length_offset).unwrap_or(tool);
    cx.report(
        Report::new(Aim::Block(view.step.block), message)
            .related(Aim::set(&view.step.state.tool), "tool changed here")
            .advice(format!("G43 H{wanted} before the first move in Z"))
            .remedy(Remedy::LineBefore(format!("G43 H{wanted}"))),
    );
}
