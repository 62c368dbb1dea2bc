//! A tool cuts laminate before dust extraction is switched on, where the laminate asks for it.
//!
//! ## Why it matters
//! Carbon dust conducts and gets into drives and lungs; it is to be taken off at the tool (TM 1-1500-204-23-11). The
//! site's own safety rules come first.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3
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
//! Switches extraction on before the cut, where the job names one code for it.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::{Remedy, Severity};

/// The rule.
pub static RULE: Rule = Rule {
    name: "extraction-off",
    severity: Severity::Warning,
    summary: "laminate cut without dust extraction",
    checks: &[Check::State(check), Check::Program(missing::extraction)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(job) = cx.job.filter(|_| may_cut(view)) else { return };
    let Some(wanted) = job.laminate.as_ref().and_then(|laminate| laminate.extraction.as_ref()) else { return };
    if !wanted.value {
        return;
    }
    let extraction = view.step.state.extraction;
    match extraction.value {
        None if job.machine.extraction_on.is_empty() => {
            let key = "machine.extraction_on".to_owned();
            cx.not_checked("which M code starts dust extraction is not declared", key);
        }
        Some(true) => {}
        None | Some(false) => {
            let codes: Vec<String> = job.machine.extraction_on.iter().map(|code| format!("M{code}")).collect();
            let report = Report::new(Aim::Block(view.step.block), "the tool cuts laminate with dust extraction off")
                .why(format!("asked for by {}", wanted.origin))
                .related(Aim::set(&extraction), "switched off here")
                .advice(format!("{} before the first cut", codes.join(" or ")));
            cx.report(match codes.as_slice() {
                [code] => report.remedy(Remedy::LineBefore(code.clone())),
                _ => report,
            });
        }
    }
}
