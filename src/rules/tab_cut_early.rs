//! A tab is cut through before the edge is complete.
//!
//! ## Why it matters
//! Tabs hold the offcut, or the part, until nothing else is left to cut. Once they are gone the rest moves, and the cutter
//! catches it: the last stretch tears, and the edge there is scrap (common practice, no source). Tabs are declared with
//! their edge (`tabs`).
//!
//! ## Fires on
//! The tab at the bottom is cut first, the top edge after it:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X220 Y-5 Z5
//! G0 Z-7
//! G1 X-20 F1000 (!)
//! G0 Z5
//! G0 X-20 Y105
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The tab last:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X220 Y-5 Z5
//! G0 Z-7
//! G1 X108 F1000
//! Z-3
//! X92
//! X80 Z-7
//! X-20
//! G0 Z5
//! G0 X-20 Y105
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! G0 X115 Y-16
//! G0 Z-7
//! G1 Y-5
//! X85
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: the order is the programmer's.

use super::skin_left_uncut::on_a_tab;
use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{EdgeGroup, Job};
use crate::operation::{EdgeCover, Mark, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "tab-cut-early",
    severity: Severity::Error,
    summary: "a tab is cut before its edge is complete",
    checks: &[Check::Program(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

/// Shorter rests are overlaps of passes, mm. House value.
const REST: f64 = 3.0;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (edge, cover) in job.edges.iter().zip(&survey.edges) {
        for (at, width) in &edge.tabs {
            let first = cover
                .marks_near(*at, width / 2.0)
                .filter(|mark| mark.through.is_some())
                .min_by_key(|mark| mark.through);
            let Some(first) = first else { continue };
            let rest = rest(first, edge, cover, job);
            if rest.0 > REST {
                report(cx, edge, *at, first, rest);
            }
        }
    }
}

/// Length of the edge, tabs apart, that no tool has come near when a tab is cut. Ramps beside other tabs still hold.
fn rest(tab: &Mark, edge: &EdgeGroup, cover: &EdgeCover, job: &Job) -> Millimetres {
    let later = cover.marks.iter().filter(|mark| mark.first > tab.through && !on_a_tab(mark, edge, job));
    Millimetres(later.count() as f64 * cover.spacing)
}

fn report(cx: &mut Context<'_>, edge: &EdgeGroup, [x, y]: [f64; 2], first: &Mark, rest: Millimetres) {
    let units = cx.units;
    let (x, y) = (units.coordinate('X', Millimetres(x)), units.coordinate('Y', Millimetres(y)));
    let message = format!("tabs of edge {} are cut before the edge is complete", edge.id);
    cx.of_tool(first.tool).report(
        Report::new(Aim::Block(first.block), message)
            .why(format!(
                "some {} are cut only after the tab at {x} {y}",
                units.length(Millimetres(libm::round(rest.0)))
            ))
            .measured(rest.0, "mm")
            .limit(0.0, "mm", format!("job file: edges {}, tabs", edge.id))
            .advice("cut the tabs when everything else is through"),
    );
}
