//! A nicked rougher is the last tool along a finished edge.
//!
//! ## Why it matters
//! The nicks of a rougher break the dust and lower the force, and leave grooves and frayed fibres in the wall. A finishing
//! pass with a plain or compression router must follow (trade practice: coarse then fine; a trade article on milling
//! composites gives 0.25 mm for the second pass). Edges declared with `finish = false` stay quiet.
//!
//! ## Fires on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T3 M6
//! S10000 M3 M7
//! G0 G43 H3 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F2000 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The rougher half a millimetre off, a router after it:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T3 M6
//! S10000 M3 M7
//! G0 G43 H3 X-20 Y105.5 Z5
//! G0 Z-7
//! G1 X220 F2000
//! G0 Z5
//! T2 M6
//! S10000 M3
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1600
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a finishing pass must be programmed.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::ToolKind;
use crate::operation::Survey;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "rougher-left-finish",
    severity: Severity::Warning,
    summary: "a nicked rougher is the last tool along a finished edge",
    checks: &[Check::Program(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

/// Shorter stretches are where passes overlap, mm. House value.
const SHORT: f64 = 3.0;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    let is_rougher =
        |tool: u32| job.tool(tool).is_some_and(|tool| matches!(tool.kind, ToolKind::SerratedRougher { .. }));
    for (edge, cover) in job.edges.iter().zip(&survey.edges).filter(|(edge, _)| edge.finish) {
        let mut rough = cover.marks.iter().filter(|mark| is_rougher(mark.tool)).peekable();
        let Some(first) = rough.peek().copied() else { continue };
        let length = Millimetres(rough.count() as f64 * cover.spacing);
        if length.0 <= SHORT {
            continue;
        }
        let message = format!("rougher {} is the last tool along finished edge {}", first.tool, edge.id);
        let units = cx.units;
        cx.of_tool(first.tool).report(
            Report::new(Aim::Block(first.block), message)
                .why(format!("over some {} of the edge", units.length(Millimetres(libm::round(length.0)))))
                .advice("follow with a finishing pass of a plain or compression router"),
        );
    }
}
