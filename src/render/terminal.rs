//! The report for people: findings, what was not checked, what the answers rest on, and what they are good for.

use super::book::Book;
use super::finding;
use super::look::Look;
use super::verdict::{Tally, Verdict};
use super::{CAUTION, counted};
use crate::check::Report;
use crate::diagnostic::{NotChecked, Severity, Status};
use crate::job::Policy;
use std::collections::{BTreeMap, BTreeSet};

/// Checks named in one line at most.
const MOST_NAMED: usize = 10;

/// One program's report.
pub(super) fn report(report: &Report, fail_on: Severity, look: &Look) -> String {
    let book = Book::new(report);
    let mut text = String::new();
    // Those of the baseline are counted below; the formats for machines list them.
    for found in report.findings.iter().filter(|found| found.status != Status::Known) {
        text.push_str(&finding::finding(&book, found, look));
    }
    text.push_str(&not_checked(report, look));
    text.push_str(&rulings(report, look));
    text.push_str(&super::answers::section(&book, look));
    text.push_str(&look.wrapped("", "  ", &heading(report)));
    text.push_str(&look.wrapped("  ", "  ", &conclusion(report, fail_on)));
    text.push_str(&look.wrapped("  ", "  ", &coverage(report)));
    text.push_str(&look.wrapped("  ", "  ", CAUTION));
    text.push('\n');
    text
}

/// What was judged against what.
fn heading(report: &Report) -> String {
    let program = report.sources.first().map_or("", |source| source.name.as_str());
    let by = match &report.job_name {
        Some(job) => format!("{program}, judged by {job}"),
        None => format!("{program}, judged without a job file"),
    };
    if report.only.is_empty() { by } else { format!("{by}, for {} alone", report.only.join(", ")) }
}

/// Counts and the answer they give.
pub(super) fn conclusion(report: &Report, fail_on: Severity) -> String {
    let tally = Tally::of(report);
    let verdict = Verdict::of(report, fail_on);
    let mut text = match (tally.at_least(Severity::Note), verdict.inconclusive) {
        (0, false) if !report.only.is_empty() => {
            "nothing found by what was asked for; the rest is not shown".to_owned()
        }
        (0, false) if tally.waived + tally.known > 0 => format!("nothing stands open: {}", ran(report)),
        (0, false) => format!("clean: {}, and none found anything", ran(report)),
        (0, true) => "not concluded: nothing found, but not everything could be checked".to_owned(),
        (_, inconclusive) => {
            let counts = [(tally.errors, "error"), (tally.warnings, "warning"), (tally.notes, "note")];
            let counts = counts.map(|(count, noun)| counted(count, noun)).join(", ");
            format!("{counts}{}", if inconclusive { "; not everything could be checked" } else { "" })
        }
    };
    if tally.waived > 0 {
        text.push_str(&format!("; {} waived by {}", tally.waived, waivers(report)));
    }
    if tally.known > 0 {
        text.push_str(&format!("; {} known in the baseline", tally.known));
    }
    text
}

/// Which checks an answer rests on.
fn ran(report: &Report) -> &'static str {
    match (!report.switched_off().is_empty(), report.not_checked.is_empty()) {
        (false, true) => "every check ran",
        (false, false) => "every check the job states a limit for ran",
        (true, true) => "every check the job leaves on ran",
        (true, false) => "every check the job leaves on and states a limit for ran",
    }
}

