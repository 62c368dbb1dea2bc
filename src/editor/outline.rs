//! The outline of a program: its tools, what each does, and its holes; and the stretches that fold away.

use super::desk::Desk;
use super::study::{Judged, Study};
use super::text::Text;
use crate::operation::{Hole, Origin, ToolUse};
use crate::render::Book;
use crate::source::{SourceId, Span};
use crate::units::{Millimetres, counted, grouped};
use lsp_types::{DocumentSymbol, FoldingRange, FoldingRangeKind, SymbolKind};
use std::ops::Range;

/// Holes of one operation listed one by one; more are only counted. House value.
const MOST_HOLES: usize = 500;

/// A stretch of text with a name.
struct Section {
    name: String,
    detail: Option<String>,
    kind: SymbolKind,
    /// All of it.
    span: Span,
    /// Its first block.
    head: u32,
    children: Vec<Section>,
}

/// The outline of one source of a run.
pub fn symbols(study: &Study, id: SourceId, desk: &Desk<'_>) -> Vec<DocumentSymbol> {
    let Some((judged, text)) = open(study, id) else { return Vec::new() };
    sections(study, judged, id, text, desk).into_iter().map(|section| section.symbol(text, desk)).collect()
}

/// What folds away: tool sections and subprograms.
pub fn folds(study: &Study, id: SourceId, desk: &Desk<'_>) -> Vec<FoldingRange> {
    let Some((judged, text)) = open(study, id) else { return Vec::new() };
    let fold = |section: Section| {
        let range = text.range(section.span, desk.columns);
        FoldingRange {
            start_line: range.start.line,
            end_line: range.end.line,
            kind: Some(FoldingRangeKind::Region),
            ..FoldingRange::default()
        }
    };
    let folds = sections(study, judged, id, text, desk).into_iter().map(fold);
    folds.filter(|fold| fold.end_line > fold.start_line).collect()
}

fn open(study: &Study, id: SourceId) -> Option<(&Judged, &Text)> {
    let judged = study.judged()?;
    Some((judged, judged.texts.get(usize::from(id.0))?))
}

fn sections(study: &Study, judged: &Judged, id: SourceId, text: &Text, desk: &Desk<'_>) -> Vec<Section> {
    let programs = judged.programs(&desk.library(&study.path));
    let here = programs.programs().iter().filter(|program| program.source == id);
    let spans: Vec<(Option<u32>, Span)> =
        here.map(|program| (program.number, Span::new(program.start, program.end))).collect();
    // A tool's section never runs into the subprograms behind the main program.
    let ends = |at: u32| {
        spans.iter().find(|(_, span)| span.start <= at && at < span.end).map_or(text.end(), |(_, span)| span.end)
    };
    let tools: Vec<&ToolUse> = judged.report.survey.tools.iter().filter(|used| used.block.source == id).collect();
    let mut found = Vec::new();
    for (index, used) in tools.iter().enumerate() {
        let start = used.block.span.start;
        let next = tools.get(index + 1).map_or(u32::MAX, |next| next.block.span.start);
        let end = if next > start { next.min(ends(start)) } else { ends(start) };
        found.push(tool(judged, used, id, trimmed(text, Span::new(start, end))));
    }
    let main = usize::from(id == SourceId::default());
    for (number, span) in spans.into_iter().skip(main) {
        let name = number.map_or("subprogram".to_owned(), |number| format!("O{number}"));
        let detail = Some("subprogram".to_owned());
        let span = trimmed(text, span);
        found.push(Section { name, detail, kind: SymbolKind::FUNCTION, span, head: span.start, children: Vec::new() });
    }
    found
}

/// A span without the line end before the next one.
fn trimmed(text: &Text, span: Span) -> Span {
    let blanks = span.of(&text.bytes).iter().rev().take_while(|byte| byte.is_ascii_whitespace()).count();
    Span::new(span.start, span.end - u32::try_from(blanks).unwrap_or(0))
}

fn tool(judged: &Judged, used: &ToolUse, id: SourceId, span: Span) -> Section {
    let name = if used.tool == 0 { "tool not known".to_owned() } else { Book::new(&judged.report).tool(used.tool) };
    let (holes, cuts) = (used.holes.len() as u64, used.cuts.len() as u64);
    let parts = [(holes, "hole"), (cuts, "cut")].into_iter().filter(|(count, _)| *count > 0);
    let detail = parts.map(|(count, noun)| counted(count, noun)).collect::<Vec<_>>().join(", ");
    let mut children = drilled(judged, used.holes.clone(), id, span);
    children.extend(cut(judged, used, id, span));
    children.sort_by_key(|child| child.head);
    Section { name, detail: Some(detail), kind: SymbolKind::CLASS, span, head: span.start, children }
}

