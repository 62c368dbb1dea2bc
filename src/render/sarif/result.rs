//! One finding as one SARIF result: a message that stands alone, places, waiver, fixes.

use super::super::book::Book;
use super::super::finding::{extent, limit, names, place as place_line, spot};
use super::super::json;
use super::super::names::compressed;
use super::model::{
    ArtifactChange, Fix, Location, LogicalLocation, Message, PhysicalLocation, Properties, Replacement, SarifResult,
    Suppression,
};
use super::place::{Texts, uri};
use super::{level, rule_index};
use crate::diagnostic::{Finding, Place, Status};
use crate::job::Waiver;
use crate::patch::Patch;
use crate::source::{SourceId, Span};
use serde_json::json;
use std::collections::BTreeMap;

/// Locations of one result, and features of one location; what is beyond is counted. Common hosts show no more.
const MOST: usize = 100;

/// The result of a finding, with the patch that cures it alone.
pub(super) fn result(texts: &Texts<'_>, finding: &Finding, fingerprint: String, patch: Option<&Patch>) -> SarifResult {
    let spots = spots(finding);
    let shown = spots.iter().take(MOST).map(|places| location(texts, places));
    let job = texts.book.report.job_name.as_ref().filter(|_| finding.job_entry.is_some() && spots.is_empty());
    SarifResult {
        rule_id: finding.rule,
        rule_index: rule_index(finding.rule),
        kind: "fail",
        level: level(finding.severity),
        message: Message::plain(message(texts.book, finding)),
        locations: shown.chain(job.map(|job| job_location(job, finding))).collect(),
        related_locations: finding.related.iter().take(MOST).map(|one| related(texts, one)).collect(),
        partial_fingerprints: BTreeMap::from([("ruleToolFeature/v1", fingerprint)]),
        suppressions: suppression(texts.book, finding).into_iter().collect(),
        fixes: patch.map(|patch| fix(texts, patch)).into_iter().collect(),
        properties: properties(texts.book, finding, spots.len()),
    }
}

