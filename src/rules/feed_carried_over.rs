//! A tool feeds with an F word that was given for the tool before it.
//!
//! ## Why it matters
//! A drill that inherits a router's feed is pushed through several times too fast: at 6366 rev/min F1200 is 0.19 mm/rev
//! where 0.05 was meant. Common practice, no source: every tool states its own feed.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z5
//! G4 P2
//! G1 Z2 F1200
//! G0 Z50
//! T6 M6
//! S6366 M3
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
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X0 Y0 Z5
//! G4 P2
//! G1 Z2 F1200
//! G0 Z50
//! T6 M6
//! S6366 M3
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
    name: "feed-carried-over",
    severity: Severity::Error,
    summary: "feed left from the tool before",
    checks: &[Check::State(check)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let state = view.step.state;
    let (feed, tool) = (state.feed_word, state.tool.value);
    let Some(value) = feed.value else { return };
    if !may_cut(view) || tool == 0 || feed.tool == 0 || feed.tool == tool || state.doubtful.feed {
        return;
    }
    cx.report(
        Report::new(
            Aim::Block(view.step.block),
            format!("tool {tool} feeds with F{value} that was given for tool {}", feed.tool),
        )
        .related(Aim::set(&feed), "this F is still in force")
        .advice(format!("state F for tool {tool} before its first feed move")),
    );
}
