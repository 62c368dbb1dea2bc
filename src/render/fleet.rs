//! Many programs as one table: the answer for each, what stands behind it in a line, and the totals.

use super::book::Book;
use super::feature::feature;
use super::look::Look;
use super::verdict::{Tally, Verdict};
use super::{CAUTION, counted};
use crate::check::Report;
use crate::diagnostic::{Finding, NotChecked, Place, Severity, Status};
use crate::units::Millimetres;
use std::collections::{BTreeMap, BTreeSet};

/// Findings and missing data named under one program; more are counted.
const SHOWN: usize = 5;

/// Stale entries named; more are counted.
const STALE_SHOWN: usize = 20;

/// What a run over many programs has to tell besides its reports.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Round {
    /// Why programs could not be read, a sentence each.
    pub unread: Vec<String>,
    /// Entries of the baseline that nothing answers to any more.
    pub stale: Vec<String>,
    /// Programs that share a number, in words.
    pub twins: Vec<String>,
    /// Job files passed over.
    pub jobs: u64,
    /// Other files passed over, as their names do not end like those of programs.
    pub others: u64,
}

/// One program in the table.
#[derive(Clone, Debug, Default)]
pub(super) struct Row {
    program: String,
    verdict: Verdict,
    tally: Tally,
    findings: Vec<String>,
    missing: Vec<String>,
    /// Rules with open findings.
    rules: BTreeSet<&'static str>,
    /// Rules the run was narrowed to.
    only: Vec<&'static str>,
    /// Checks that did not run.
    unrun: usize,
    /// Whether that is all that was asked for.
    nothing_ran: bool,
}

impl Row {
    pub fn of(report: &Report, fail_on: Severity) -> Self {
        let book = Book::new(report);
        let open = || report.findings.iter().filter(|finding| finding.status == Status::Open);
        let unrun: BTreeSet<&str> = report.not_checked.iter().map(|missing| missing.rule.as_str()).collect();
        Self {
            program: report.sources.first().map(|source| source.name.clone()).unwrap_or_default(),
            verdict: Verdict::of(report, fail_on),
            tally: Tally::of(report),
            findings: capped(open().map(|finding| line(&book, finding)).collect(), "finding"),
            missing: capped(missing(report), "gap").into_iter().chain(switched_off(report)).collect(),
            rules: open().map(|finding| finding.rule).collect(),
            only: report.only.clone(),
            unrun: unrun.len(),
            nothing_ran: !report.only.is_empty() && report.only.iter().all(|rule| unrun.contains(rule)),
        }
    }

    /// The answer in a word or two.
    pub fn answer(&self) -> &'static str {
        match (self.verdict.failed, self.verdict.inconclusive, self.tally.at_least(Severity::Note)) {
            (true, false, _) => "findings",
            (true, true, _) => "findings, ?",
            (false, true, _) => "not concluded",
            (false, false, 0) if self.nothing_ran => "not run",
            (false, false, 0) if self.tally.known > 0 => "known only",
            (false, false, 0) if !self.only.is_empty() => "none found",
            (false, false, 0) => "clean",
            (false, false, _) => "minor findings",
        }
    }
}

/// A finding in one line: how grave, which rule and tool, what, at how many places, and how far beyond its limit.
fn line(book: &Book<'_>, finding: &Finding) -> String {
    let letter = match finding.severity {
        Severity::Error => "E",
        Severity::Warning => "W",
        Severity::Note => "N",
    };
    let tools: BTreeSet<u32> = finding.places.iter().filter_map(|place| place.tool).filter(|tool| *tool != 0).collect();
    let tools: String = tools.into_iter().map(|tool| format!(", T{tool}")).collect();
    let first = finding.places.first();
    let places = match (finding.places.len() as u64 + finding.more_places, first) {
        (0 | 1, None) => String::new(),
        (0 | 1, Some(place)) => match spot(book, place) {
            nameless if nameless.is_empty() => String::new(),
            named => format!(" ({named})"),
        },
        (count, _) => format!(" ({})", counted(count, "place")),
    };
    format!("{letter} {}{tools}: {}{places}{}", finding.rule, finding.message, beyond(book, finding))
}

