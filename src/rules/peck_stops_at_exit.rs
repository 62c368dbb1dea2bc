//! A peck ends, or re-enters, in the last plies before an unsupported exit.
//!
//! ## Why it matters
//! The pause and the re-entry happen on the weakest plies: the returning tip pushes them out. The plies in question are
//! those of the exit zone (the plate model says where they begin to give way; see `thrust-above-critical`).
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G99 G83 Z-8.5 R2 Q2 F150 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G99 G81 Z-8.5 R2 F150
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Drills the hole in one stroke.

use super::support::peck_bottoms;
use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::HoleWord;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-stops-at-exit",
    severity: Severity::Warning,
    summary: "a peck that stops in the last plies",
    checks: &[Check::Hole(check), Check::Program(missing::laminate)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let bottoms = peck_bottoms(view.recipe);
    if !bottoms.is_empty() {
        cx.layers_cut(view);
    }
    let (Some(job), Some(exit)) = (view.job, &view.reading.exit) else { return };
    let face = job.head.entry_z.0;
    let inside = |depth: f64| depth >= exit.from.0 && depth < exit.to.0;
    let Some((stroke, z)) = bottoms.into_iter().find(|(_, z)| inside(face - z)) else { return };
    let units = cx.units;
    let top = units.coordinate('Z', Millimetres(face - exit.from.0));
    let message =
        format!("a peck stops at {}, inside the exit zone that begins at {top}", units.coordinate('Z', Millimetres(z)));
    let from = exit.feed.as_ref().map_or_else(|| "one ply above the exit face".to_owned(), |feed| feed.origin.clone());
    cx.report(
        Report::new(Aim::Hole { word: HoleWord::Peck, stroke }, message)
            .why(format!("zone from {from}"))
            .measured(z, "mm")
            .limit(face - exit.from.0, "mm", from)
            .advice("drill the last plies in one stroke")
            .remedy(Remedy::OneStroke),
    );
}
