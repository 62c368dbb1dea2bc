//! A move depends on a mode that the program never states: plane, absolute or incremental, feed mode, return level.
//!
//! ## Why it matters
//! The control then runs in whatever the last program or the power-up left. NISTIR 6556 leaves the return level open;
//! other defaults are settings of the machine.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G17 G40 G49 G80
//! G54
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

use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;
use crate::motion::{MotionMode, StepKind};

/// The rule.
pub static RULE: Rule = Rule {
    name: "power-up-relied-on",
    severity: Severity::Warning,
    summary: "a mode that only the power-up state decides",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let feeds = matches!(view.step.kind, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_));
    let moves = feeds || view.step.kind == StepKind::Rapid;
    let arc = matches!(view.step.kind, StepKind::ArcCw(_) | StepKind::ArcCcw(_));
    let cycle = view.step.part.is_some() && matches!(state.motion.value, MotionMode::Cycle(_));
    let modes = [
        (moves && !state.distance.is_stated(), "G90 or G91"),
        (feeds && !state.feed_mode.is_stated(), "G93, G94 or G95"),
        ((arc || cycle) && !state.plane.is_stated(), "G17, G18 or G19"),
        (cycle && !state.return_level.is_stated(), "G98 or G99"),
    ];
    let known = cx.swap(0).unwrap_or(0);
    let mut said = known;
    for (bit, (missing, codes)) in modes.into_iter().enumerate() {
        if missing && known & (1 << bit) == 0 {
            said |= 1 << bit;
            let message = format!("{codes} is not stated before this move; the power-up state decides");
            cx.report(Report::new(Aim::Block(view.step.block), message).advice("state it in the first block"));
        }
    }
    cx.swap(said);
}
