//! A tool cuts at a spindle speed that was given for the tool before it.
//!
//! ## Why it matters
//! Surface speed goes with diameter: at S2000 a 12 mm drill runs at 75 m/min and a 4 mm drill at 25, which rubs and
//! heats. Common practice, no source: every tool states its own speed.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z5
//! G4 P2
//! G1 Z2 F1200
//! G0 Z50
//! T6 M6
//! M3
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
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z5
//! G4 P2
//! G1 Z2 F1200
//! G0 Z50
//! T6 M6
//! S6366 M3
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z5
//! G4 P2
//! G1 Z2 F1200
//! G0 Z50
//! T6 M6 S6366
//! M3
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
    name: "speed-carried-over",
    severity: Severity::Error,
    summary: "spindle speed left from the tool before",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let (speed, tool) = (state.speed, state.tool.value);
    let Some(value) = speed.value else { return };
    if !may_cut(view) || tool == 0 || speed.tool == 0 || speed.tool == tool || state.doubtful.spindle {
        return;
    }
    cx.report(
        Report::new(
            Aim::Block(view.step.block),
            format!("tool {tool} cuts at S{value} that was given for tool {}", speed.tool),
        )
        .related(Aim::set(&speed), "this S is still in force")
        .advice(format!("state S for tool {tool} after its tool change")),
    );
}
