//! Findings as an editor lists them: one entry a cause, its further places beside it, and never more than it can bear.

use super::desk::{Desk, file_name};
use super::study::{Fault, Judged, Study};
use super::text::Text;
use crate::diagnostic::{Finding, NotChecked, Severity, Status};
use crate::job::JobError;
use crate::source::{SourceId, Span};
use crate::units::{counted, grouped};
use lsp_types::{Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Most entries for one program; an editor grows slow on thousands. House value.
const MOST: usize = 200;
/// Most further places of one finding; the message counts the rest. House value.
const MOST_PLACES: usize = 25;
/// Who speaks, as the editor shows it beside each entry.
const SPEAKER: &str = "lastply";

/// Entries by file.
pub type Entries = BTreeMap<PathBuf, Vec<Diagnostic>>;

/// Everything to say of a program, in the files it stands in.
pub fn of_study(study: &Study, desk: &Desk<'_>) -> Entries {
    match &study.outcome {
        Ok(judged) => of_judged(study, judged, desk),
        Err(fault) => of_fault(study, fault, desk),
    }
}

/// Everything wrong with a job file, in the files it stands in.
pub fn of_job(faults: &[(PathBuf, JobError)], desk: &Desk<'_>) -> Entries {
    let mut entries = Entries::new();
    for (path, fault) in faults.iter().take(MOST) {
        let text = Text::new(fault.file.bytes.clone());
        let help = fault.help.as_ref().map(|help| format!("\ndo: {help}")).unwrap_or_default();
        let said = entry(DiagnosticSeverity::ERROR, "job-file", format!("{}{help}", fault.message));
        let said = Diagnostic { range: text.range(fault.span, desk.columns), ..said };
        entries.entry(path.clone()).or_default().push(said);
    }
    entries
}

/// What the program hears of a job file that cannot be used, beside the mistakes in the job file itself.
fn of_fault(study: &Study, fault: &Fault, desk: &Desk<'_>) -> Entries {
    let job = study.job_path.as_deref().map(file_name).unwrap_or_default();
    let (message, mut entries, first) = match fault {
        Fault::Unreadable(why) => (format!("nothing was checked: `{job}` cannot be read: {why}"), Entries::new(), None),
        Fault::Dialect(why) => (format!("nothing was checked: {why}"), Entries::new(), None),
        Fault::Job(faults) => {
            let count = counted(faults.len() as u64, "fault");
            let message =
                format!("nothing was checked: `{job}` has {count} to put right before anything can be judged");
            (message, of_job(faults, desk), faults.first())
        }
    };
    let see = first.and_then(|(path, fault)| {
        let range = Text::new(fault.file.bytes.clone()).range(fault.span, desk.columns);
        let location = Location { uri: desk.uri(path)?, range };
        Some(vec![DiagnosticRelatedInformation { location, message: fault.message.clone() }])
    });
    let said = Diagnostic { related_information: see, ..entry(DiagnosticSeverity::ERROR, "not-checked", message) };
    let text = desk.document(&study.path).map(|document| &document.text);
    entries.entry(study.path.clone()).or_default().push(at_top(said, text, desk));
    entries
}

fn of_judged(study: &Study, judged: &Judged, desk: &Desk<'_>) -> Entries {
    let mut entries = Entries::from([(study.path.clone(), Vec::new())]);
    let top = |said| at_top(said, judged.texts.first(), desk);
    let open: Vec<&Finding> = judged.report.findings.iter().filter(|finding| finding.status == Status::Open).collect();
    for finding in open.iter().take(MOST) {
        let (path, said) = of_finding(study, judged, finding, desk);
        entries.entry(path).or_default().push(said);
    }
    let own = entries.entry(study.path.clone()).or_default();
    if let Some(rest) = open.len().checked_sub(MOST).filter(|rest| *rest > 0) {
        let message = format!("and {} more findings; `lastply check` lists all", grouped(rest as u64));
        own.push(top(entry(DiagnosticSeverity::WARNING, "more", message)));
    }
    own.extend(not_checked(judged).into_iter().map(top));
    if study.job_path.is_none() {
        let message = "no job file, so no hole was judged; `lastply start` drafts one".to_owned();
        own.push(top(entry(DiagnosticSeverity::INFORMATION, "not-checked", message)));
    }
    entries
}

/// One finding at its first place, and the file that is in. A finding about the job file stands at the top.
pub fn of_finding(study: &Study, judged: &Judged, finding: &Finding, desk: &Desk<'_>) -> (PathBuf, Diagnostic) {
    let severity = match finding.severity {
        Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warning => DiagnosticSeverity::WARNING,
        Severity::Note => DiagnosticSeverity::INFORMATION,
    };
    let said = entry(severity, finding.rule, message(judged, finding));
    let Some(first) = finding.places.first() else {
        return (study.path.clone(), at_top(said, judged.texts.first(), desk));
    };
    let further = further(finding).into_iter().take(MOST_PLACES);
    let places = further
        .map(|(source, span, hole)| (source, span, hole.map_or("here too".to_owned(), |hole| judged.hole(hole))));
    let explained = finding.related.iter().map(|related| (related.source, related.span, related.message.clone()));
    let related = explained.chain(places).filter_map(|(source, span, message)| {
        Some(DiagnosticRelatedInformation { location: study.location(source, span, desk)?, message })
    });
    let related: Vec<_> = related.collect();
    let text = judged.texts.get(usize::from(first.source.0));
    let range = text.map(|text| text.range(within_line(text, first.span), desk.columns)).unwrap_or_default();
    let related_information = Some(related).filter(|related| !related.is_empty());
    (study.path_of(first.source), Diagnostic { range, related_information, ..said })
}

impl Judged {
    /// A hole as a finding names it.
    pub fn hole(&self, hole: u32) -> String {
        format!("hole {}", crate::render::Book::new(&self.report).hole(hole))
    }
}

/// A span no longer than the line it begins on: a mark over many lines hides more than it shows.
fn within_line(text: &Text, span: Span) -> Span {
    let line = text.line_at(span.start);
    Span::new(span.start, span.end.min(line.end).max(span.start))
}

/// Places of a finding but the first, each word once.
fn further(finding: &Finding) -> Vec<(SourceId, Span, Option<u32>)> {
    let mut seen: BTreeSet<(SourceId, Span)> =
        finding.places.iter().take(1).map(|place| (place.source, place.span)).collect();
    let others = finding.places.iter().filter(|place| seen.insert((place.source, place.span)));
    others.map(|place| (place.source, place.span, place.hole)).collect()
}

/// Message, arithmetic, limit and advice, for an editor shows them as one text.
fn message(judged: &Judged, finding: &Finding) -> String {
    let holes: BTreeSet<u32> = finding.places.iter().filter_map(|place| place.hole).collect();
    let mut text = finding.message.clone();
    let holes = holes.len() as u64 + if holes.is_empty() { 0 } else { finding.more_places };
    let places = finding.places.len() as u64 + finding.more_places;
    match (holes, places) {
        (2.., _) => text.push_str(&format!(" ({})", counted(holes, "hole"))),
        (0, 2..) => text.push_str(&format!(" ({})", counted(places, "place"))),
        _ => {}
    }
    for line in &finding.why {
        text.push_str(&format!("\n{line}"));
    }
    if let Some(bound) = &finding.limit {
        let worded = judged.report.units.worded(bound.quantity.value, bound.quantity.unit);
        text.push_str(&format!("\nlimit {worded}; from {}", bound.origin));
    }
    if let Some(advice) = &finding.advice {
        text.push_str(&format!("\ndo: {advice}"));
    }
    text
}

/// What lacked data: one entry for each key of the job file that would supply it.
fn not_checked(judged: &Judged) -> Vec<Diagnostic> {
    let mut missing: BTreeMap<(bool, Option<&str>, &str), Vec<&str>> = BTreeMap::new();
    for NotChecked { rule, why, key, needed } in &judged.report.not_checked {
        missing.entry((!needed, key.as_deref(), why)).or_default().push(rule);
    }
    let told = missing.into_iter().take(MOST_PLACES).map(|((spare, key, why), rules)| {
        let key = key.map(|key| format!("; give `{key}` in the job file")).unwrap_or_default();
        let severity = if spare { DiagnosticSeverity::HINT } else { DiagnosticSeverity::WARNING };
        entry(severity, "not-checked", format!("not checked: {}: {why}{key}", rules.join(", ")))
    });
    told.collect()
}

/// Puts an entry on the first line that says something: it is about the whole program and must not mark all of it.
fn at_top(said: Diagnostic, text: Option<&Text>, desk: &Desk<'_>) -> Diagnostic {
    let range = text.map(|text| {
        let first = text.bytes.iter().position(|byte| byte.is_ascii_graphic()).unwrap_or(0);
        text.range(text.line_at(u32::try_from(first).unwrap_or(0)), desk.columns)
    });
    Diagnostic { range: range.unwrap_or_default(), ..said }
}

fn entry(severity: DiagnosticSeverity, code: &str, message: String) -> Diagnostic {
    Diagnostic {
        severity: Some(severity),
        code: Some(NumberOrString::String(code.to_owned())),
        source: Some(SPEAKER.to_owned()),
        message,
        ..Diagnostic::default()
    }
}

/// Whether a file has nothing to say of itself because another open program runs it: judged alone it would lack all that
/// its caller sets.
pub fn is_part_of_another(path: &Path, studies: &BTreeMap<PathBuf, Study>) -> bool {
    let runs = |study: &Study, other: &Path| study.source_of(other).is_some_and(|id| id != SourceId::default());
    let own = studies.get(path);
    studies
        .values()
        .any(|study| study.path != path && runs(study, path) && !own.is_some_and(|own| runs(own, &study.path)))
}