/// The hole by its name or where it is, elsewhere the words of the block.
fn spot(book: &Book<'_>, place: &Place) -> String {
    let index = place.hole.map(|hole| hole as usize);
    let nameless = index.filter(|index| book.report.hole_names.get(*index).is_none_or(String::is_empty));
    match nameless.and_then(|index| book.report.survey.holes.get(index)) {
        Some(hole) => {
            let at = |letter, value| book.report.units.coordinate(letter, Millimetres(value));
            let line = book.position(place.source, place.span.start).line;
            format!("line {line}, hole at {} {}", at('X', hole.x), at('Y', hole.y))
        }
        None => feature(book, place),
    }
}

/// How far a finding lies beyond its limit.
fn beyond(book: &Book<'_>, finding: &Finding) -> String {
    let Some((measured, limit)) = finding.measured.as_ref().zip(finding.limit.as_ref()) else { return String::new() };
    if measured.unit != limit.quantity.unit {
        return String::new();
    }
    let (way, excess) = match measured.value - limit.quantity.value {
        excess if excess >= 0.0 => ("over", excess),
        excess => ("under", -excess),
    };
    format!(", {} {way}", book.report.units.worded(excess, measured.unit))
}

/// What kept a program from being concluded: a line for each key that is missing, with how many checks wait for it.
fn missing(report: &Report) -> Vec<String> {
    let mut waiting: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for one in report.not_checked.iter().filter(|one| one.needed) {
        waiting.entry(lack(one)).or_default().insert(&one.rule);
    }
    let mut lines: Vec<(usize, String)> = waiting.into_iter().map(|(lack, rules)| (rules.len(), lack)).collect();
    lines.sort_by_key(|(rules, _)| std::cmp::Reverse(*rules));
    let lines = lines.into_iter().map(|(rules, lack)| format!("? {lack}, for {}", counted(rules as u64, "check")));
    let coverage = &report.coverage;
    let blocks = coverage.blocks.saturating_sub(coverage.understood);
    let holes = coverage.holes.saturating_sub(coverage.judged);
    let blocks = (blocks > 0).then(|| format!("? {} not understood", counted(blocks, "block")));
    let holes = (holes > 0).then(|| format!("? {} not judged", counted(holes, "hole")));
    blocks.into_iter().chain(holes).chain(lines).collect()
}

/// Rules the job file switches off, in a line.
fn switched_off(report: &Report) -> Option<String> {
    let off = report.switched_off();
    (!off.is_empty()).then(|| format!("- switched off by the job file: {}", off.join(", ")))
}

fn lack(missing: &NotChecked) -> String {
    missing.key.as_ref().map_or_else(|| missing.why.clone(), |key| format!("`{key}` is not given"))
}

/// The first lines of a list, and how many more there are.
fn capped(mut lines: Vec<String>, noun: &str) -> Vec<String> {
    let more = lines.len().saturating_sub(SHOWN);
    lines.truncate(SHOWN);
    if more > 0 {
        lines.push(format!("and {more} more {noun}{}", if more == 1 { "" } else { "s" }));
    }
    lines
}

/// The table with its totals.
pub(super) fn table(rows: &[Row], round: &Round, look: &Look) -> String {
    let mut text = String::from("answer          error  warn  note  waived  known  unrun  program\n");
    for row in rows {
        let Tally { errors, warnings, notes, waived, known } = row.tally;
        let (answer, program, unrun) = (row.answer(), &row.program, row.unrun);
        let counts = format!("{answer:14}  {errors:5}  {warnings:4}  {notes:4}  {waived:6}  {known:5}  {unrun:5}");
        // A name that does not fit stands below, unbroken, so that it can be copied.
        let fits = counts.len() + 2 + program.chars().count() <= look.width;
        text.push_str(&format!("{counts}{}{program}\n", if fits { "  " } else { "\n  " }));
        for line in row.findings.iter().chain(&row.missing) {
            text.push_str(&look.wrapped("    ", "      ", line));
        }
    }
    text.push('\n');
    text.push_str(&totals(rows, round, look));
    text
}

