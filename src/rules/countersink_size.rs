//! A countersink comes out with another diameter or angle than the drawing's, or is left out.
//!
//! ## Why it matters
//! A head that stands proud or sinks too deep. Diameter at the entry face is tip + 2 depth tan(angle/2), at most that
//! of the tool; one no wider than the hole already there cuts nothing. A difference of more than 0.1 mm is reported; the
//! figure is a house value. Depth is counted from the entry face, so a depth from another face shows here.
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
//! G82 X0 Y60 Z-9 R2 P0.2 F60 (!)
//! G80
//! G0 Z50
//! M30
//! ```
//!
//! Too shallow to reach the edge of its hole:
//!
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y60 Z5
//! G4 P2
//! G81 X0 Y60 Z-8.5 R2 F150
//! G80
//! G0 Z50
//! T10 M6
//! S1500 M3
//! G0 G43 H10 X0 Y60 Z5
//! G4 P2
//! G82 X0 Y60 Z-2 R2 P0.2 F60 (!)
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
use crate::job::{HoleGroup, Job, ToolKind};
use crate::operation::{HoleWord, Survey};
use crate::units::{Degrees, Millimetres, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "countersink-size",
    severity: Severity::Error,
    summary: "a countersink of another size than drawn",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

/// Most difference in diameter, mm; house value.
const MOST: f64 = 0.1;

/// A countersink as made.
struct Made {
    index: u32,
    diameter: f64,
    angle: Degrees,
    /// Diameter of its flat tip.
    tip: Millimetres,
    /// Full diameter of the tool.
    full: Millimetres,
    /// Diameter of the hole already there.
    hole: f64,
    /// How deep the tip goes below the face.
    depth: Millimetres,
    /// Tip height that would give the drawn diameter.
    better: Millimetres,
}

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (drawn, holes) in &survey.drawing.made {
        let Some(group) = job.holes.get(drawn.group) else { continue };
        let Some((diameter, angle)) = group.countersink else { continue };
        match holes.iter().rev().find_map(|index| made(survey, job, *index, diameter)) {
            Some(made) => judge(cx, group, &made, diameter, angle),
            None => {
                let Some(index) = holes.last().copied().filter(|_| missing::is_whole(cx)) else { continue };
                let should = cx.units.length(diameter);
                let message = format!("no countersink made, the drawing says {should} for group {}", group.id);
                let aim = Aim::HoleAt { index, word: HoleWord::Block };
                cx.report(Report::new(aim, message).advice("add the countersink"));
            }
        }
    }
}

fn made(survey: &Survey, job: &Job, index: u32, drawn: Millimetres) -> Option<Made> {
    let recipe = survey.recipe_of(survey.holes.get(index as usize)?)?;
    let tool = job.tool(recipe.tool)?;
    let ToolKind::Countersink { angle, tip } = tool.kind else { return None };
    let depth = Millimetres((job.head.entry_z.0 - recipe.bottom).max(0.0));
    let widening = 2.0 * libm::tan(angle.0.to_radians() / 2.0);
    let diameter = (tip.0 + depth.0 * widening).min(tool.diameter.0);
    let better = Millimetres(job.head.entry_z.0 - (drawn.0 - tip.0) / widening);
    Some(Made { index, diameter, angle, tip, full: tool.diameter, hole: recipe.pilot, depth, better })
}

impl Made {
    /// What is wrong with its size, beside what is drawn.
    fn message(&self, drawn: &str, units: UnitSystem) -> String {
        let is = units.length(Millimetres(self.diameter));
        if self.diameter <= self.hole {
            let hole = units.length(Millimetres(self.hole));
            return format!("countersink stays inside the hole of {hole}, the drawing says {drawn}");
        }
        if self.diameter >= self.full.0 {
            return format!("countersink sinks its full {is}, the drawing says {drawn}");
        }
        format!("countersink comes out at {is}, the drawing says {drawn}")
    }

    /// How its diameter comes about.
    fn arithmetic(&self, units: UnitSystem) -> String {
        let (tip, depth) = (units.length(self.tip), units.length(self.depth));
        let text = format!("{tip} wide at the tip + 2 x {depth} deep x tan({} deg / 2)", self.angle.0);
        let is = units.length(Millimetres(self.diameter));
        if self.diameter >= self.full.0 { format!("{text}, at most the tool's {is}") } else { format!("{text} = {is}") }
    }
}

fn judge(cx: &mut Context<'_>, group: &HoleGroup, made: &Made, diameter: Millimetres, angle: Degrees) {
    let units = cx.units;
    let aim = Aim::HoleAt { index: made.index, word: HoleWord::Depth };
    let origin = format!(
        "job file: holes {}, countersink; difference of {} is a house value",
        group.id,
        cx.units.length(Millimetres(MOST))
    );
    if (made.angle.0 - angle.0).abs() > 1e-6 {
        let message = format!("countersink of {} deg, the drawing says {} deg", made.angle.0, angle.0);
        cx.report(
            Report::new(aim, message)
                .measured(made.angle.0, "deg")
                .limit(angle.0, "deg", origin)
                .advice("use the countersink of the drawn angle"),
        );
    } else if (made.diameter - diameter.0).abs() > MOST {
        let should = units.length(diameter);
        let better = units.coordinate('Z', made.better);
        cx.report(
            Report::new(aim, made.message(&should, units))
                .why(made.arithmetic(units))
                .measured(made.diameter, "mm")
                .limit(diameter.0, "mm", origin)
                .advice(format!("check the depth and the face it counts from; {better} gives {should}")),
        );
    }
}
