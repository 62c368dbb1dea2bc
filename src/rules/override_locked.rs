//! M49 locks the feed override while a tool cuts.
//!
//! ## Why it matters
//! The operator cannot slow down when an exit sounds wrong. Common practice, no source: overrides stay free in laminate
//! unless a process specification locks them.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! M49 (!)
//! G81 Z-8.5 R2 F318
//! G80
//! M48
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
    name: "override-locked",
    severity: Severity::Warning,
    summary: "feed override locked during a cut",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let overrides = view.step.state.overrides;
    if !may_cut(view) || overrides.value {
        return;
    }
    let aim = Aim::set(&overrides).unwrap_or(Aim::Block(view.step.block));
    cx.report(
        Report::new(aim, "M49 locks the overrides while the tool cuts")
            .advice("take M49 out, or have the process specification ask for it"),
    );
}
