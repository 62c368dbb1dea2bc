//! Reports as people and machines read them: one file a format, all from the same report.

mod answers;
mod book;
mod clearance;
mod columns;
mod compare;
mod compare_json;
mod edges;
mod feature;
mod finding;
mod fit;
mod fleet;
mod holes;
mod job_errors;
mod json;
mod lines;
mod look;
mod measures;
mod moves;
mod names;
mod patch;
mod plot;
mod remedy_json;
mod rules;
mod sarif;
mod sheet;
mod source_code;
#[cfg(test)]
mod sample;
mod terminal;
mod times;
mod tune;
mod verdict;
mod waivers;

pub use answers::heading as measured_heading;
pub use book::Book;
pub use columns::{TableRow, parquet, table_rows};
pub use compare::{CompareVerdict, Comparison, comparison, headline};
pub use compare_json::{comparison_json, comparison_schema};
pub use edges::edges;
pub use fit::fit;
pub use fleet::Round;
pub use holes::holes;
pub use job_errors::job_errors;
pub use json::schema;
pub use look::Look;
pub use moves::{MovesFormat, MovesLayout, MovesWriter};
pub use patch::{patch_json, patch_notes};
pub use plot::plot;
pub use rules::{rule_list, rule_page};
pub use sheet::{Paper, SheetSource, sheet};
pub use times::times;
pub use tune::{tune_json, tune_report};
pub use verdict::{Tally, Verdict};
pub use waivers::waivers_json;

pub(crate) use crate::units::{counted, grouped};
pub(crate) use feature::feature;

use crate::check::Report;
use crate::diagnostic::Severity;
use crate::patch::Patch;
use std::collections::BTreeSet;

/// What every report says of itself: it helps to decide and decides nothing.
pub const CAUTION: &str = "This check supports prove-out, first-article inspection and engineering approval; it replaces \
    none of them. The process specification, the machine maker's manual and the site safety office come first. Dust \
    of cut laminate is respirable, and carbon dust conducts: extract it and keep it out of lungs and cabinets.";

/// How a report is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// For people, in a terminal or a plain text file.
    #[default]
    Terminal,
    /// A line for each program, and the totals.
    Table,
    /// For machines, an object a line: programs, findings, the run.
    Lines,
    /// For machines; its schema is [`schema`].
    Json,
    /// For hosts and viewers of analysis results: SARIF 2.1.0.
    Sarif,
}

/// One program's report, ready to be bound with others.
#[derive(Debug)]
pub struct Page {
    /// The verdict on the program.
    pub verdict: Verdict,
    row: fleet::Row,
    body: Body,
}

#[derive(Debug)]
enum Body {
    Row,
    Text(String),
    Program(Box<json::ProgramReport>),
    Sarif(Box<sarif::Part>),
}

/// One report in a format. Findings at or above `fail_on` make it fail; `fixes` are patches that each cure one finding, by
/// index, for formats that show them.
#[must_use]
pub fn page(report: &Report, fixes: &[(usize, Patch)], format: Format, fail_on: Severity, look: &Look) -> Page {
    let body = match format {
        Format::Terminal => Body::Text(terminal::report(report, fail_on, look)),
        Format::Table => Body::Row,
        Format::Lines => Body::Text(lines::program(&json::program(report, fail_on))),
        Format::Json => Body::Program(Box::new(json::program(report, fail_on))),
        Format::Sarif => Body::Sarif(Box::new(sarif::part(report, fixes))),
    };
    Page { verdict: Verdict::of(report, fail_on), row: fleet::Row::of(report, fail_on), body }
}

/// All pages of a run as one text: pages of text one after another and a table behind them, those for machines in one
/// document. `round` is what the run has to tell besides, for formats that have a place for it.
#[must_use]
pub fn bind(pages: Vec<Page>, format: Format, fail_on: Severity, round: &Round, look: &Look) -> String {
    let verdict = pages.iter().map(|page| page.verdict).fold(Verdict::default(), Verdict::and);
    let mut text = String::new();
    let (mut rows, mut programs, mut parts) = (Vec::new(), Vec::new(), Vec::new());
    for page in pages {
        rows.push(page.row);
        match page.body {
            Body::Row => {}
            Body::Text(page) => text.push_str(&page),
            Body::Program(program) => programs.push(*program),
            Body::Sarif(part) => parts.push(*part),
        }
    }
    match format {
        Format::Table => text.push_str(&fleet::table(&rows, round, look)),
        Format::Terminal if rows.len() > 1 => text.push_str(&fleet::table(&rows, round, look)),
        Format::Lines => text.push_str(&lines::run(json::exit(verdict, fail_on), round)),
        Format::Json if !programs.is_empty() => text.push_str(&json::text(&json::document(programs, verdict, fail_on))),
        Format::Sarif => text.push_str(&sarif::text(parts, verdict, fail_on, &round.unread)),
        Format::Json | Format::Terminal => {}
    }
    text
}

/// How much of a program its answers rest on.
pub(crate) fn coverage(report: &Report) -> String {
    let coverage = &report.coverage;
    format!(
        "understood {} of {} blocks run; judged {} of {}",
        grouped(coverage.understood),
        grouped(coverage.blocks),
        grouped(coverage.judged),
        counted(coverage.holes, "hole operation"),
    )
}

/// How many checks had no data, or that all ran; on part of the program where not all of it was understood and judged.
fn checks(report: &Report) -> String {
    let rules: BTreeSet<&str> = report.not_checked.iter().map(|missing| missing.rule.as_str()).collect();
    let coverage = &report.coverage;
    let whole = coverage.understood == coverage.blocks && coverage.judged == coverage.holes;
    match (rules.len() as u64, whole) {
        (0, true) if !report.only.is_empty() => "every check asked for ran".to_owned(),
        (0, true) => "every check ran".to_owned(),
        (0, false) => "every check ran, on these alone".to_owned(),
        (count, _) => format!("{} not run", counted(count, "check")),
    }
}
