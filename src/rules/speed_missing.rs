//! A tool cuts although no S word was ever given.
//!
//! ## Why it matters
//! The spindle stands still or turns at what the last program left. Training manuals for drilling composite repairs
//! want full speed before contact (NAVEDTRA 14315, chapter 5).
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! M3 M7
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

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;
use crate::motion::SpindleSense;

/// The rule.
pub static RULE: Rule = Rule {
    name: "speed-missing",
    severity: Severity::Error,
    summary: "a cut without any spindle speed",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let stopped = state.spindle.value == SpindleSense::Stopped;
    if !may_cut(view) || stopped || state.speed.value.is_some_and(|speed| speed > 0.0) {
        return;
    }
    if state.doubtful.spindle {
        return cx.not_checked("a statement that was not followed may have set the speed", None);
    }
    let message = match state.speed.value {
        Some(_) => "the tool cuts at S0",
        None => "the tool cuts without a speed: no S word was given before it",
    };
    cx.report(
        Report::new(Aim::Block(view.step.block), message)
            .related(Aim::set(&state.spindle), "spindle started here")
            .advice("state S with the spindle start"),
    );
}
