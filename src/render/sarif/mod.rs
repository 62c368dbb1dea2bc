//! The report as SARIF 2.1.0 (OASIS Standard), for hosts and viewers of analysis results: one run for all programs, all
//! rules with their manuals, and whatever was not checked as a notification of the run.

mod model;
mod place;
mod result;

use super::CAUTION;
use super::book::Book;
use super::feature::fingerprint;
use super::look::Look;
use super::rules::rule_page;
use super::verdict::Verdict;
use crate::check::Report;
use crate::diagnostic::{NotChecked, Severity};
use crate::patch::Patch;
use crate::rules::{self, Entry};
use crate::source::{Source, sha256};
use model::{
    Artifact, Configuration, Descriptor, Driver, Invocation, Location, Log, Message, Notification, PhysicalLocation,
    Properties, Reference, Run, SarifResult, Tool,
};
use place::{Texts, encoding, uri};
use serde_json::json;
use std::collections::BTreeMap;

/// Where the standard keeps the schema of its files.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// Kinds of notification, with their summaries.
const NOTIFICATIONS: [(&str, &str); 3] = [
    ("not-checked", "A check had no data to conclude on"),
    ("not-understood", "A block was not understood or a hole could not be judged"),
    ("not-read", "A program could not be read"),
];

/// The part of one program.
#[derive(Debug)]
pub(super) struct Part {
    artifacts: Vec<Artifact>,
    results: Vec<SarifResult>,
    notifications: Vec<Notification>,
}

/// The part of a report; `fixes` are patches that each cure one finding, by its index.
pub(super) fn part(report: &Report, fixes: &[(usize, Patch)]) -> Part {
    let book = Book::new(report);
    let texts = Texts::new(&book);
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let results = report.findings.iter().enumerate().map(|(index, finding)| {
        let key = fingerprint(&book, finding);
        let count = seen.entry(key.clone()).and_modify(|count| *count += 1).or_insert(1);
        let patch = fixes.iter().find(|(cured, _)| *cured == index).map(|(_, patch)| patch);
        result::result(&texts, finding, format!("{key}:{count}"), patch)
    });
    Part {
        results: results.collect(),
        artifacts: report.sources.iter().map(artifact).collect(),
        notifications: notifications(report),
    }
}

/// The document of a run. `unread` says why programs could not be read, a sentence each.
pub(super) fn text(parts: Vec<Part>, verdict: Verdict, fail_on: Severity, unread: &[String]) -> String {
    let (mut artifacts, mut results): (Vec<Artifact>, Vec<SarifResult>) = Default::default();
    let mut notifications: Vec<Notification> = unread.iter().map(|why| not_read(why)).collect();
    for part in parts {
        // A subprogram file of two programs is one artifact (3.14.15).
        for artifact in part.artifacts {
            if !artifacts.iter().any(|known| known.location == artifact.location) {
                artifacts.push(artifact);
            }
        }
        results.extend(part.results);
        notifications.extend(part.notifications);
    }
    let exit_code = if unread.is_empty() { verdict.exit() } else { 2 };
    let run = Run {
        tool: Tool { driver: driver() },
        invocations: [Invocation {
            execution_successful: unread.is_empty(),
            exit_code,
            exit_code_description: meaning(exit_code),
            tool_execution_notifications: notifications,
        }],
        artifacts,
        results,
        newline_sequences: ["\r\n", "\n", "\r"],
        column_kind: "unicodeCodePoints",
        properties: named([
            ("caution", json!(CAUTION)),
            ("failed", json!(verdict.failed)),
            ("inconclusive", json!(verdict.inconclusive || !unread.is_empty())),
            ("failOn", json!(fail_on.word())),
        ]),
    };
    let log = Log { schema: SCHEMA, version: "2.1.0", runs: [run] };
    // Strings, numbers, lists and maps with string keys cannot fail to serialise.
    serde_json::to_string_pretty(&log).unwrap_or_default() + "\n"
}

fn meaning(exit_code: u8) -> &'static str {
    match exit_code {
        0 => "clean",
        1 => "findings at or above the severity asked for",
        2 => "a program could not be read",
        _ => "something needed could not be concluded",
    }
}

fn named<const N: usize>(entries: [(&str, serde_json::Value); N]) -> Properties {
    entries.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

/// The word of the standard for a severity (3.27.10); it has the same three.
fn level(severity: Severity) -> &'static str {
    severity.word()
}

