//! Turns drafts into findings: aims become spans, places are put in order, severities follow the job.

use super::context::Aim;
use super::ledger::{Draft, Ledger, Subject};
use crate::diagnostic::{Finding, Place, Related, Status};
use crate::job::{Job, Policy};
use crate::operation::{HoleWord, Survey, hole_word_span};
use crate::source::{Source, SourceId, Span};
use crate::syntax::word_span;

/// What aims are resolved against.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// All sources of the run.
    pub sources: &'a [Source],
    /// Holes and recipes.
    pub survey: &'a Survey,
    /// The job, for severities.
    pub job: Option<&'a Job>,
}

/// Findings of a ledger, gravest first, then by rule order and first place.
#[must_use]
pub fn findings(ledger: &Ledger, ground: Ground<'_>) -> Vec<Finding> {
    let mut findings: Vec<Finding> = ledger.drafts.iter().map(|draft| finding(draft, ground)).collect();
    findings.sort_by_key(|finding| {
        let first = finding.places.first().map(|place| (place.source, place.span));
        (std::cmp::Reverse(finding.severity), first)
    });
    findings
}

fn finding(draft: &Draft, ground: Ground<'_>) -> Finding {
    let report = draft.report.clone();
    let policy = ground.job.and_then(|job| job.policy(draft.rule.name));
    let severity = match policy {
        Some(Policy::Report(severity)) => severity,
        Some(Policy::Allow) | None => report.severity.unwrap_or(draft.rule.severity),
    };
    let mut places: Vec<Place> =
        draft.places.iter().filter_map(|(aim, subject)| place(*aim, *subject, ground)).collect();
    places.dedup();
    let related = report.related.into_iter().filter_map(|(aim, message)| {
        let (source, span) = span_of(aim, None, ground)?;
        Some(Related { source, span, message })
    });
    Finding {
        rule: draft.rule.name,
        severity,
        status: Status::Open,
        message: report.message,
        why: report.why,
        advice: report.advice,
        measured: report.measured,
        limit: report.limit,
        job_entry: report.job_entry,
        places,
        more_places: draft.more,
        related: related.collect(),
        remedy: report.remedy,
    }
}

fn place(aim: Aim, subject: Subject, ground: Ground<'_>) -> Option<Place> {
    let hole = match aim {
        Aim::HoleAt { index, .. } => Some(index),
        Aim::Hole { .. }
        | Aim::Block(_)
        | Aim::Word(..)
        | Aim::At { .. }
        | Aim::Beside { .. }
        | Aim::JobFile
        | Aim::Exact { .. } => subject.hole,
    };
    let (source, span) = span_of(aim, hole, ground)?;
    let tool = subject.tool.or_else(|| {
        let hole = ground.survey.holes.get(hole? as usize)?;
        Some(ground.survey.recipe_of(hole)?.tool).filter(|tool| *tool != 0)
    });
    Some(Place { source, span, tool, hole })
}

fn span_of(aim: Aim, hole: Option<u32>, ground: Ground<'_>) -> Option<(SourceId, Span)> {
    Some(match aim {
        Aim::JobFile => return None,
        Aim::Hole { word, stroke } => hole_span(hole, word, Some(stroke), ground),
        Aim::HoleAt { index, word } => hole_span(Some(index), word, None, ground),
        Aim::Block(block) => (block.source, block.span),
        Aim::Word(block, letter) => {
            let bytes = bytes(block.source, ground);
            (block.source, word_span(bytes, block.span, letter).unwrap_or(block.span))
        }
        Aim::At { source, at } => (SourceId(source), word_from(SourceId(source), at, None, ground)),
        Aim::Beside { source, at, letter } => (SourceId(source), word_from(SourceId(source), at, Some(letter), ground)),
        Aim::Exact { source, span } => (source, span),
    })
}

/// The word at a byte offset, or the first with `letter` from there on in its line.
fn word_from(source: SourceId, at: u32, letter: Option<u8>, ground: Ground<'_>) -> Span {
    let bytes = bytes(source, ground);
    let rest = Span::new(at, u32::try_from(bytes.len()).unwrap_or(u32::MAX));
    let own = bytes.get(at as usize).map_or(0, u8::to_ascii_uppercase);
    let beside = letter.and_then(|letter| word_span(bytes, rest, letter));
    beside.or_else(|| word_span(bytes, rest, own)).unwrap_or(Span::new(at, at))
}

fn hole_span(index: Option<u32>, word: HoleWord, stroke: Option<usize>, ground: Ground<'_>) -> (SourceId, Span) {
    let Some(hole) = index.and_then(|index| ground.survey.holes.get(index as usize)) else {
        return (SourceId(0), Span::default());
    };
    let Some(recipe) = ground.survey.recipe_of(hole) else { return (hole.source, Span::default()) };
    // A depth of no stroke in particular is that of the deepest.
    let deepest = || recipe.strokes.iter().position(|stroke| stroke.to <= recipe.bottom).unwrap_or(0);
    let stroke = stroke.unwrap_or_else(|| if word == HoleWord::Depth { deepest() } else { 0 });
    (hole.source, hole_word_span(bytes(hole.source, ground), hole, recipe, stroke, word))
}

fn bytes<'a>(source: SourceId, ground: Ground<'a>) -> &'a [u8] {
    ground.sources.get(source.0 as usize).map(|source| source.bytes.as_slice()).unwrap_or_default()
}
