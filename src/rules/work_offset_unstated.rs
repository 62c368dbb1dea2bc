//! A tool cuts before the program has named its work offset.
//!
//! ## Why it matters
//! The part is then machined wherever the last job's offset lies. Common practice, no source: the offset is named
//! before the first move.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! T6 M6
//! S6366 M3 M7
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
//!
//! ## Remedy
//! Names the job's work offset on a line before the cut.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};

/// The rule.
pub static RULE: Rule = Rule {
    name: "work-offset-unstated",
    severity: Severity::Warning,
    summary: "no work offset named before the first cut",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    if !may_cut(view) || view.step.state.work_offset.is_stated() || cx.swap(1).is_some() {
        return;
    }
    let wanted = cx.job.and_then(|job| job.head.work_offset.clone()).unwrap_or_else(|| "G54".to_owned());
    cx.report(
        Report::new(Aim::Block(view.step.block), "the tool cuts before any work offset is named")
            .advice(format!("state {wanted} in the first block"))
            .remedy(Remedy::LineBefore(wanted)),
    );
}
