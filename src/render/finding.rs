//! One finding for people: what, where, why, the limit and its source, what to do.

use super::book::Book;
use super::look::Look;
use super::names::compressed;
use super::source_code::Excerpt;
use super::{counted, grouped};
use crate::diagnostic::{Finding, Place, Quantity, Severity, Status};
use crate::source::{SourceId, Span};
use miette::{Diagnostic, LabeledSpan, SourceCode};
use std::collections::BTreeSet;
use std::fmt;

/// Further places named one by one; more are only counted.
const PLACES_SHOWN: usize = 3;

/// What miette needs to know of a finding: its heading and the program lines to draw.
#[derive(Debug)]
struct Drawn {
    heading: String,
    excerpt: Excerpt,
    labels: Vec<LabeledSpan>,
}

impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.heading)
    }
}

impl std::error::Error for Drawn {}

impl Diagnostic for Drawn {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        (!self.labels.is_empty()).then_some(&self.excerpt as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// The whole of one finding, ending in an empty line.
pub(super) fn finding(book: &Book<'_>, finding: &Finding, look: &Look) -> String {
    let mut text = drawing(book, finding, look);
    if let Some(first) = finding.places.first() {
        text.push_str(&look.led("at", &place(book, first)));
    } else if let Some((job, entry)) = book.report.job_name.as_ref().zip(finding.job_entry.as_ref()) {
        text.push_str(&look.led("at", &format!("{job}, {entry}")));
    }
    for related in &finding.related {
        let spot = spot(book, related.source, related.span).join(", ");
        text.push_str(&look.led("see", &format!("{spot}: {}", related.message)));
    }
    if let Some(names) = names(book, finding) {
        text.push_str(&look.led("holes", &names));
    }
    for (index, line) in finding.why.iter().enumerate() {
        text.push_str(&look.led(if index == 0 { "why" } else { "" }, line));
    }
    if let Some(limit) = limit(book, finding) {
        text.push_str(&look.led("limit", &limit));
    }
    if let Some(terms) = terms(book, finding) {
        text.push_str(&look.led("waiver", &terms));
    }
    if let Some(also) = also(book, finding) {
        text.push_str(&look.led("also", &also));
    }
    if let Some(advice) = &finding.advice {
        text.push_str(&look.led("do", advice));
    }
    text.push('\n');
    text
}

/// Terms of the waiver that covers a finding.
fn terms(book: &Book<'_>, finding: &Finding) -> Option<String> {
    let Status::Waived(id) = &finding.status else { return None };
    let (waiver, _) = book.report.waivers.iter().find(|(waiver, _)| waiver.id == *id)?;
    let holes = compressed(&waiver.holes);
    let tools = waiver.tools.iter().map(|tool| format!("T{tool}")).collect::<Vec<_>>().join(", ");
    let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let terms =
        [
            Some(waiver.bound.map_or("no bound".to_owned(), |bound| {
                format!("to {bound} {}", waiver.bound_unit).trim_end().to_owned()
            })),
            said(&holes),
            said(&tools),
            said(&waiver.effectivity),
            Some(waiver.expires.map_or("no last day".to_owned(), |date| format!("until {date}"))),
            said(&waiver.approved_by).map(|name| format!("approved by {name}")),
            said(&waiver.reference),
        ];
    Some(format!("{id}: {}", terms.into_iter().flatten().collect::<Vec<_>>().join(", ")))
}

/// Heading and program lines.
fn drawing(book: &Book<'_>, finding: &Finding, look: &Look) -> String {
    let mut excerpt = Excerpt::default();
    let room = look.room();
    let mut labels = Vec::new();
    let mut label = |source, span: Span| excerpt.add(book.name(source), book.line(source, span.start), span, room);
    if let Some(first) = finding.places.first() {
        labels.push(LabeledSpan::new_primary_with_span(None, label(first.source, first.span)));
    }
    for related in &finding.related {
        labels.push(LabeledSpan::new_with_span(None, label(related.source, related.span)));
    }
    let heading = format!("{}: {}{}", finding.rule, finding.message, extent(finding));
    let drawn = Drawn { heading, excerpt, labels };
    let mut text = String::new();
    // Writing to a string cannot fail; a label outside its text is drawn as nothing.
    let _ = match finding.status {
        Status::Open => look.handler(mark(finding.severity), look.severity(finding.severity)),
        Status::Waived(_) => look.handler("V waived", look.blue()),
        Status::Known => look.handler("K known", look.blue()),
    }
    .render_report(&mut text, &drawn);
    text
}

/// Letter and word that open the heading of an open finding.
fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "E error",
        Severity::Warning => "W warning",
        Severity::Note => "N note",
    }
}

