//! The operator's sheet: one page of HTML that prints, with everything to set, watch and measure.
//!
//! Each part of the page is a module that turns the report into plain rows of text; the page itself is a template.

mod chart;
mod edges;
mod findings;
mod head;
mod holes;
mod plan;
mod prove;
mod restart;
mod section;
mod tools;

use super::book::Book;
use super::terminal::conclusion;
use super::verdict::{Tally, Verdict};
use super::{CAUTION, answers, checks, counted, coverage};
use crate::check::Report;
use crate::diagnostic::Severity;
use crate::job::Job;
use crate::motion::{BlockRef, UNSTATED};
use crate::operation::Course;
use crate::source::SourceId;
use askama::Template;
use edges::{EdgeRow, SpeedPicture};
use findings::{FindingRow, MissingRow, WaiverRow};
use head::{Fact, Hash};
use holes::{Card, Group};
use prove::{ProveRow, StopRow};
use restart::RestartPart;
use std::collections::BTreeMap;
use tools::ToolRow;

/// Paper a sheet is laid out for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216.
    #[default]
    A4,
    /// US Letter.
    Letter,
}

/// What a sheet is made from.
#[derive(Clone, Copy)]
pub struct SheetSource<'a> {
    /// The report; its cuts must have kept their stretches.
    pub report: &'a Report,
    /// The job, if there is one.
    pub job: Option<&'a Job>,
    /// The course of the same program.
    pub course: &'a Course,
    /// Findings at or above this make the sheet say stop.
    pub fail_on: Severity,
    /// Paper it is laid out for.
    pub paper: Paper,
}

/// The whole page.
#[derive(Template)]
#[template(path = "sheet.html", config = "src/render/sheet/askama.toml")]
struct Page {
    paper: &'static str,
    title: String,
    footer: String,
    mark: &'static str,
    verdict: String,
    coverage: String,
    facts: Vec<Fact>,
    hashes: Vec<Hash>,
    measured: Option<MeasuredPart>,
    setup: Vec<Fact>,
    tools: Vec<ToolRow>,
    prove: Vec<ProveRow>,
    stops: Vec<StopRow>,
    plan: Option<plan::Plan>,
    restart: RestartPart,
    cards: Vec<Card>,
    groups: Vec<Group>,
    edges: Vec<EdgeRow>,
    speeds: Vec<SpeedPicture>,
    findings: Vec<FindingRow>,
    missing: Vec<MissingRow>,
    unasked: Vec<MissingRow>,
    waivers: Vec<WaiverRow>,
    caution: &'static str,
    tally: String,
}

/// What was measured, and yes or no.
struct MeasuredPart {
    heading: String,
    values: Vec<String>,
    answers: Vec<(&'static str, String)>,
}

/// A sheet as one HTML document.
///
/// # Errors
/// Never for a template that compiled, as far as known; the template engine's own type says otherwise.
pub fn sheet(from: &SheetSource<'_>) -> Result<String, askama::Error> {
    page(from).render().map(|page| page + "\n")
}

fn page(from: &SheetSource<'_>) -> Page {
    let book = Book::new(from.report);
    let scene = Scene { book: &book, job: from.job, course: from.course };
    let verdict = Verdict::of(from.report, from.fail_on);
    let (missing, unasked) = findings::missing(from.report);
    Page {
        paper: match from.paper {
            Paper::A4 => "A4",
            Paper::Letter => "letter",
        },
        title: head::title(&scene),
        footer: css_text(&head::footer(&scene)),
        mark: match (verdict.failed, verdict.inconclusive) {
            (true, _) => "STOP",
            (false, true) => "?",
            (false, false) if Tally::of(from.report).at_least(Severity::Note) > 0 => "OPEN",
            (false, false) => "CLEAN",
        },
        verdict: conclusion(from.report, from.fail_on),
        coverage: format!("{}; {}", coverage(from.report), checks(from.report)),
        facts: head::facts(&scene),
        hashes: head::hashes(from.report),
        measured: measured(&book),
        setup: head::setup(&scene),
        tools: tools::rows(&scene),
        prove: prove::rows(&scene),
        stops: prove::stops(&scene),
        plan: plan::plan(&scene),
        restart: restart::part(&scene),
        cards: holes::cards(&scene),
        groups: holes::groups(&scene),
        edges: edges::rows(&scene),
        speeds: edges::pictures(&scene),
        findings: findings::rows(&book),
        missing,
        unasked,
        waivers: findings::waivers(from.job),
        caution: CAUTION,
        tally: tally(from.report),
    }
}

fn tally(report: &Report) -> String {
    let Tally { errors, warnings, notes, waived, .. } = Tally::of(report);
    let open = [(errors, "error"), (warnings, "warning"), (notes, "note")].map(|(count, noun)| counted(count, noun));
    format!("{} open; {waived} waived", open.join(", "))
}

/// What every part of the page looks at.
#[derive(Clone, Copy)]
struct Scene<'a> {
    book: &'a Book<'a>,
    job: Option<&'a Job>,
    course: &'a Course,
}