/// Holes in order, those made alike in a row as one operation.
fn drilled(judged: &Judged, holes: Range<u32>, id: SourceId, within: Span) -> Vec<Section> {
    let survey = &judged.report.survey;
    let made = survey.holes.get(holes.start as usize..holes.end as usize).unwrap_or_default();
    let numbered: Vec<(u32, &Hole)> = (holes.start..).zip(made).collect();
    let rows = numbered.chunk_by(|(_, one), (_, other)| one.recipe == other.recipe);
    rows.filter_map(|row| {
        let inside = |hole: &Hole| hole.source == id && within.start <= hole.block && hole.block < within.end;
        let shown: Vec<&(u32, &Hole)> = row.iter().filter(|(_, hole)| inside(hole)).collect();
        let start = shown.iter().map(|(_, hole)| hole.block).min()?;
        let last = shown.iter().map(|(_, hole)| hole.block).max()?;
        let text = judged.texts.get(usize::from(id.0))?;
        let span = Span::new(start, text.line_at(last).end);
        let book = Book::new(&judged.report);
        let hole = |(index, hole): &&(u32, &Hole)| Section {
            name: book.hole(*index),
            detail: None,
            kind: SymbolKind::CONSTANT,
            span: text.line_at(hole.block),
            head: hole.block,
            children: Vec::new(),
        };
        let mut children: Vec<Section> = shown.iter().take(MOST_HOLES).map(hole).collect();
        if let Some(more) = shown.len().checked_sub(MOST_HOLES).filter(|more| *more > 0) {
            let name = format!("and {} more", grouped(more as u64));
            children.push(Section {
                name,
                detail: None,
                kind: SymbolKind::CONSTANT,
                span,
                head: last,
                children: Vec::new(),
            });
        }
        let name = operation(judged, row.first()?.1.recipe);
        let detail = Some(counted(row.len() as u64, "hole"));
        Some(Section { name, detail, kind: SymbolKind::METHOD, span, head: start, children })
    })
    .collect()
}

/// How a recipe makes its holes, such as `G83 to Z-9.6`.
fn operation(judged: &Judged, recipe: u32) -> String {
    let Some(recipe) = judged.report.survey.recipes.get(recipe as usize) else { return "holes".to_owned() };
    let how = match recipe.origin {
        Origin::Cycle(code) => code.name(),
        Origin::LongHand => "drilled move by move",
        Origin::Orbit => "circled",
    };
    let letter = ['X', 'Y', 'Z'].get(usize::from(recipe.axis)).copied().unwrap_or('Z');
    format!("{how} to {}", judged.report.units.coordinate(letter, Millimetres(recipe.bottom)))
}

fn cut<'a>(judged: &'a Judged, used: &ToolUse, id: SourceId, within: Span) -> impl Iterator<Item = Section> + 'a {
    let cuts = judged.report.survey.cuts.get(used.cuts.clone()).unwrap_or_default();
    cuts.iter().filter_map(move |cut| {
        let (first, last) = (cut.first, cut.last);
        let inside = first.source == id
            && last.source == id
            && within.start <= first.span.start
            && first.span.start <= last.span.start;
        let edge = cut.edge.and_then(|edge| judged.job.as_ref()?.edges.get(edge));
        let depth = judged.report.units.coordinate('Z', Millimetres(cut.lowest));
        let name = match edge {
            Some(edge) => format!("cut at {depth} along {}", edge.id),
            None => format!("cut at {depth}"),
        };
        let span = Span::new(first.span.start, last.span.end.min(within.end));
        let length = judged.report.units.length(Millimetres(cut.length));
        let kind = SymbolKind::METHOD;
        inside.then_some(Section {
            name,
            detail: Some(length),
            kind,
            span,
            head: first.span.start,
            children: Vec::new(),
        })
    })
}

impl Section {
    fn symbol(self, text: &Text, desk: &Desk<'_>) -> DocumentSymbol {
        let range = text.range(self.span, desk.columns);
        let line = text.line_at(self.head);
        // The part to go to has to lie inside the whole.
        let head = Span::new(self.head.max(self.span.start), line.end.min(self.span.end));
        let children: Vec<DocumentSymbol> = self.children.into_iter().map(|child| child.symbol(text, desk)).collect();
        #[expect(deprecated, reason = "the type wants the field that its tags have replaced")]
        DocumentSymbol {
            name: self.name,
            detail: self.detail,
            kind: self.kind,
            tags: None,
            deprecated: None,
            range,
            selection_range: text.range(head, desk.columns),
            children: Some(children).filter(|children| !children.is_empty()),
        }
    }
}
