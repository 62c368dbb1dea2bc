//! The spindle changes its speed while the tool is in the hole.
//!
//! ## Why it matters
//! The lips still cut one layer while the speed is already the next one's. Common practice, no source: retract clear,
//! change the speed, wait, re-enter.
//!
//! ## Fires on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T21 M6
//! S5300 M3 M7 M8
//! G0 G43 H21 X0 Y0 Z5
//! G4 P2
//! G0 Z2
//! G1 Z-5 F265
//! S795 (!)
//! G1 Z-13.3 F47
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T21 M6
//! S5300 M3 M7 M8
//! G0 G43 H21 X0 Y0 Z5
//! G4 P2
//! G0 Z2
//! G1 Z-5 F265
//! G0 Z5
//! S795
//! G4 P3
//! G0 Z-4.8
//! G1 Z-13.3 F47
//! G0 Z5
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::HoleWord;
use crate::operation::StrokeKind;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "speed-changed-in-hole",
    severity: Severity::Error,
    summary: "the spindle speed changes inside the hole",
    checks: &[Check::Hole(check), Check::Program(missing::job)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(face) = view.job.map(|job| job.head.entry_z.0) else { return };
    let mut inside: Option<f64> = None;
    for (index, stroke) in view.recipe.strokes.iter().enumerate() {
        if stroke.to >= face {
            inside = None;
            continue;
        }
        let Some(speed) = stroke.speed else { continue };
        if let Some(before) = inside.filter(|before| *before != speed) {
            let z = cx.units.coordinate('Z', Millimetres(stroke.from));
            let message = format!("speed changes from {before} to {speed} rev/min at {z}, inside the hole");
            return cx.report(
                Report::new(Aim::Hole { word: HoleWord::Speed, stroke: index }, message)
                    .advice("retract clear, change the speed, wait for it, re-enter"),
            );
        }
        if matches!(stroke.kind, StrokeKind::Feed | StrokeKind::Rapid) {
            inside = Some(speed);
        }
    }
}
