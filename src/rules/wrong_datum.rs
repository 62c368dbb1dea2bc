//! A drill works entirely above the entry face, or starts below the exit face: Z counts from another face than the job
//! says.
//!
//! ## Why it matters
//! The program then drills air, or everything is off by the thickness. Common practice, no source: the datum face is
//! the first thing to confirm at prove-out.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z1 R4 F150 (!)
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
//! G81 Z-8.5 R2 F150
//! G80
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::HoleWord;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "wrong-datum",
    severity: Severity::Error,
    summary: "Z counts from another face than the job says",
    checks: &[Check::Hole(check), Check::Program(missing::laminate), Check::Program(missing::tool)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(job), Some(laminate), Some(tool)) = (view.job, view.laminate, view.tool) else { return };
    if !tool.kind.makes_holes() || !view.recipe.heights_known {
        return;
    }
    let (face, thickness) = (job.head.entry_z, laminate.thickness());
    let units = cx.units;
    let bottom = units.coordinate('Z', Millimetres(view.recipe.bottom));
    let message = if view.recipe.bottom >= face.0 {
        format!("{bottom} never reaches the entry face at {}", units.coordinate('Z', face))
    } else if view.recipe.start < face.0 - thickness.0 && view.recipe.pilot <= 0.0 {
        let start = units.coordinate('Z', Millimetres(view.recipe.start));
        format!("the hole starts at {start}, below the exit face")
    } else {
        return;
    };
    cx.report(
        Report::new(Aim::Hole { word: HoleWord::Depth, stroke: 0 }, message)
            .why(format!("the part is {} thick below {}", units.length(thickness), units.coordinate('Z', face)))
            .advice("check which face Z0 lies on, `job.entry_z` and the work offset"),
    );
}
