//! A blind hole of the drawing is drilled to another depth at full diameter than it is drawn.
//!
//! ## Why it matters
//! Too shallow and the insert stands proud; too deep and the last plies under it give way. Depth at full diameter is
//! the tip's depth less the length of the point. A difference of more than 0.2 mm is reported; the figure is a house
//! value.
//!
//! ## Fires on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 X100 Y0 Z-6 R2 F150 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 X100 Y0 Z-4.803 R2 F150
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Drills to the drawn depth.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::{HoleWord, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "blind-depth-wrong",
    severity: Severity::Error,
    summary: "a blind hole drilled to another depth",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

/// Most difference from the drawn depth, mm; house value.
const MOST: f64 = 0.2;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (drawn, made) in &survey.drawing.made {
        let Some(group) = job.holes.get(drawn.group).filter(|group| !group.through) else { continue };
        let Some(depth) = group.depth else { continue };
        let deepest = made.iter().filter_map(|index| {
            let recipe = survey.recipe_of(survey.holes.get(*index as usize)?)?;
            let point = cx.point(recipe.tool)?;
            Some((job.head.entry_z.0 - recipe.bottom - point.0, point, *index))
        });
        let Some((full, point, index)) = deepest.max_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        if (full - depth.0).abs() <= MOST {
            continue;
        }
        let units = cx.units;
        let (is, should) = (units.length(Millimetres(full)), units.length(depth));
        let z = Millimetres(job.head.entry_z.0 - depth.0 - point.0);
        cx.report(
            Report::new(
                Aim::HoleAt { index, word: HoleWord::Depth },
                format!("blind hole {is} deep at full diameter, drawn {should}"),
            )
            .why(format!("the point adds {}", units.length(point)))
            .measured(full, "mm")
            .limit(
                depth.0,
                "mm",
                format!(
                    "job file: holes {}, depth; difference of {} is a house value",
                    group.id,
                    cx.units.length(Millimetres(MOST))
                ),
            )
            .advice(format!("drill to {}", units.coordinate('Z', z)))
            .remedy(Remedy::Depth(z)),
        );
    }
}
