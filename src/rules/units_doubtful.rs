//! The program does not say its units before the first move, changes them, or contradicts the job file.
//!
//! ## Why it matters
//! One wrong unit is a factor of 25.4 in depth and feed. Which unit a control wakes up in is the installer's choice
//! (NISTIR 6556, section 3.5.7 leaves it open).
//!
//! ## Fires on
//! ```nc,plate
//! G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5 (!)
//! G4 P2
//! G81 Z-8.5 R2 F318
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
//! States the unit the job file names, on a line before the first move.

use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::{Remedy, Severity};
use crate::motion::StepKind;
use crate::units::UnitSystem;

/// The rule.
pub static RULE: Rule = Rule {
    name: "units-doubtful",
    severity: Severity::Error,
    summary: "units not stated, changed or against the job file",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let units = view.step.state.units;
    if !matches!(view.step.kind, StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_)) {
        return;
    }
    let before = cx.swap(u64::from(units.value == UnitSystem::Inch));
    let block = Aim::Block(view.step.block);
    let code = name(units.value);
    if !units.is_stated() {
        if before.is_none() {
            let message =
                format!("no G20 or G21 before the first move; the control's power-up state decides, taken as {code}");
            let report = Report::new(block, message).advice("state G20 or G21 in the first block");
            // Only the job file can tell which of the two is meant.
            cx.report(match cx.job.and_then(|job| job.head.units) {
                Some(UnitSystem::Metric) => report.remedy(Remedy::LineBefore("G21".to_owned())),
                Some(UnitSystem::Inch) => report.remedy(Remedy::LineBefore("G20".to_owned())),
                None => report,
            });
        }
        return;
    }
    let aim = Aim::set(&units).unwrap_or(block);
    if before.is_some_and(|before| before != u64::from(units.value == UnitSystem::Inch)) {
        cx.report(
            Report::new(aim, format!("units change to {code} in mid-program")).advice("keep one unit throughout"),
        );
    }
    if let Some(stated) = cx.job.and_then(|job| job.head.units).filter(|stated| *stated != units.value) {
        let message = format!("program is in {code}, the job file says {}", name(stated));
        cx.report(Report::new(aim, message).advice("correct the unit code or `job.units`"));
    }
}

fn name(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Metric => "mm (G21)",
        UnitSystem::Inch => "inches (G20)",
    }
}
