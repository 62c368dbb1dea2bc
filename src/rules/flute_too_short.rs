//! The flutes do not reach from the tip to the entry face, so that the shank runs along a wall already cut.
//!
//! ## Why it matters
//! In a later pass or a deep hole the material beside the shank is gone, but its wall is not: fibres that spring back and
//! dust rub on the smooth shank, which heats the edge just finished. The flutes should reach from the tip to the entry face
//! of the part (plain geometry). A cut that is itself deeper than the flutes is `axial-depth-beyond-flutes`.
//!
//! ## Fires on
//! The second pass of an end mill with 5 mm of flute goes down to -6.8:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T4 M6
//! S10000 M3 M7
//! G0 G43 H4 X-20 Y104 Z5
//! G0 Z-3
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20
//! G0 Z-6.8
//! G1 X220 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-3
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20
//! G0 Z-6.8
//! G1 X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a cutter with longer flutes.

use super::axial_depth_beyond_flutes::HAIR;
use super::trim::{pieces_if, trims};
use super::{Aim, Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::Tool;
use crate::operation::HoleWord;
use crate::units::{Millimetres, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "flute-too-short",
    severity: Severity::Warning,
    summary: "the shank runs along a wall already cut",
    checks: &[Check::Cut(check), Check::Hole(hole), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some((tool, flutes)) =
        view.tool.filter(|tool| trims(&tool.kind)).and_then(|tool| Some((tool, tool.flute_length?)))
    else {
        return;
    };
    let entry = view.job.head.entry_z;
    for (stretch, reading) in pieces_if(view, |_, kind| (entry - kind.lowest).0 > flutes.0 + HAIR) {
        let depth = entry - Millimetres(stretch.z.0.min(stretch.z.1));
        if depth.0 <= flutes.0 + HAIR || reading.flutes.0 > flutes.0 + HAIR {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst((tool.number, 0, 0), depth.0, aim, |units| report(aim, tool, depth, flutes, units));
    }
}

/// Holes milled by circling.
fn hole(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|_| view.recipe.orbit.is_some() && view.recipe.heights_known) else { return };
    let Some((flutes, job)) = tool.flute_length.zip(view.job) else { return };
    let depth = Millimetres(job.head.entry_z.0 - view.recipe.bottom);
    if depth.0 > flutes.0 + HAIR {
        let aim = Aim::Hole { word: HoleWord::Depth, stroke: 0 };
        cx.report(report(aim, tool, depth, flutes, cx.units));
    }
}

fn report(aim: Aim, tool: &Tool, depth: Millimetres, flutes: Millimetres, units: UnitSystem) -> Report {
    let (is, most) = (units.length(depth), units.length(flutes));
    Report::new(aim, format!("tip {is} below the entry face, flutes of {most}: the shank rubs the wall"))
        .measured(depth.0, "mm")
        .limit(flutes.0, "mm", format!("job file: tool.{}.flute_length", tool.number))
        .advice("take a cutter with longer flutes, or one with a relieved neck and declare its length")
}
