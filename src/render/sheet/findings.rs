//! Findings, waivers and what was not checked, a line each.

use super::super::book::Book;
use super::super::names::compressed;
use crate::check::Report;
use crate::diagnostic::{Finding, NotChecked, Severity, Status};
use crate::job::{Job, Waiver};
use crate::units::trimmed;
use std::collections::{BTreeMap, BTreeSet};

/// One finding.
pub(super) struct FindingRow {
    pub mark: &'static str,
    pub word: &'static str,
    pub rule: &'static str,
    pub message: String,
    pub place: String,
    pub advice: String,
}

/// Checks that lack the same data.
pub(super) struct MissingRow {
    pub rules: String,
    pub why: String,
    pub key: String,
}

/// One waiver of the job.
pub(super) struct WaiverRow {
    pub id: String,
    pub rule: String,
    pub covers: String,
    pub bound: String,
    pub reason: String,
    pub people: String,
    pub until: String,
}

pub(super) fn rows(book: &Book<'_>) -> Vec<FindingRow> {
    book.report.findings.iter().map(|finding| row(book, finding)).collect()
}

fn row(book: &Book<'_>, finding: &Finding) -> FindingRow {
    let (mark, word) = match (&finding.status, finding.severity) {
        (Status::Waived(_), _) => ("V", "waived"),
        (Status::Known, _) => ("K", "known"),
        (Status::Open, Severity::Error) => ("E", "error"),
        (Status::Open, Severity::Warning) => ("W", "warning"),
        (Status::Open, Severity::Note) => ("N", "note"),
    };
    let waiver = match &finding.status {
        Status::Waived(id) => format!(" (waived by {id})"),
        Status::Open | Status::Known => String::new(),
    };
    FindingRow {
        mark,
        word,
        rule: finding.rule,
        message: finding.message.clone() + &waiver,
        place: place(book, finding),
        advice: finding.advice.clone().unwrap_or_default(),
    }
}

fn place(book: &Book<'_>, finding: &Finding) -> String {
    let Some(first) = finding.places.first() else { return finding.job_entry.clone().unwrap_or_default() };
    let at = (first.source, first.span.start);
    let line = book.position(at.0, at.1).line;
    let block = book.n_word(at.0, at.1).map_or_else(|| format!("line {line}"), str::to_owned);
    let holes: BTreeSet<u32> = finding.places.iter().filter_map(|place| place.hole).collect();
    let names: Vec<String> = holes.into_iter().map(|hole| book.hole(hole)).collect();
    let more = finding.places.len() as u64 - 1 + finding.more_places;
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let holes = if names.is_empty() { String::new() } else { format!(": {}", compressed(&names)) };
    format!("{block}{more}{holes}")
}

/// What the run is incomplete without, then limits that a specification need not state.
pub(super) fn missing(report: &Report) -> (Vec<MissingRow>, Vec<MissingRow>) {
    let (needed, free): (Vec<_>, Vec<_>) = report.not_checked.iter().partition(|one| one.needed);
    (grouped(&needed), grouped(&free))
}

fn grouped(missing: &[&NotChecked]) -> Vec<MissingRow> {
    let mut groups: BTreeMap<(&str, &str), BTreeSet<&str>> = BTreeMap::new();
    for one in missing {
        let key = one.key.as_deref().unwrap_or_default();
        groups.entry((&one.why, key)).or_default().insert(&one.rule);
    }
    let row = |((why, key), rules): ((&str, &str), BTreeSet<&str>)| MissingRow {
        rules: rules.into_iter().collect::<Vec<_>>().join(", "),
        why: why.to_owned(),
        key: key.to_owned(),
    };
    groups.into_iter().map(row).collect()
}

pub(super) fn waivers(job: Option<&Job>) -> Vec<WaiverRow> {
    job.into_iter().flat_map(|job| &job.waivers).map(waiver).collect()
}

fn waiver(waiver: &Waiver) -> WaiverRow {
    let holes = if waiver.holes.is_empty() { "every place".to_owned() } else { compressed(&waiver.holes) };
    let until = waiver.expires.map_or_else(|| "no end given".to_owned(), |day| day.to_string());
    let bound = waiver.bound.map(|bound| format!("{} {}", trimmed(bound, 4), waiver.bound_unit));
    WaiverRow {
        id: waiver.id.clone(),
        rule: waiver.rule.clone(),
        covers: holes,
        bound: bound.unwrap_or_else(|| "no bound".to_owned()),
        reason: waiver.reason.clone(),
        people: format!("{}, {}", waiver.raised_by, waiver.approved_by),
        until: if waiver.effectivity.is_empty() { until } else { format!("{until}, {}", waiver.effectivity) },
    }
}
