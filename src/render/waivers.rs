//! What became of each waiver, for machines: its terms, how it stands, and the findings it covers.

use super::CAUTION;
use super::book::Book;
use super::json::{FindingOut, QuantityOut, finding, quantity};
use crate::check::Report;
use crate::diagnostic::{Quantity, Status};
use crate::job::{Date, Waiver};
use crate::rules::{WaiverState, WaiverUse};
use serde::Serialize;

/// Counts up when a field changes its meaning or goes away.
const SCHEMA_VERSION: u32 = 1;

#[derive(Serialize)]
struct Document {
    schema_version: u32,
    version: &'static str,
    caution: &'static str,
    /// The day they are judged on; null where nobody gave one.
    judged_on: Option<String>,
    waivers: Vec<WaiverOut>,
}

#[derive(Serialize)]
struct WaiverOut {
    id: String,
    rule: String,
    /// `used`, `unused`, `expired`, `exceeded`, `incomparable` or `no-rule`.
    state: &'static str,
    /// As written, for every unit it may be in; null where none is set.
    bound: Option<BoundOut>,
    reason: String,
    raised_by: String,
    approved_by: String,
    date: Option<String>,
    expires: Option<String>,
    effectivity: String,
    reference: String,
    /// Holes it is for; empty for every place.
    holes: Vec<String>,
    /// Tools it is for; empty for every tool.
    tools: Vec<u32>,
    /// Places it covers.
    places: usize,
    /// Places it would cover had it not expired.
    expired_places: usize,
    /// The worst value beyond its bound.
    worst: Option<QuantityOut>,
    /// Findings it covers, as they stand in the report.
    covers: Vec<FindingOut>,
}

#[derive(Serialize)]
struct BoundOut {
    value: f64,
    unit: String,
}

/// The waivers of a report as one JSON document, used and unused.
#[must_use]
pub fn waivers_json(report: &Report, judged_on: Option<Date>) -> String {
    let book = Book::new(report);
    let document = Document {
        schema_version: SCHEMA_VERSION,
        version: env!("CARGO_PKG_VERSION"),
        caution: CAUTION,
        judged_on: judged_on.map(|day| day.to_string()),
        waivers: report.waivers.iter().map(|(waiver, used)| out(&book, waiver, used)).collect(),
    };
    // Strings, numbers and lists cannot fail to serialise.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

fn out(book: &Book<'_>, waiver: &Waiver, used: &WaiverUse) -> WaiverOut {
    let own = Status::Waived(waiver.id.clone());
    let covered = book.report.findings.iter().filter(|finding| finding.status == own && finding.rule == waiver.rule);
    let worst = used.exceeded.map(|(value, _, unit)| quantity(&Quantity { value, unit }, book.report.units));
    let Waiver { id, rule, holes, tools, bound, bound_unit, .. } = waiver.clone();
    WaiverOut {
        id,
        rule,
        state: WaiverState::of(waiver, used).word(),
        bound: bound.map(|value| BoundOut { value, unit: bound_unit }),
        reason: waiver.reason.clone(),
        raised_by: waiver.raised_by.clone(),
        approved_by: waiver.approved_by.clone(),
        date: waiver.date.map(|day| day.to_string()),
        expires: waiver.expires.map(|day| day.to_string()),
        effectivity: waiver.effectivity.clone(),
        reference: waiver.reference.clone(),
        holes,
        tools,
        places: used.places,
        expired_places: used.expired,
        worst,
        covers: covered.map(|one| finding(book, one)).collect(),
    }
}
