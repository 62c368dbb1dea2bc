//! A trimming cutter stands still in material with the spindle turning.
//!
//! ## Why it matters
//! Without feed every edge rubs the same fibres turn after turn: the resin browns and the wall keeps a mark. A pause belongs
//! where the cutter is clear of the part. Drills in their hole are `dwell-in-hole`.
//!
//! ## Fires on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X100 F1000
//! G4 P1 (!)
//! X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! Above the panel, and beside it:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G4 P2
//! G0 Z-7
//! G4 P1
//! G1 X100 F1000
//! G0 Z5
//! G4 P1
//! M30
//! ```
//!
//! ## Remedy
//! Leaves the dwell out.

use super::trim::trims;
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::{SpindleSense, StepKind};
use crate::operation::Contact;

/// The rule.
pub static RULE: Rule = Rule {
    name: "dwell-in-contact",
    severity: Severity::Warning,
    summary: "a trimming cutter stands still in material",
    checks: &[Check::Still(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let StepKind::Dwell(seconds) = view.step.kind else { return };
    let turning = view.step.state.spindle.value != SpindleSense::Stopped;
    let trimming = view.tool.is_some_and(|tool| trims(&tool.kind));
    // Below the face the tool may also stand beside the part: what it did before tells.
    if view.was_cutting && turning && trimming && view.contact == Contact::Material && seconds != Some(0.0) {
        report(view, seconds, cx);
    }
}

fn report(view: &StepView<'_>, seconds: Option<f64>, cx: &mut Context<'_>) {
    let message = match seconds {
        Some(seconds) => {
            let turns =
                view.step.state.speed.value.map(|speed| format!(": {:.0} turns at no feed", seconds * speed / 60.0));
            format!("dwell of {seconds} s in material{}", turns.unwrap_or_default())
        }
        None => "dwell in material".to_owned(),
    };
    let report = Report::new(Aim::Block(view.step.block), message)
        .limit(0.0, "s", "common practice, no source")
        .measured(seconds.unwrap_or(0.0), "s")
        .advice("leave the dwell out, or move clear of the part first")
        .remedy(Remedy::NoDwell);
    cx.report(report);
}
