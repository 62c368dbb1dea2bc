//! Pecks retract in another way than the layer's rule says: short back-off where the hole is to be cleared, or all the
//! way out where chips are only to be broken.
//!
//! ## Why it matters
//! A short back-off leaves hot chips in the hole; a full retract drags them through the laminate above. Which is the
//! lesser evil is the layer's own rule.
//!
//! ## Fires on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G73 Z-13.3 R2 Q1 F29.4 (!)
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

use super::support::pecks_of;
use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::PeckRule;
use crate::operation::HoleWord;
use crate::operation::StrokeKind;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-retract-wrong",
    severity: Severity::Warning,
    summary: "pecks retract another way than the rule says",
    checks: &[Check::Hole(check), Check::Program(missing::peck_rule)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(face) = view.job.map(|job| job.head.entry_z.0) else { return };
    for (layer, rule, pecks) in pecks_of(view, cx) {
        let Some(retract) = pecks.iter().skip(1).find_map(|peck| retract_before(view, peck.stroke)) else { continue };
        let out = retract.1 >= face - 1e-6;
        let message = match rule.value {
            PeckRule::FullRetract(_) if !out => {
                format!("pecks in `{layer}` back off inside the hole, its rule asks for a full retract")
            }
            PeckRule::ChipBreak(_) if out => {
                format!("pecks in `{layer}` retract all the way, its rule asks for a short back-off")
            }
            PeckRule::FullRetract(_) | PeckRule::ChipBreak(_) | PeckRule::AtMost(_) | PeckRule::Forbidden => continue,
        };
        cx.report(
            Report::new(Aim::Hole { word: HoleWord::Cycle, stroke: retract.0 }, message)
                .why(format!("rule from {}", rule.origin))
                .advice(if out { "use the chip-break cycle (G73)" } else { "use the full-retract cycle (G83)" }),
        );
    }
}

/// The upward stroke between a peck and the one before it, with the height it ends at.
fn retract_before(view: &HoleView<'_>, stroke: usize) -> Option<(usize, f64)> {
    let before = view.recipe.strokes.iter().enumerate().take(stroke).rev();
    before
        .take_while(|(_, stroke)| stroke.kind != StrokeKind::Feed || stroke.to > stroke.from)
        .filter(|(_, stroke)| stroke.to > stroke.from)
        .map(|(index, stroke)| (index, stroke.to))
        .max_by(|a, b| a.1.total_cmp(&b.1))
}
