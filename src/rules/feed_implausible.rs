//! A feed is so far out that it must have been meant in another feed mode or unit.
//!
//! ## Why it matters
//! F318 under G95 is 318 mm for each turn; F0.05 under G94 takes 20 minutes for a millimetre. Both come from a feed
//! mode that was left over. Common practice, no source: beyond 5 mm/rev or below 1 mm/min in a cut the number is taken
//! as misread. Both bounds are house values.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G95
//! G81 Z-8.5 R2 F318 (!)
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
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G95
//! G81 Z-8.5 R2 F0.05
//! G80
//! G94
//! M30
//! ```

use super::context::MOST_BELIEVED;
use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView};
use crate::diagnostic::Severity;
use crate::motion::FeedMode;
use crate::units::{MmPerMin, MmPerRev};

/// The rule.
pub static RULE: Rule = Rule {
    name: "feed-implausible",
    severity: Severity::Error,
    summary: "a feed that must belong to another mode or unit",
    checks: &[Check::State(check)],
};

/// Least table feed that is still believed, mm/min; house value.
const LEAST_PER_MIN: f64 = 1.0;

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let Some(word) = state.feed_word.value.filter(|_| may_cut(view)) else { return };
    let aim = Aim::set(&state.feed_word).unwrap_or(Aim::Block(view.step.block));
    let value = word * state.units.value.mm();
    let (message, limit, unit) = match state.feed_mode.value {
        FeedMode::PerRev if value > MOST_BELIEVED => {
            let feed = cx.units.per_rev(MmPerRev(value));
            (format!("F{word} under G95 is {feed}"), MOST_BELIEVED, "mm/rev")
        }
        FeedMode::PerMinute if value < LEAST_PER_MIN => {
            let feed = cx.units.feed(MmPerMin(value));
            (format!("F{word} under G94 is {feed}"), LEAST_PER_MIN, "mm/min")
        }
        FeedMode::PerRev | FeedMode::PerMinute | FeedMode::InverseTime => return,
    };
    cx.report(
        Report::new(aim, message)
            .measured(value, unit)
            .limit(limit, unit, "house value")
            .related(Aim::set(&state.feed_mode), "feed mode set here")
            .advice("check the feed mode (G94, G95) and the unit this F was meant in"),
    );
}
