//! A tool drills a hole again that it has already made, no deeper than before.
//!
//! ## Why it matters
//! Heat and rubbing on finished walls, and a second exit through the last plies. Stages that go deeper each time are
//! one hole and stay quiet.
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
//! X0 Y0 (!)
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
//!
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-5 R2 F150
//! Z-8.5
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Takes the second drilling out.

use super::{Aim, Check, Context, Report, Rule};
use crate::diagnostic::Severity;
use crate::operation::{Hole, HoleWord, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-repeated",
    severity: Severity::Error,
    summary: "a hole drilled twice with the same tool",
    checks: &[Check::Program(check)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    for (index, hole) in survey.holes.iter().enumerate() {
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        let Some(recipe) = survey.recipe_of(hole) else { continue };
        for (earlier, before) in others_here(survey, index) {
            let again = survey
                .recipe_of(before)
                .is_some_and(|before| before.tool == recipe.tool && before.bottom <= recipe.bottom + 1e-6);
            if !again {
                continue;
            }
            let message = format!("tool {} drills this hole again, no deeper than before", recipe.tool);
            cx.report(
                Report::new(Aim::HoleAt { index, word: HoleWord::Block }, message)
                    .related(Some(Aim::HoleAt { index: earlier, word: HoleWord::Block }), "drilled here first")
                    .advice("take the second drilling out"),
            );
            break;
        }
    }
}

/// How many holes at one place are looked back on; more are the same hole over and over.
const LOOK_BACK: usize = 16;

/// Earlier holes at the place of hole `index`, latest first. A cycle repeated in place by one block is the business of
/// `repeat-in-place`.
fn others_here(survey: &Survey, index: u32) -> impl Iterator<Item = (u32, &Hole)> {
    let own = survey.holes.get(index as usize);
    let chain = std::iter::successors(survey.earlier_than(index), |(earlier, _)| survey.earlier_than(*earlier));
    let one_block = move |before: &Hole| {
        own.is_some_and(|own| (before.block, before.source, before.trace) == (own.block, own.source, own.trace))
    };
    chain.take(LOOK_BACK).filter(move |(_, before)| !one_block(before))
}
