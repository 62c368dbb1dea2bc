//! A metal layer whose rule asks for pecks is drilled in one stroke.
//!
//! ## Why it matters
//! Chips jam, heat rises and the bore is scored. Whether pecks are needed is the layer's own rule.
//!
//! ## Fires on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G81 Z-13.3 R2 F29.4 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G83 Z-13.3 R2 Q1 F29.4
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Pecks with the allowed increment.

use super::support::{most_peck, pecks_of};
use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::PeckRule;
use crate::operation::HoleWord;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-missing",
    severity: Severity::Warning,
    summary: "no pecks in a metal that needs them",
    checks: &[Check::Hole(check), Check::Program(missing::peck_rule)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    for (layer, rule, pecks) in pecks_of(view, cx) {
        let asked = matches!(rule.value, PeckRule::FullRetract(_) | PeckRule::ChipBreak(_));
        let (Some(most), [peck], true) = (most_peck(rule.value), pecks.as_slice(), asked) else { continue };
        if peck.depth <= most.0 + 1e-6 {
            continue;
        }
        let units = cx.units;
        let depth = units.length(crate::units::Millimetres(peck.depth));
        let aim = Aim::Hole { word: HoleWord::Cycle, stroke: peck.stroke };
        cx.report(
            Report::new(
                aim,
                format!(
                    "`{layer}` drilled {depth} in one stroke, pecks of at most {} are asked for",
                    units.length(most)
                ),
            )
            .measured(peck.depth, "mm")
            .limit(most.0, "mm", rule.origin.clone())
            .advice(format!("peck with {} or less in this layer", units.length(most)))
            .remedy(Remedy::Peck(most)),
        );
    }
}
