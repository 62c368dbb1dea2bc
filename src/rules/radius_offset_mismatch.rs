//! The D number of a radius compensation is not the one that belongs to the tool.
//!
//! ## Why it matters
//! The edge comes out wide or narrow by the difference of the radii. The number that belongs to a tool is
//! `tool.N.radius_offset`, or its own number.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! G42 D6 G1 X0 Y0 F1200 (!)
//! Y50
//! G0 Z50
//! G40
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! G42 D12 G1 X0 Y0 F1200
//! Y50
//! G0 Z50
//! G40
//! M30
//! ```
//!
//! ## Remedy
//! Puts in the tool's own number.

use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::CutterSide;

/// The rule.
pub static RULE: Rule = Rule {
    name: "radius-offset-mismatch",
    severity: Severity::Error,
    summary: "a D number of another tool",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let (cutter, tool) = (view.step.state.cutter, view.step.state.tool.value);
    let (side, Some(d)) = cutter.value else { return };
    let wanted = view.tool.and_then(|tool| tool.radius_offset).unwrap_or(tool);
    if side == CutterSide::Off || tool == 0 || d == wanted || d == 0 {
        return;
    }
    let aim = Aim::set(&cutter).unwrap_or(Aim::Block(view.step.block));
    cx.report(
        Report::new(aim, format!("D{d} called with tool {tool}, it should be D{wanted}"))
            .advice(format!("D{wanted}, or name D{d} as `tool.{tool}.radius_offset` if the shop maps it so"))
            .remedy(Remedy::Replace(format!("D{wanted}"))),
    );
}
