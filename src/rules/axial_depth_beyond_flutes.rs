//! A cut is deeper than the cutter's flutes are long.
//!
//! ## Why it matters
//! Above the flutes there is no edge: the neck or shank is pushed into uncut plies, heats and breaks. The flutes must reach
//! from the tip, overhang included, to the top of the material (plain geometry). Where only the wall of an earlier pass
//! stands beside the shank, `flute-too-short` speaks.
//!
//! ## Fires on
//! An end mill with 5 mm of flute cuts 6 mm deep:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T4 M6
//! S10000 M3 M7
//! G0 G43 H4 X-20 Y104 Z5
//! G0 Z-6
//! G1 X220 F1000 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T4 M6
//! S10000 M3 M7
//! G0 G43 H4 X-20 Y104 Z5
//! G0 Z-5
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a cutter with longer flutes.

use super::trim::{pieces_if, trims};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "axial-depth-beyond-flutes",
    severity: Severity::Error,
    summary: "a cut deeper than the flutes are long",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Rounding of depths, mm.
pub(super) const HAIR: f64 = 1e-6;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|tool| trims(&tool.kind)) else { return };
    let Some(flutes) = tool.flute_length else {
        cx.not_checked("the flute length is not given", format!("tool.{}.flute_length", tool.number));
        return;
    };
    for (stretch, reading) in pieces_if(view, |_, kind| (kind.top - kind.lowest).0 > flutes.0 + HAIR) {
        if reading.flutes.0 <= flutes.0 + HAIR {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst((tool.number, 0, 0), reading.flutes.0, aim, |units| {
            let (is, most) = (units.length(reading.flutes), units.length(flutes));
            Report::new(aim, format!("cuts {is} deep with flutes of {most}"))
                .why(format!(
                    "from the top of the material at {} to the tip at {}",
                    units.coordinate('Z', Millimetres(stretch.top)),
                    units.coordinate('Z', Millimetres(stretch.z.0.min(stretch.z.1)))
                ))
                .measured(reading.flutes.0, "mm")
                .limit(flutes.0, "mm", format!("job file: tool.{}.flute_length", tool.number))
                .advice("take a cutter with longer flutes, or cut in passes and relieve the wall above")
        });
    }
}
