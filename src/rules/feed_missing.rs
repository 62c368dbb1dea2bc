//! A feed move runs although no F word was ever given.
//!
//! ## Why it matters
//! The control stops with an alarm, or worse, feeds at what the last program left. Condition of NISTIR 6556, section
//! 3.5: feed moves need a feed.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 (!)
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
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "feed-missing",
    severity: Severity::Error,
    summary: "a feed move without any feed",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    if !may_cut(view) || state.feed_word.value.is_some() {
        return;
    }
    if state.doubtful.feed {
        return cx.not_checked("a statement that was not followed may have set the feed", None);
    }
    cx.report(
        Report::new(Aim::Block(view.step.block), "feed move without a feed: no F word was given before it")
            .advice("state F on this block or before it"),
    );
}
