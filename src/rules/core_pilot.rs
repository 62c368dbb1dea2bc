//! A core drill cuts without its inner diameter drilled out before.
//!
//! ## Why it matters
//! Dust in the narrow ring of a core drill has no way out, and the slug jams in the bore. A hole drilled before to the inner
//! diameter takes both away (Tsao, The effect of pilot hole on delamination when core drill drilling composite materials,
//! IJMTM 46, 2006). A pilot wider than the inner diameter leaves only part of the wall at work.
//!
//! ## Fires on
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T9 M6
//! S3000 M3 M7
//! G0 G43 H9 X50 Y50 Z5
//! G99 G81 Z-7 R2 F90 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S4000 M3 M7
//! G0 G43 H7 X50 Y50 Z5
//! G99 G81 Z-10.5 R2 F120
//! G80
//! T9 M6
//! S3000 M3
//! G0 G43 H9 X50 Y50 Z5
//! G99 G81 Z-7 R2 F90
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! None: a pilot hole must be programmed.

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::ToolKind;
use crate::operation::HoleWord;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "core-pilot",
    severity: Severity::Note,
    summary: "a core drill without its pilot hole",
    checks: &[Check::Hole(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Diameters this near are the same, mm. House value.
const SAME: f64 = 0.2;

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool else { return };
    let ToolKind::CoreDrill { wall } = tool.kind else { return };
    let inner = tool.diameter - wall * 2.0;
    let pilot = Millimetres(view.recipe.pilot);
    if (pilot - inner).0.abs() <= SAME || view.reading.passes.is_empty() {
        return;
    }
    let units = cx.units;
    let is = if pilot.0 > 0.0 { format!("pilot hole of {}", units.length(pilot)) } else { "no pilot hole".to_owned() };
    let aim = Aim::Hole { word: HoleWord::Block, stroke: 0 };
    cx.report(
        Report::new(aim, format!("core drill with {is}, its inner diameter is {}", units.length(inner)))
            .measured(pilot.0, "mm")
            .limit(inner.0, "mm", format!("job file: tool.{}", tool.number))
            .advice("drill a pilot hole of the inner diameter first"),
    );
}
