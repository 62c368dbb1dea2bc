//! A cutter runs straight up against a finished edge.
//!
//! ## Why it matters
//! Where a cutter arrives square to the wall it stands for a moment before it turns along it, rubs, and leaves a mark in
//! the finished edge. An arc, or a line that meets the edge at a flat angle, brings it in without standing still (common
//! practice, no source). Edges that are not finished ones stay quiet.
//!
//! ## Fires on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X50 Y130 Z5
//! G0 Z-7
//! G1 Y105 F1000 (!)
//! X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! In on an arc, and in along the edge from beside the panel:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X40 Y115 Z5
//! G0 Z-7
//! G3 X50 Y105 I10 F1000
//! G1 X220
//! G0 Z5
//! G0 X-20 Y105
//! G0 Z-7
//! G1 X60
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: an arc needs room that only the programmer can give.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::operation::Survey;
use crate::units::{Millimetres, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "entered-straight",
    severity: Severity::Note,
    summary: "a cutter runs straight up against a finished edge",
    checks: &[Check::Program(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    let units = cx.units;
    for (edge, cover) in job.edges.iter().zip(&survey.edges).filter(|(edge, _)| edge.finish) {
        for arrival in &cover.arrivals {
            let [x, y] = arrival.at;
            let message = format!("runs straight up against finished edge {}", edge.id);
            cx.of_tool(arrival.tool).report(
                Report::new(Aim::Block(arrival.block), message)
                    .why(format!(
                        "at {} {}, {} degrees to the edge",
                        units.coordinate('X', Millimetres(x)),
                        units.coordinate('Y', Millimetres(y)),
                        trimmed(arrival.angle, 0)
                    ))
                    .advice("come in on an arc, or along the edge from outside the material"),
            );
        }
    }
}