/// What was found, where, why, the limit and what to do, as sentences.
fn message(book: &Book<'_>, finding: &Finding) -> String {
    let mut sentences = vec![capital(&finding.message) + &extent(finding)];
    sentences.extend(finding.places.first().map(|first| capital(&place_line(book, first))));
    sentences.extend(finding.job_entry.as_ref().filter(|_| finding.places.is_empty()).map(|entry| capital(entry)));
    sentences.extend(names(book, finding).map(|names| format!("Holes {names}")));
    sentences.extend(finding.why.iter().map(|line| capital(line)));
    sentences.extend(limit(book, finding).map(|limit| format!("Limit {limit}")));
    sentences.extend(finding.advice.as_ref().map(|advice| format!("To do: {advice}")));
    sentences.join(". ") + "."
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Places at the same words together, in the order of the finding.
fn spots(finding: &Finding) -> Vec<Vec<&Place>> {
    let mut order: Vec<Vec<&Place>> = Vec::new();
    let mut known: BTreeMap<(SourceId, Span), usize> = BTreeMap::new();
    for place in &finding.places {
        let index = *known.entry((place.source, place.span)).or_insert(order.len());
        match order.get_mut(index) {
            Some(spot) => spot.push(place),
            None => order.push(vec![place]),
        }
    }
    order
}

fn location(texts: &Texts<'_>, places: &[&Place]) -> Location {
    let Some(first) = places.first() else { return job_location_at("", String::new()) };
    let book = texts.book;
    let tool = first.tool.filter(|tool| *tool != 0);
    let holes: Vec<String> = places.iter().filter_map(|place| place.hole).map(|hole| book.hole(hole)).collect();
    let mut words = spot(book, first.source, first.span);
    words.extend(tool.map(|tool| book.tool(tool)));
    match holes.as_slice() {
        [] => {}
        [one] => words.push(format!("hole {one}")),
        several => words.push(format!("holes {}", compressed(several))),
    }
    let prefix = tool.map(|tool| format!("T{tool}/")).unwrap_or_default();
    let feature = |name: &String| LogicalLocation {
        name: name.clone(),
        fully_qualified_name: format!("{prefix}{name}"),
        kind: "hole",
    };
    Location {
        physical_location: texts.location(first.source, first.span),
        logical_locations: holes.iter().take(MOST).map(feature).collect(),
        message: Some(Message::plain(words.join(", "))),
    }
}

fn related(texts: &Texts<'_>, related: &crate::diagnostic::Related) -> Location {
    Location {
        physical_location: texts.location(related.source, related.span),
        logical_locations: Vec::new(),
        message: Some(Message::plain(related.message.as_str())),
    }
}

/// The job file, for a finding about one of its entries.
fn job_location(job: &str, finding: &Finding) -> Location {
    job_location_at(job, finding.job_entry.clone().unwrap_or_default())
}

fn job_location_at(file: &str, message: String) -> Location {
    let place = PhysicalLocation { artifact_location: uri(file), region: None, context_region: None };
    Location { physical_location: place, logical_locations: Vec::new(), message: Some(Message::plain(message)) }
}

/// The waiver of a waived finding. The standard knows no last day, so it stands with our own properties.
fn suppression(book: &Book<'_>, finding: &Finding) -> Option<Suppression> {
    let id = match &finding.status {
        Status::Open => return None,
        Status::Known => {
            let justification = "known in the baseline".to_owned();
            return Some(Suppression {
                kind: "external",
                status: "accepted",
                justification,
                properties: Properties::default(),
            });
        }
        Status::Waived(id) => id,
    };
    let waiver = book.report.waivers.iter().map(|(waiver, _)| waiver).find(|waiver| waiver.id == *id);
    let justification = match waiver {
        Some(waiver) => format!("{id}: {}", waiver.reason),
        None => id.clone(),
    };
    let properties = waiver.map(terms).unwrap_or_default();
    Some(Suppression { kind: "external", status: "accepted", justification, properties })
}

/// The terms of a waiver that are given.
fn terms(waiver: &Waiver) -> Properties {
    let day = |day: Option<crate::job::Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let bound = waiver.bound.map(|bound| format!("{bound} {}", waiver.bound_unit).trim_end().to_owned());
    let given = [
        ("waiver", waiver.id.clone()),
        ("raisedBy", waiver.raised_by.clone()),
        ("approvedBy", waiver.approved_by.clone()),
        ("date", day(waiver.date)),
        ("expires", day(waiver.expires)),
        ("bound", bound.unwrap_or_default()),
        ("effectivity", waiver.effectivity.clone()),
        ("reference", waiver.reference.clone()),
    ];
    let given = given.into_iter().filter(|(_, value)| !value.is_empty());
    given.map(|(name, value)| (name.to_owned(), value.into())).collect()
}

fn fix(texts: &Texts<'_>, patch: &Patch) -> Fix {
    let description = "Proposed change, applied to a copy, read again and checked again: it cures this finding, nothing \
        new comes up, and every hole it does not aim at is made as before. Prove it out as any change of the program.";
    let changes = patch.edits().map(|(source, edits)| ArtifactChange {
        artifact_location: uri(texts.book.name(source)),
        replacements: edits
            .iter()
            .map(|edit| Replacement {
                deleted_region: texts.region(source, edit.span),
                inserted_content: Message::plain(texts.read(source, &edit.text)),
            })
            .collect(),
    });
    Fix { description: Message::plain(description), artifact_changes: changes.collect() }
}

/// What machines need not read from the message.
fn properties(book: &Book<'_>, finding: &Finding, spots: usize) -> Properties {
    let units = book.report.units;
    let measured = finding.measured.as_ref().map(|measured| json!(json::quantity(measured, units)));
    let limit = finding.limit.as_ref().map(|bound| json!(json::limit(bound, units)));
    let unlisted = spots.saturating_sub(MOST) as u64 + finding.more_places;
    let given = [
        ("places", Some(json!(finding.places.len() as u64 + finding.more_places))),
        ("locationsNotListed", (unlisted > 0).then(|| json!(unlisted))),
        ("measured", measured),
        ("limit", limit),
    ];
    given.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?))).collect()
}
