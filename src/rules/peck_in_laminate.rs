//! A peck cycle works in a layer whose rule forbids pecks.
//!
//! ## Why it matters
//! A laminate makes dust, not long chips, so a peck clears nothing. Each re-entry touches the walls and the last ply
//! again, adds turns at no feed and heats the matrix. Common practice, no source: the named laminate decides.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G83 Z-8.5 R2 Q2 F318 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G99 G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Drills the hole in one stroke.

use super::{Aim, Check, Context, HoleView, Report, Rule};
use crate::diagnostic::{Remedy, Severity};
use crate::job::PeckRule;
use crate::motion::CyclePart;
use crate::operation::HoleWord;
use std::collections::BTreeSet;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-in-laminate",
    severity: Severity::Warning,
    summary: "pecks in a layer whose rule forbids them",
    checks: &[Check::Hole(check)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let pecks: Vec<usize> = (view.recipe.strokes.iter().enumerate())
        .filter(|(_, stroke)| matches!(stroke.part, Some(CyclePart::PeckReturn(_))))
        .map(|(index, _)| index)
        .collect();
    if pecks.is_empty() {
        return;
    }
    let Some(laminate) = cx.laminate() else { return };
    let passes = cx.layers_cut(view);
    for (index, layer) in laminate.layers.iter().enumerate() {
        let strokes = passes.iter().filter(|pass| pass.layer == index).map(|pass| pass.stroke);
        let cuts = strokes.collect::<BTreeSet<_>>().len();
        if cuts < 2 {
            continue;
        }
        let key = format!("laminate.{}.peck", laminate.name);
        let Some(rule) = cx.stated(layer.limits.peck.as_ref(), key) else { continue };
        if rule.value != PeckRule::Forbidden {
            continue;
        }
        let aim = Aim::Hole { word: HoleWord::Peck, stroke: 0 };
        cx.report(
            Report::new(aim, format!("{cuts} pecks in `{}`, whose rule allows none", layer.name))
                .limit(0.0, "pecks", rule.origin.clone())
                .advice("drill this layer in one stroke")
                .remedy(Remedy::OneStroke),
        );
    }
}
