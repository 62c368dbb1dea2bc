//! A tool makes more holes, or cuts more metres, than its life allows.
//!
//! ## Why it matters
//! Fibres are abrasive; wear rounds the edge, and thrust and delamination rise with it (Faraz, Biermann, Weinert, IJMTM
//! 2009). Life and holes already made come from the job file. Where the tool has a life law, the life at the fastest surface
//! speed of the program counts: above the law's own speed it is shorter than stated, below it is as stated.
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
//! A drill that turns at 150 m/min, which by its law leaves 6 of the 10 holes it makes at 120 m/min:
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T14 M6
//! S7958 M3 M7
//! G0 G43 H14 X0 Y0 Z5
//! G4 P2
//! G81 Z-8.5 R2 F398
//! X10
//! X20
//! X30
//! X40
//! X50
//! X60 (!)
//! G80
//! M30
//! ```
//! A router with 0.3 m left: the second side of the panel wears it out.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S10000 M3 M7
//! G0 G43 H7 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! G0 X220 Y-5
//! G0 Z-7
//! G1 X-20 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The same router along one side, with its way through air on both ends:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T7 M6
//! S10000 M3 M7
//! G0 G43 H7 X-100 Y105 Z5
//! G0 Z-7
//! G1 X300 F1000
//! G0 Z5
//! M30
//! ```
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
use crate::motion::BlockRef;
use crate::operation::{HoleWord, Survey, ToolUse};
use crate::process::life::{Shortened, shortened};
use crate::units::trimmed;
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
        let by_law = shortened(tool, survey).unwrap_or_else(|why| {
            cx.not_checked(why, format!("tool.{}.life.law", tool.number));
            None
        });
        let share = by_law.map_or(1.0, |law| law.share);
        for life in &tool.life {
            match *life {
                LifeLimit::Holes(stated) => {
                    let life = Life { stated: f64::from(stated), most: libm::floor(f64::from(stated) * share), by_law };
                    count(cx, tool, &life, holes.get(&tool.number).map(Vec::as_slice).unwrap_or_default())
                }
                LifeLimit::Metres(stated) => {
                    measure(cx, tool, &Life { stated, most: stated * share, by_law }, survey);
                }
            }
        }
    }
}

/// A life as stated and as it is at the speed of the program, in holes or metres.
struct Life {
    stated: f64,
    most: f64,
    by_law: Option<Shortened>,
}

impl Life {
    /// The report with how the life came to be what it is, and where that is from.
    fn limits(&self, report: Report, tool: &Tool, unit: &'static str) -> Report {
        let origin = format!("job file: tool.{}.life", tool.number);
        let Some((by_law, law)) = self.by_law.zip(tool.life_law.as_ref()) else {
            return report.limit(self.most, unit, origin);
        };
        let [surface, at] = [by_law.surface.0, law.at.0].map(|speed| trimmed(speed, 1));
        let [stated, most] = [self.stated, self.most].map(|life| trimmed(life, 2));
        let power = trimmed(law.exponent, 3);
        report
            .why(format!(
                "life of {stated} {unit} x ({at} / {surface} m/min)^{power} = {most} {unit}; law: {}",
                law.origin
            ))
            .limit(self.most, unit, origin)
    }
}

fn count(cx: &mut Context<'_>, tool: &Tool, life: &Life, holes: &[u32]) {
    let total = tool.used + holes.len() as f64;
    let most = life.most;
    let left = (most - tool.used).max(0.0);
    // The first hole beyond the life; a cast of a small non-negative count loses nothing.
    let Some(&first) = holes.get(left as usize) else { return };
    let number = tool.number;
    let message = format!("tool {number} makes {} holes, its life is {most}", trimmed(total, 0));
    let report = Report::new(Aim::HoleAt { index: first, word: HoleWord::Block }, message)
        .why(format!("{} used before, {} here; this is the first hole beyond", tool.used, holes.len()))
        .measured(total, "holes")
        .advice("change to a sister tool before this hole");
    cx.report(life.limits(report, tool, "holes"));
}

fn measure(cx: &mut Context<'_>, tool: &Tool, life: &Life, survey: &Survey) {
    let most = life.most;
    let uses = || survey.tools.iter().filter(|used| used.tool == tool.number);
    let metres = |used: &ToolUse| (used.cut_length + used.drilled_length) / 1000.0;
    let here: f64 = uses().map(metres).sum();
    let mut before = tool.used;
    for used in uses() {
        if before + metres(used) > most {
            return report_metres(cx, tool, life, here, end_of_life(used, most - before, survey));
        }
        before += metres(used);
    }
}

/// The cut in which so many metres are used up, and how far into it; the whole stretch where holes are drilled as well.
fn end_of_life(used: &ToolUse, mut left: f64, survey: &Survey) -> (BlockRef, Option<f64>) {
    let cuts = survey.cuts.get(used.cuts.clone()).filter(|_| used.drilled_length == 0.0);
    for cut in cuts.unwrap_or_default() {
        let metres = cut.length / 1000.0;
        if metres > left {
            return (cut.first, Some(left.max(0.0)));
        }
        left -= metres;
    }
    (used.block, None)
}

fn report_metres(cx: &mut Context<'_>, tool: &Tool, life: &Life, here: f64, (block, into): (BlockRef, Option<f64>)) {
    let (number, total) = (tool.number, tool.used + here);
    let message = format!("tool {number} cuts {} m, its life is {} m", trimmed(total, 2), trimmed(life.most, 2));
    let mut report = Report::new(Aim::Block(block), message)
        .why(format!("{} m used before, {} m here", tool.used, trimmed(here, 2)))
        .measured(total, "m")
        .advice("change to a sister tool before this cut");
    if let Some(into) = into {
        report = report.why(format!("its life ends {} m into the cut that begins here", trimmed(into, 2)));
    }
    cx.report(life.limits(report, tool, "m"));
}
