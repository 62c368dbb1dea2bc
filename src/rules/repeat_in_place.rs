//! A cycle repeats at one place: an L or K word with absolute positions.
//!
//! ## Why it matters
//! With G90 every repeat drills the same hole again: heat, rubbing and a second exit through the last plies. NISTIR
//! 6556, section 3.5.16: under G90 the repeats fall on the same place.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 X30 Z-8.5 R2 L3 F318 (!)
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
//! G91 G81 X30 Z-10.5 R-3 L3 F318
//! G80 G90
//! M30
//! ```

use super::{Aim, Check, Context, Report, Rule};
use crate::diagnostic::Severity;
use crate::operation::{HoleWord, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "repeat-in-place",
    severity: Severity::Error,
    summary: "a cycle repeated in one place",
    checks: &[Check::Program(check)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    for (index, (hole, earlier)) in survey.holes.iter().zip(&survey.earlier).enumerate() {
        let Some(before) = earlier.checked_sub(1).and_then(|at| survey.holes.get(at as usize)) else { continue };
        let same_block = before.block == hole.block && before.source == hole.source && before.trace == hole.trace;
        if !same_block {
            continue;
        }
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        cx.report(
            Report::new(Aim::HoleAt { index, word: HoleWord::Block }, "the cycle repeats in one place")
                .advice("leave the repeat word out, or repeat in G91"),
        );
    }
}
