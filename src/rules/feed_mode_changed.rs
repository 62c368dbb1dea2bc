//! The feed mode changes and the next feed move has no F of its own.
//!
//! ## Why it matters
//! On one control family G94 brings back the F that was last given under G94, on others the number stays and means
//! something else. A fresh F after every change of mode is safe on all (NISTIR 6556, section 3.5.19 asks for one).
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! F318
//! G95
//! G81 Z-8.5 R2 (!)
//! G80
//! G94
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
//! F318
//! G95
//! G81 Z-8.5 R2 F0.05
//! G80
//! G94
//! M30
//! ```

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "feed-mode-changed",
    severity: Severity::Warning,
    summary: "a feed mode changed without a new feed",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let Some(word) = state.feed_word.value.filter(|_| may_cut(view)) else { return };
    if state.feed_word_mode == state.feed_mode.value {
        return;
    }
    cx.report(
        Report::new(
            Aim::Block(view.step.block),
            format!("feed mode changed, but F{word} was given for the mode before"),
        )
        .related(Aim::set(&state.feed_mode), "mode changed here")
        .related(Aim::set(&state.feed_word), "last F")
        .advice("state F after the change of mode"),
    );
}
