//! The R plane of a cycle lies inside the material and no hole is there yet.
//!
//! ## Why it matters
//! The cycle runs to R at rapid: straight into the laminate.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R-1 F150 (!)
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
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-5 R2 F150
//! Z-8.5 R-4.5
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Puts R above the face.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::{HoleWord, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "retract-below-face",
    severity: Severity::Error,
    summary: "R plane inside the material",
    checks: &[Check::Program(check), Check::Program(missing::job)],
};

/// Height above the face that a patch retracts to, mm: a house value.
const ABOVE: f64 = 2.0;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(face) = cx.job.map(|job| job.head.entry_z) else { return };
    let below = |r: Option<f64>| r.is_some_and(|r| r < face.0 - 1e-6);
    let low: Vec<bool> = survey.recipes.iter().map(|recipe| recipe.heights_known && below(recipe.r)).collect();
    if !low.contains(&true) {
        return;
    }
    for (index, hole) in survey.holes.iter().enumerate() {
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        let Some(recipe) = survey.recipe_of(hole).filter(|_| low.get(hole.recipe as usize) == Some(&true)) else {
            continue;
        };
        let Some(r) = recipe.r.filter(|r| !drilled(survey, index, *r)) else { continue };
        let units = cx.units;
        let (is, face_is) = (units.coordinate('R', Millimetres(r)), units.coordinate('Z', face));
        cx.report(
            Report::new(
                Aim::HoleAt { index, word: HoleWord::Retract },
                format!("{is} lies inside the material, whose face is at {face_is}"),
            )
            .measured(r, "mm")
            .limit(face.0, "mm", "job file: job.entry_z")
            .advice("put R above the entry face")
            .remedy(Remedy::RetractTo(Millimetres(face.0 + ABOVE))),
        );
    }
}

/// Whether an earlier hole at the same place is open down to `r`.
fn drilled(survey: &Survey, index: u32, r: f64) -> bool {
    let mut at = index;
    while let Some((earlier, hole)) = survey.earlier_than(at) {
        if survey.recipe_of(hole).is_some_and(|recipe| recipe.bottom <= r) {
            return true;
        }
        at = earlier;
    }
    false
}
