//! A hole is drilled where the drawing has none.
//!
//! ## Why it matters
//! A wrong coordinate makes two faults: a hole too many here and one missing elsewhere. Only jobs that list the
//! drawing's holes are checked.
//!
//! ## Fires on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-8.5 R2 F150
//! X40 Y40
//! X80 Y40 (!)
//! X0 Y60
//! X100 Y0 Z-4.803
//! G80
//! G0 Z50
//! T8 M6
//! S4000 M3
//! G0 G43 H8 X0 Y0 Z5
//! G4 P2
//! G85 X0 Y0 Z-9 R2 F150
//! X40 Y40
//! G80
//! G0 Z50
//! T10 M6
//! S1500 M3
//! G0 G43 H10 X0 Y60 Z5
//! G4 P2
//! G82 X0 Y60 Z-3 R2 P0.2 F60
//! G80
//! G0 Z50
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-8.5 R2 F150
//! X40 Y40
//! X0 Y60
//! X100 Y0 Z-4.803
//! G80
//! G0 Z50
//! T8 M6
//! S4000 M3
//! G0 G43 H8 X0 Y0 Z5
//! G4 P2
//! G85 X0 Y0 Z-9 R2 F150
//! X40 Y40
//! G80
//! G0 Z50
//! T10 M6
//! S1500 M3
//! G0 G43 H10 X0 Y60 Z5
//! G4 P2
//! G82 X0 Y60 Z-3 R2 P0.2 F60
//! G80
//! G0 Z50
//! M30
//! ```

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::{HoleWord, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-extra",
    severity: Severity::Error,
    summary: "a hole where the drawing has none",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    if cx.job.is_none_or(|job| job.holes.is_empty()) {
        return;
    }
    for (index, (hole, drawn)) in survey.holes.iter().zip(&survey.drawing.of_hole).enumerate() {
        if drawn.is_some() || !hole.x.is_finite() || !hole.y.is_finite() {
            continue;
        }
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        cx.report(
            Report::new(Aim::HoleAt { index, word: HoleWord::Block }, "hole is not on the drawing")
                .advice("correct the position, or add the hole to `[[holes]]`"),
        );
    }
}
