//! A peck in metal is deeper than the layer's rule allows.
//!
//! ## Why it matters
//! Long chips jam the flutes, heat the stack and score the laminate above. What counts as too deep is the layer's own
//! rule.
//!
//! ## Fires on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G83 Z-13.3 R2 Q2 F29.4 (!)
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
use crate::operation::HoleWord;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-too-deep",
    severity: Severity::Warning,
    summary: "pecks in metal deeper than allowed",
    checks: &[Check::Hole(check), Check::Program(missing::peck_rule)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    for (layer, rule, pecks) in pecks_of(view, cx) {
        let Some(most) = most_peck(rule.value) else { continue };
        let deepest = pecks.iter().map(|peck| peck.depth).fold(0.0, f64::max);
        let Some(peck) = pecks.iter().find(|peck| peck.depth == deepest) else { continue };
        if pecks.len() < 2 || deepest <= most.0 + 1e-6 {
            continue;
        }
        let units = cx.units;
        let depth = units.length(crate::units::Millimetres(deepest));
        let aim = Aim::Hole { word: HoleWord::Peck, stroke: peck.stroke };
        cx.report(
            Report::new(aim, format!("peck of {depth} in `{layer}`, at most {} allowed", units.length(most)))
                .measured(deepest, "mm")
                .limit(most.0, "mm", rule.origin.clone())
                .advice(format!("peck with {} or less", units.length(most)))
                .remedy(Remedy::Peck(most)),
        );
    }
}
