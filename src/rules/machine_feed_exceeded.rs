//! A feed is beyond what the machine can do.
//!
//! ## Why it matters
//! The control clamps it, so the chip load is not the one programmed.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! X100 F9000 (!)
//! G0 Z50
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! X100 F1200
//! G0 Z50
//! M30
//! ```

use super::context::MOST_BELIEVED;
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::Severity;
use crate::motion::FeedMode;
use crate::units::MmPerMin;

/// The rule.
pub static RULE: Rule = Rule {
    name: "machine-feed-exceeded",
    severity: Severity::Warning,
    summary: "a feed beyond the machine",
    checks: &[Check::State(check), Check::Program(missing::max_feed)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(limit) = cx.job.and_then(|job| job.machine.max_feed.as_ref()) else { return };
    let Some(feed) = view.step.feed.filter(|feed| *feed > limit.value.0) else { return };
    // A feed misread for want of its mode is the business of `feed-implausible`.
    let state = view.step.state;
    if state.speed.value.is_some_and(|speed| state.feed_mode.value == FeedMode::PerRev && feed > MOST_BELIEVED * speed)
    {
        return;
    }
    let aim = Aim::set(&view.step.state.feed_word).unwrap_or(Aim::Block(view.step.block));
    let message = format!("feed {}, the machine does {}", cx.units.feed(MmPerMin(feed)), cx.units.feed(limit.value));
    cx.report(
        Report::new(aim, message)
            .measured(feed, "mm/min")
            .limit(limit.value.0, "mm/min", limit.origin.clone())
            .advice("lower F, and check the feed mode and units"),
    );
}