/// What all of it comes to.
fn totals(rows: &[Row], round: &Round, look: &Look) -> String {
    let mut text = look.wrapped("", "  ", &answers(rows, round));
    let tally = rows.iter().map(|row| row.tally).fold(Tally::default(), Tally::and);
    let Tally { errors, warnings, notes, waived, known } = tally;
    let open = [(errors, "error"), (warnings, "warning"), (notes, "note")].map(|(count, noun)| counted(count, noun));
    text.push_str(&look.wrapped("  ", "  ", &format!("{}; {waived} waived, {known} known", open.join(", "))));
    let mut rules: BTreeMap<&str, u64> = BTreeMap::new();
    for rule in rows.iter().flat_map(|row| &row.rules) {
        *rules.entry(rule).or_default() += 1;
    }
    let mut rules: Vec<(&str, u64)> = rules.into_iter().collect();
    rules.sort_by_key(|(rule, programs)| (std::cmp::Reverse(*programs), *rule));
    for (rule, programs) in rules {
        text.push_str(&look.wrapped("  ", "    ", &format!("{rule}: in {} of {}", programs, rows.len())));
    }
    if let Some(only) = rows.first().map(|row| &row.only).filter(|only| !only.is_empty()) {
        text.push_str(&look.wrapped("  ", "    ", &format!("looked at {} alone", only.join(", "))));
    }
    for twins in &round.twins {
        text.push_str(&look.wrapped("  ", "    ", twins));
    }
    text.push_str(&stale(round, look));
    for why in &round.unread {
        text.push_str(&look.wrapped("  ", "    ", why));
    }
    if round.jobs + round.others > 0 {
        let (jobs, others) = (counted(round.jobs, "job file"), counted(round.others, "file"));
        text.push_str(&look.wrapped("  ", "    ", &format!("passed over: {jobs}, {others} not named as programs")));
    }
    text.push_str(&look.wrapped("  ", "  ", CAUTION));
    text.push('\n');
    text
}

/// How many programs gave which answer.
fn answers(rows: &[Row], round: &Round) -> String {
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    for row in rows {
        *counts.entry(row.answer()).or_default() += 1;
    }
    let count = |answer: &str| counts.get(answer).copied().unwrap_or_default();
    let both = count("findings, ?");
    let concluded = match both {
        0 => String::new(),
        both => format!(", {both} of them with findings"),
    };
    let mut text = format!(
        "{}: {} clean, {} with minor findings, {} with findings, {} not concluded{concluded}",
        counted(rows.len() as u64, "program"),
        count("clean"),
        count("minor findings"),
        count("findings") + both,
        count("not concluded") + both,
    );
    for answer in ["known only", "none found", "not run"] {
        if count(answer) > 0 {
            text.push_str(&format!(", {} {answer}", count(answer)));
        }
    }
    if !round.unread.is_empty() {
        text.push_str(&format!("; {} more not read", round.unread.len()));
    }
    text
}

fn stale(round: &Round, look: &Look) -> String {
    if round.stale.is_empty() {
        return String::new();
    }
    let count = round.stale.len();
    let heading = format!("{count} of the baseline stale, nothing answers to them any more:");
    let mut text = look.wrapped("  ", "    ", &heading);
    for entry in round.stale.iter().take(STALE_SHOWN) {
        text.push_str(&look.wrapped("    ", "      ", entry));
    }
    if count > STALE_SHOWN {
        text.push_str(&format!("    and {} more\n", count - STALE_SHOWN));
    }
    text
}
