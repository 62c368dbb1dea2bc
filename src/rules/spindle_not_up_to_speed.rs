//! The tool meets the material before the spindle can have reached its speed.
//!
//! ## Why it matters
//! Contact below full speed means too much feed for each turn on the first plies: peel-up at the entry. Drilling
//! manuals want full speed before contact (NAVEDTRA 14315, chapter 5).
//!
//! The time counted is dwell, feed moves and, where the job gives rapid rates, rapids since the spindle started or
//! changed speed. It is compared with `machine.spin_up`.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! G0 G43 H6 X20 Y20 Z5
//! S6366 M3 M7
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
//! G0 G43 H6 X20 Y20 Z5
//! S6366 M3 M7
//! G4 P2.5
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::Severity;
use crate::units::trimmed;

/// The rule.
pub static RULE: Rule = Rule {
    name: "spindle-not-up-to-speed",
    severity: Severity::Warning,
    summary: "contact before the spindle is at speed",
    checks: &[Check::State(check), Check::Program(missing::spin_up)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(spin_up) = cx.job.and_then(|job| job.machine.spin_up) else { return };
    let Some(since) = view.since_spindle else { return };
    if !may_cut(view) || since >= spin_up.0 {
        return;
    }
    cx.report(
        Report::new(
            Aim::Block(view.step.block),
            format!(
                "contact {} s after the spindle change, it needs {} s to reach its speed",
                trimmed(since, 2),
                spin_up.0
            ),
        )
        .measured(since, "s")
        .limit(spin_up.0, "s", "job file: machine.spin_up")
        .related(Aim::set(&view.step.state.speed), "speed set here")
        .advice("start the spindle earlier or dwell before the contact"),
    );
}