impl Scene<'_> {
    /// A block as an operator finds it: its N word, else its line; with the file when it is not the main program.
    fn block(&self, block: BlockRef) -> String {
        let (source, at) = (block.source, block.span.start);
        let name = self.book.n_word(source, at).map(str::to_owned);
        let name = name.unwrap_or_else(|| format!("line {}", self.book.position(source, at).line));
        if source.0 == 0 { name } else { format!("{name} in {}", self.book.name(source)) }
    }
}

impl Scene<'_> {
    /// The F word that a feed relies on from above the block to go on at, behind a blank; empty for none.
    fn feed_above(&self, at: BlockRef, source: SourceId, feed_at: u32) -> String {
        let above = feed_at != UNSTATED && (at.source != source || feed_at < at.span.start);
        let word = Some(feed_at).filter(|_| above).and_then(|feed_at| self.book.word(source, feed_at));
        word.map(|word| format!(" {word}")).unwrap_or_default()
    }
}

fn measured(book: &Book<'_>) -> Option<MeasuredPart> {
    let overlay = book.report.overlay.as_ref()?;
    Some(MeasuredPart {
        heading: answers::heading(overlay),
        values: overlay.measured.values.iter().map(|value| value.text(book.report.units)).collect(),
        answers: answers::answered(book, overlay).into_iter().map(|one| (one.word, one.text)).collect(),
    })
}

/// Text inside a quoted string of a style sheet: everything but plain letters becomes an escape, so that no file name
/// can end the string or the sheet.
fn css_text(text: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || " .,_-".contains(letter);
    text.chars().map(|c| if plain(c) { c.to_string() } else { format!("\\{:x} ", u32::from(c)) }).collect()
}

/// Names in order of first appearance, each once, joined; at most `most`, then dots.
fn listed(names: impl IntoIterator<Item = String>, most: usize) -> String {
    let mut kept: Vec<String> = Vec::new();
    for name in names {
        if !kept.contains(&name) {
            kept.push(name);
        }
    }
    let more = kept.len() > most;
    kept.truncate(most);
    kept.join(", ") + if more { " ..." } else { "" }
}

/// Holes of the survey by the drawing's group and the tool that made them; those the drawing does not list come last.
fn by_group(scene: &Scene<'_>) -> BTreeMap<(usize, u32), Vec<u32>> {
    let survey = &scene.book.report.survey;
    let mut groups: BTreeMap<(usize, u32), Vec<u32>> = BTreeMap::new();
    for (index, hole) in (0..).zip(&survey.holes) {
        let drawn = survey.drawing.of_hole.get(index as usize).copied().flatten();
        let Some(recipe) = survey.recipe_of(hole) else { continue };
        groups.entry((drawn.map_or(usize::MAX, |found| found.group), recipe.tool)).or_default().push(index);
    }
    groups
}
