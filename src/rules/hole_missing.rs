//! A hole of the drawing is not drilled.
//!
//! ## Why it matters
//! Somebody drills it by hand later, or the part is scrapped at assembly. Positions come from `[[holes]]`.
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
//! X0 Y60
//! X100 Y0 Z-4.803
//! G80
//! G0 Z50
//! T8 M6
//! S4000 M3
//! G0 G43 H8 X0 Y0 Z5
//! G4 P2
//! G85 X0 Y0 Z-9 R2 F150
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

use super::{Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::{DrawingHole, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-missing",
    severity: Severity::Error,
    summary: "a hole of the drawing that is not drilled",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    // Without a position a hole cannot be matched; saying it is missing would be a guess.
    if survey.holes.iter().any(|hole| !hole.x.is_finite() || !hole.y.is_finite()) {
        return cx.not_checked("the place of some holes is not known", None);
    }
    for (group, holes) in job.holes.iter().enumerate() {
        let missing: Vec<_> = (holes.positions.iter().enumerate())
            .filter(|(position, _)| !survey.drawing.made.contains_key(&DrawingHole { group, position: *position }))
            .map(|(_, at)| at)
            .collect();
        let Some(first) = missing.first().filter(|_| missing::is_whole(cx)) else { continue };
        let names: Vec<&str> = missing.iter().map(|at| at.id.as_str()).collect();
        let units = cx.units;
        let (x, y) = (units.coordinate('X', first.x), units.coordinate('Y', first.y));
        let message = match names.as_slice() {
            [name] => format!("hole {name} of the drawing is not drilled"),
            _ => format!("{} holes of the drawing are not drilled: {}", names.len(), names.join(", ")),
        };
        let tolerance = units.length(Millimetres(holes.position_tolerance.0));
        cx.report(
            Report::on_job(format!("holes {}", holes.id), message)
                .why(format!("nothing within {tolerance} of {} at {x} {y}", first.id))
                .advice("add the hole, or correct its position here or in the job file"),
        );
    }
}
