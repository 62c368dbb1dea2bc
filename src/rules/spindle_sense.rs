//! The tool cuts while the spindle turns counterclockwise.
//!
//! ## Why it matters
//! The drills, reamers and routers of a job cut clockwise unless it says otherwise; turned backwards they push and
//! burn. Common practice, no source.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M4 M7
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
use crate::motion::{CycleKind, MotionMode, SpindleSense};

/// The rule.
pub static RULE: Rule =
    Rule { name: "spindle-sense", severity: Severity::Error, summary: "a cut with M4", checks: &[Check::State(check)] };

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let tapping = matches!(state.motion.value, MotionMode::Cycle(code) if matches!(code.kind(), CycleKind::Tap(_)));
    if !may_cut(view) || tapping || state.spindle.value != SpindleSense::Counterclockwise {
        return;
    }
    cx.report(
        Report::new(Aim::Block(view.step.block), "the tool cuts with M4, counterclockwise")
            .related(Aim::set(&state.spindle), "started counterclockwise here")
            .advice("use M3; for a left-hand tool set `spindle-sense = \"allow\"` under `[rules]`"),
    );
}