/// How far the finding reaches and whether a waiver covers it, in brackets after its message.
pub(super) fn extent(finding: &Finding) -> String {
    let more = finding.more_places;
    let holes = holes(finding).len() as u64;
    let mut parts = Vec::new();
    if holes + more > 1 && holes > 0 {
        parts.push(counted(holes + more, "hole"));
    } else if finding.places.len() as u64 + more > 1 && holes == 0 {
        parts.push(counted(finding.places.len() as u64 + more, "place"));
    }
    if let Status::Waived(id) = &finding.status {
        parts.push(format!("{} waived by {id}", finding.severity.word()));
    }
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join(", ")) }
}

fn holes(finding: &Finding) -> BTreeSet<u32> {
    finding.places.iter().filter_map(|place| place.hole).collect()
}

/// Names of the holes, when there is more than the one that `at` names.
pub(super) fn names(book: &Book<'_>, finding: &Finding) -> Option<String> {
    let holes = holes(finding);
    if holes.len() < 2 {
        return None;
    }
    let names: Vec<String> = holes.iter().map(|hole| book.hole(*hole)).collect();
    let more =
        if finding.more_places > 0 { format!(" and {} more", grouped(finding.more_places)) } else { String::new() };
    Some(compressed(&names) + &more)
}

/// Line, column, N number, tool and hole of a place.
pub(super) fn place(book: &Book<'_>, place: &Place) -> String {
    let mut parts = spot(book, place.source, place.span);
    parts.extend(place.tool.filter(|tool| *tool != 0).map(|tool| book.tool(tool)));
    parts.extend(place.hole.map(|hole| format!("hole {}", book.hole(hole))));
    parts.join(", ")
}

/// Line, column and N number, and the file when it is not the main program.
pub(super) fn spot(book: &Book<'_>, source: SourceId, span: Span) -> Vec<String> {
    let position = book.position(source, span.start);
    let mut parts = vec![format!("line {}:{}", position.line, position.column)];
    if source != SourceId::default() {
        parts.push(format!("in {}", book.name(source)));
    }
    parts.extend(book.n_word(source, span.start).map(str::to_owned));
    parts
}

/// The limit with its origin, and what the program has instead. Measured is a word for what a gauge says.
pub(super) fn limit(book: &Book<'_>, finding: &Finding) -> Option<String> {
    let bound = finding.limit.as_ref()?;
    let worded = |quantity: &Quantity| book.report.units.worded(quantity.value, quantity.unit);
    let here = finding.measured.as_ref().map(|here| format!(", here {}", worded(here)));
    Some(format!("{}{}; from {}", worded(&bound.quantity), here.unwrap_or_default(), bound.origin))
}

/// Further places in the text, each word once.
fn also(book: &Book<'_>, finding: &Finding) -> Option<String> {
    let first = finding.places.first()?;
    let mut seen = BTreeSet::from([(first.source, first.span)]);
    let others: Vec<&Place> = finding.places.iter().filter(|place| seen.insert((place.source, place.span))).collect();
    if others.is_empty() {
        return None;
    }
    let mut text = others.iter().take(PLACES_SHOWN).map(|other| place(book, other)).collect::<Vec<_>>().join("; ");
    let rest = others.len().saturating_sub(PLACES_SHOWN) as u64 + finding.more_places;
    if rest > 0 {
        text.push_str(&format!("; and {} more", grouped(rest)));
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::source::Source;
    use std::time::{Duration, Instant};

    #[test]
    fn a_place_outside_the_text_is_drawn_at_its_end() {
        let mut report = sample::report();
        let mut lost = sample::bare("word-incomplete", Severity::Error, "arc without a centre");
        lost.places = vec![Place { source: SourceId(9), span: Span::new(900, 2000), tool: None, hole: Some(77) }];
        report.findings = vec![lost.clone()];
        let text = finding(&Book::new(&report), &lost, &Look::default());
        assert!(text.contains("hole #78"), "{text}");
        lost.places = vec![Place { source: SourceId(0), span: Span::new(9000, 9001), tool: Some(0), hole: None }];
        assert!(finding(&Book::new(&report), &lost, &Look::default()).contains("arc without a centre"));
    }

    #[test]
    fn a_file_of_many_findings_is_not_read_again_for_each() {
        let mut report = sample::report();
        let line = b"N10 G1 X100.000 Y100.000 F500.\n";
        let lines = 300_000;
        report.sources = vec![Source::new("long.nc", line.repeat(lines))];
        let at = |number: usize| Span::new((number * line.len()) as u32, (number * line.len() + 3) as u32);
        let place = |number| Place { source: SourceId(0), span: at(number), tool: None, hole: None };
        let note = sample::bare("feed-implausible", Severity::Note, "feed 500 mm/min");
        let findings = (0..lines).step_by(600).map(|number| Finding { places: vec![place(number)], ..note.clone() });
        let findings: Vec<Finding> = findings.collect();
        let book = Book::new(&report);
        let begin = Instant::now();
        for one in &findings {
            assert!(finding(&book, one, &Look::default()).contains("N10 G1 X100.000"));
        }
        // 500 readings of 9.3 MB from the start take minutes in a debug build; one index and short excerpts do not.
        assert!(begin.elapsed() < Duration::from_secs(8), "{:?}", begin.elapsed());
    }
}