/// Rules that the job file switches off or grades anew.
fn rulings(report: &Report, look: &Look) -> String {
    let named = |wanted: Option<Severity>| {
        let policy = wanted.map_or(Policy::Allow, Policy::Report);
        let rules = report.rulings.iter().filter(|(_, said)| *said == policy).map(|(rule, _)| *rule);
        rules.collect::<Vec<_>>().join(", ")
    };
    let mut text = String::new();
    for (wanted, words) in [
        (None, "switched off by the job file"),
        (Some(Severity::Error), "told as errors by the job file"),
        (Some(Severity::Warning), "told as warnings by the job file"),
        (Some(Severity::Note), "told as notes by the job file"),
    ] {
        let rules = named(wanted);
        if !rules.is_empty() {
            text.push_str(&look.wrapped("  - ", "    ", &format!("{words}: {rules}")));
        }
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn waivers(report: &Report) -> String {
    let ids: BTreeSet<&str> = report
        .findings
        .iter()
        .filter_map(|finding| match &finding.status {
            Status::Waived(id) => Some(id.as_str()),
            Status::Open | Status::Known => None,
        })
        .collect();
    ids.into_iter().collect::<Vec<_>>().join(", ")
}

/// How much of the program the answers rest on, and which checks had no part in them.
fn coverage(report: &Report) -> String {
    let see = if report.not_checked.is_empty() { "" } else { ", see above" };
    format!("{}; {}{see}", super::coverage(report), super::checks(report))
}

/// Checks without data: those the run is incomplete without, then those whose limit a specification need not state.
/// Where there is no job file, all of them wait for that.
fn not_checked(report: &Report, look: &Look) -> String {
    if report.job_name.is_none() {
        let all = report.not_checked.iter().map(Waiting::of);
        let all = all.map(|one| Waiting { why: if one.key.is_some() { "" } else { one.why }, ..one });
        return section("? not checked, for want of a job file:", all.collect(), look);
    }
    let waiting = |needed| report.not_checked.iter().filter(move |one| one.needed == needed).map(Waiting::of).collect();
    let mut text = section("? not checked, for want of data:", waiting(true), look);
    text.push_str(&section("- not checked, no limit stated:", waiting(false), look));
    text
}

/// A check with what it waits for.
struct Waiting<'a> {
    rule: &'a str,
    key: Option<&'a str>,
    /// Empty where it only repeats that the key is missing.
    why: &'a str,
}

impl<'a> Waiting<'a> {
    fn of(missing: &'a NotChecked) -> Self {
        let plain = missing.key.as_ref().is_some_and(|key| missing.why == format!("`{key}` is not given"));
        Self { rule: &missing.rule, key: missing.key.as_deref(), why: if plain { "" } else { &missing.why } }
    }
}

/// Those that wait for the same keys together.
fn section(heading: &str, waiting: Vec<Waiting<'_>>, look: &Look) -> String {
    if waiting.is_empty() {
        return String::new();
    }
    let mut rules: BTreeMap<(&str, Option<&str>), BTreeSet<&str>> = BTreeMap::new();
    for Waiting { rule, key, why } in waiting {
        rules.entry((why, key)).or_default().insert(rule);
    }
    // The same key of several tools is one line.
    let mut groups: BTreeMap<(&str, BTreeSet<&str>), Vec<String>> = BTreeMap::new();
    for ((why, key), rules) in rules {
        groups.entry((why, rules)).or_default().extend(key.map(|key| format!("`{key}`")));
    }
    let mut text = look.wrapped("  ", "    ", heading);
    for ((why, rules), keys) in groups {
        let keys = keys.join(", ");
        text.push_str(&match (keys.is_empty(), why) {
            (true, why) => look.led("since", why),
            (false, "") => look.led("give", &format!("{keys} in the job file")),
            (false, why) => look.led("give", &format!("{keys} in the job file: {why}")),
        });
        text.push_str(&look.led("", &format!("for {}", named(&rules))));
    }
    text.push('\n');
    text
}

/// Names of checks; the first of a long list, for the whole of it stands in the JSON report.
fn named(rules: &BTreeSet<&str>) -> String {
    let shown = if rules.len() > MOST_NAMED { MOST_NAMED - 2 } else { rules.len() };
    let mut names = rules.iter().take(shown).copied().collect::<Vec<_>>().join(", ");
    if shown < rules.len() {
        names.push_str(&format!(" and {} more, named by `--format json`", rules.len() - shown));
    }
    names
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn a_whole_report_in_plain_ascii() {
        let text = report(&sample::report(), Severity::Error, &Look::default());
        insta::assert_snapshot!(text);
        assert!(text.is_ascii() && text.lines().all(|line| line.len() <= 80));
    }

    #[test]
    fn a_whole_report_in_a_terminal() {
        let look = Look { width: 100, colour: false, unicode: true };
        insta::assert_snapshot!(report(&sample::report(), Severity::Error, &look));
    }
}
