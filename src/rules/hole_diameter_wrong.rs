//! The finished diameter of a hole is not the drawing's.
//!
//! ## Why it matters
//! Limits come from the hole group: its own, or those of its ISO 286 class for hole basis H. Without either the
//! diameters must agree to 0.05 mm, a house value. What counts is the largest tool or orbit that worked at the place;
//! countersinks do not count.
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
//! X40 Y40 (!)
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

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::fit::hole_limits;
use crate::job::{HoleGroup, Job};
use crate::operation::{HoleWord, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-diameter-wrong",
    severity: Severity::Error,
    summary: "a finished diameter that is not the drawing's",
    checks: &[Check::Program(check), Check::Program(missing::drawing), Check::Program(missing::tool)],
};

/// Agreement asked for where the drawing gives no limits, mm; house value.
const PLAIN: f64 = 0.05;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (drawn, made) in &survey.drawing.made {
        let Some(group) = job.holes.get(drawn.group) else { continue };
        let sized = made.iter().filter_map(|index| Some((finished(survey, job, *index)?, *index)));
        let Some((diameter, index)) = sized.max_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let Some((least, most, origin)) = limits(group) else {
            let class = group.class.as_deref().unwrap_or_default();
            let why = format!("no limits of class {class} are known for {}", cx.units.length(group.diameter));
            cx.not_checked(why, "holes.limits".to_owned());
            continue;
        };
        if diameter >= least - 1e-6 && diameter <= most + 1e-6 {
            continue;
        }
        // What is too small may still be opened up by a program that is not there.
        if diameter < least && !missing::is_whole(cx) {
            continue;
        }
        let units = cx.units;
        let (is, should) = (units.length(Millimetres(diameter)), units.length(group.diameter));
        cx.report(
            Report::new(
                Aim::HoleAt { index, word: HoleWord::Block },
                format!("hole finished at {is}, the drawing says {should} for group {}", group.id),
            )
            .why(format!("allowed {} to {}", units.length(Millimetres(least)), units.length(Millimetres(most))))
            .measured(diameter, "mm")
            .limit(if diameter < least { least } else { most }, "mm", origin)
            .advice("check the tool, its diameter in the job file and the hole group"),
        );
    }
}

/// Diameter a hole is left with; `None` for a countersink or an unknown tool.
fn finished(survey: &Survey, job: &Job, index: u32) -> Option<f64> {
    let recipe = survey.recipe_of(survey.holes.get(index as usize)?)?;
    recipe.finished_diameter(job.tool(recipe.tool)?).map(|diameter| diameter.0)
}

/// Least and most diameter with their origin; `None` for a class without a row for this diameter.
fn limits(group: &HoleGroup) -> Option<(f64, f64, String)> {
    let nominal = group.diameter.0;
    let id = &group.id;
    if let Some((upper, lower)) = group.diameter_limits {
        return Some((nominal + lower.0, nominal + upper.0, format!("job file: holes {id}, limits")));
    }
    let Some(class) = &group.class else {
        return Some((nominal - PLAIN, nominal + PLAIN, "house value".to_owned()));
    };
    let (least, most) = hole_limits(class, group.diameter)?;
    Some((least.0, most.0, format!("ISO 286-1 {class} of job file: holes {id}")))
}
