//! A cut runs in another work offset than the job names, or the offset changes between cuts.
//!
//! ## Why it matters
//! Every coordinate moves by the difference of the two offsets. A job with several offsets is checked one offset at a
//! time.
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
//! G55 (!)
//! G0 X40
//! G81 Z-8.5 R2
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

/// The rule.
pub static RULE: Rule = Rule {
    name: "work-offset-changed",
    severity: Severity::Error,
    summary: "a cut in another work offset than the job's",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let offset = view.step.state.work_offset;
    if !may_cut(view) || !offset.is_stated() {
        return;
    }
    let aim = Aim::set(&offset).unwrap_or(Aim::Block(view.step.block));
    let before = cx.swap(u64::from(offset.value));
    match cx.job.and_then(|job| job.head.work_offset.as_deref()) {
        Some(stated) if !is_named(offset.value, stated) => cx.report(
            Report::new(aim, format!("cuts in {}, the job is set in {stated}", name(offset.value)))
                .advice("correct the offset, or `job.work_offset`"),
        ),
        Some(_) => {}
        None if before.is_some_and(|before| before != u64::from(offset.value)) => cx.report(
            Report::new(aim, format!("work offset changes to {} between cuts", name(offset.value)))
                .advice("check that both are set"),
        ),
        None => {}
    }
}

/// The G word of a work offset number: 1 is G54, 9 is G59.3.
/// Whether the offset is called so; the first six, which most programs use, without spelling their names.
fn is_named(number: u8, stated: &str) -> bool {
    const FIRST: [&str; 6] = ["G54", "G55", "G56", "G57", "G58", "G59"];
    match FIRST.get(usize::from(number).wrapping_sub(1)) {
        Some(name) => *name == stated,
        None => name(number) == stated,
    }
}

fn name(number: u8) -> String {
    match number {
        1..=6 => format!("G{}", 53 + u32::from(number)),
        _ => format!("G59.{}", u32::from(number).saturating_sub(6)),
    }
}