fn rule_index(name: &str) -> Option<usize> {
    rules::ALL.iter().position(|entry| entry.rule.name == name)
}

fn driver() -> Driver {
    let notification = |(id, summary): (&'static str, &'static str)| Descriptor {
        id,
        short_description: Message::plain(summary),
        default_configuration: Configuration { level: "warning" },
        help: None,
    };
    Driver {
        name: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        semantic_version: env!("CARGO_PKG_VERSION"),
        short_description: Message::plain(env!("CARGO_PKG_DESCRIPTION")),
        rules: rules::ALL.iter().map(rule).collect(),
        notifications: NOTIFICATIONS.into_iter().map(notification).collect(),
    }
}

fn rule(entry: &Entry) -> Descriptor {
    let plain = rule_page(entry, &Look::default());
    Descriptor {
        id: entry.rule.name,
        short_description: Message::plain(entry.rule.summary),
        default_configuration: Configuration { level: level(entry.rule.severity) },
        help: Some(Message { text: plain, markdown: Some(entry.manual().text) }),
    }
}

fn artifact(source: &Source) -> Artifact {
    Artifact {
        location: uri(&source.name),
        length: source.bytes.len(),
        roles: ["analysisTarget"],
        encoding: encoding(source),
        hashes: BTreeMap::from([("sha-256", sha256(&source.bytes))]),
    }
}

/// What the answers on one program lack.
fn notifications(report: &Report) -> Vec<Notification> {
    let mut all: Vec<Notification> = report.not_checked.iter().map(|missing| not_checked(report, missing)).collect();
    let coverage = &report.coverage;
    if coverage.understood < coverage.blocks || coverage.judged < coverage.holes {
        let text = super::coverage(report);
        all.push(notification("not-understood", "warning", text, of_program(report), None, Properties::new()));
    }
    all
}

fn not_checked(report: &Report, missing: &NotChecked) -> Notification {
    let NotChecked { rule, why, key, needed } = missing;
    let supply = key.as_ref().map(|key| format!("; `{key}` in the job file would supply it")).unwrap_or_default();
    let text = format!("`{rule}` was not checked: {why}{supply}.");
    let mut properties = named([("needed", json!(needed))]);
    properties.extend(key.as_ref().map(|key| ("key".to_owned(), json!(key))));
    let level = if *needed { "warning" } else { "note" };
    let about = rule_index(rule).map(|index| Reference { id: rule.clone(), index });
    notification("not-checked", level, text, of_program(report), about, properties)
}

fn not_read(why: &str) -> Notification {
    notification("not-read", "error", why.to_owned(), Vec::new(), None, Properties::new())
}

fn notification(
    kind: &str,
    level: &'static str,
    text: String,
    locations: Vec<Location>,
    associated_rule: Option<Reference>,
    properties: Properties,
) -> Notification {
    let index = NOTIFICATIONS.iter().position(|(id, _)| *id == kind).unwrap_or(0);
    let descriptor = Reference { id: kind.to_owned(), index };
    Notification { descriptor, level, message: Message::plain(text), locations, associated_rule, properties }
}

/// The main program as a whole.
fn of_program(report: &Report) -> Vec<Location> {
    let place = |source: &Source| Location {
        physical_location: PhysicalLocation {
            artifact_location: uri(&source.name),
            region: None,
            context_region: None,
        },
        logical_locations: Vec::new(),
        message: None,
    };
    report.sources.first().map(place).into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;

    #[test]
    fn results_and_notifications_of_a_report() {
        let report = sample::report();
        let verdict = Verdict::of(&report, Severity::Error);
        let text = text(vec![part(&report, &[])], verdict, Severity::Error, &[]);
        let mut log: serde_json::Value = serde_json::from_str(&text).unwrap();
        let run = &mut log["runs"][0];
        assert_eq!(run["tool"]["driver"]["rules"].as_array().unwrap().len(), rules::ALL.len());
        run["tool"] = "told apart".into();
        // A new rule moves the places of others in the list.
        let text = serde_json::to_string(&run).unwrap();
        assert!(text.contains(&format!("\"ruleIndex\":{}", rule_index("exit-feed-high").unwrap())));
        for result in run["results"].as_array_mut().unwrap() {
            result["ruleIndex"] = "of the list".into();
        }
        for told in run["invocations"][0]["toolExecutionNotifications"].as_array_mut().unwrap() {
            told["associatedRule"]["index"] = "of the list".into();
        }
        insta::assert_snapshot!(serde_json::to_string_pretty(&log).unwrap());
    }
}
