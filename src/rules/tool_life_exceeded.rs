//! A tool makes more holes, or cuts more metres, than its life allows.
//!
//! ## Why it matters
//! Fibres are abrasive; wear rounds the edge, and thrust and delamination rise with it (Faraz, Biermann, Weinert, IJMTM
//! 2009). Life and holes already made come from the job file.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T9 M6
//! S6366 M3 M7
//! G0 G43 H9 X0 Y0 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! X10
//! X20 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T9 M6
//! S6366 M3 M7
//! G0 G43 H9 X0 Y0 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! X10
//! G80
//! M30
//! ```

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{LifeLimit, Tool};
use crate::operation::{HoleWord, Survey};
use std::collections::BTreeMap;

/// The rule.
pub static RULE: Rule = Rule {
    name: "tool-life-exceeded",
    severity: Severity::Warning,
    summary: "a tool used beyond its life",
    checks: &[Check::Program(check), Check::Program(missing::life)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    let mut holes: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for used in &survey.tools {
        let made = used.holes.clone().filter(|index| !survey.returns_to(*index));
        holes.entry(used.tool).or_default().extend(made);
    }
    for tool in job.tools.values() {
        for life in &tool.life {
            match *life {
                LifeLimit::Holes(most) => {
                    count(cx, tool, most, holes.get(&tool.number).map(Vec::as_slice).unwrap_or_default())
                }
                LifeLimit::Metres(most) => measure(cx, tool, most, survey),
            }
        }
    }
}

fn count(cx: &mut Context<'_>, tool: &Tool, most: u32, holes: &[u32]) {
    let total = tool.used + holes.len() as f64;
    let left = (f64::from(most) - tool.used).max(0.0);
    // The first hole beyond the life; a cast of a small non-negative count loses nothing.
    let Some(&first) = holes.get(left as usize) else { return };
    let number = tool.number;
    let message = format!("tool {number} makes {} holes, its life is {most}", crate::units::trimmed(total, 0));
    cx.report(
        Report::new(Aim::HoleAt { index: first, word: HoleWord::Block }, message)
            .why(format!("{} used before, {} here; this is the first hole beyond", tool.used, holes.len()))
            .measured(total, "holes")
            .limit(f64::from(most), "holes", format!("job file: tool.{number}.life"))
            .advice("change to a sister tool before this hole"),
    );
}

fn measure(cx: &mut Context<'_>, tool: &Tool, most: f64, survey: &Survey) {
    let mut metres = tool.used;
    for used in survey.tools.iter().filter(|used| used.tool == tool.number) {
        metres += (used.cut_length + used.drilled_length) / 1000.0;
        if metres > most {
            let number = tool.number;
            let message = format!("tool {number} cuts {metres:.2} m, its life is {most} m");
            return cx.report(
                Report::new(Aim::Block(used.block), message)
                    .measured(metres, "m")
                    .limit(most, "m", format!("job file: tool.{number}.life"))
                    .advice("change to a sister tool within this stretch"),
            );
        }
    }
}
