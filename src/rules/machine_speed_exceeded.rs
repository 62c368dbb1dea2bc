//! A spindle speed is beyond what the machine or the tool allows.
//!
//! ## Why it matters
//! The control clamps it silently or stops; a tool run beyond its speed may burst.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S15000 M3 M7 (!)
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
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
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "machine-speed-exceeded",
    severity: Severity::Error,
    summary: "a spindle speed beyond machine or tool",
    checks: &[Check::State(check), Check::Program(missing::max_speed)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let speed = view.step.state.speed;
    let (Some(job), Some(value)) = (cx.job, speed.value.filter(|_| may_cut(view))) else { return };
    let machine = job.machine.max_speed.as_ref().map(|limit| (limit.value.0, Some(&limit.origin)));
    let tool = view.tool.and_then(|tool| Some((tool.max_speed?.0, None)));
    let Some((most, origin)) = [machine, tool].into_iter().flatten().min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
    if value <= most {
        return;
    }
    let of_tool = || format!("job file: tool.{}.max_speed", view.tool.map_or(0, |tool| tool.number));
    let origin = origin.map_or_else(of_tool, ToString::to_string);
    let aim = Aim::set(&speed).unwrap_or(Aim::Block(view.step.block));
    cx.report(
        Report::new(aim, format!("S{value} is beyond the {most} rev/min allowed"))
            .measured(value, "rev/min")
            .limit(most, "rev/min", origin)
            .advice(format!("S{most} or less")),
    );
}
