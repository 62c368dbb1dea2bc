//! The sources of a report by line, column and N number, each line index built once and only when asked for.

use crate::check::Report;
use crate::diagnostic::{Finding, Status};
use crate::operation::Obstacle;
use crate::process::{Allowance, OverrideBand};
use crate::source::{LineIndex, Position, SourceId, Span};
use crate::syntax::{Block, Blocks, Lexis, word_span};
use crate::units::MmPerRev;
use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

/// A report with its sources open at any line.
pub struct Book<'a> {
    /// The report.
    pub report: &'a Report,
    indexes: Vec<OnceCell<LineIndex>>,
    allowed: OnceCell<BTreeMap<u32, Vec<Allowance>>>,
}

/// One line of a source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Line<'a> {
    /// Offset of its first byte.
    pub start: u32,
    /// Line number, from 1.
    pub number: u32,
    /// Its bytes without the line end.
    pub bytes: &'a [u8],
}

impl<'a> Line<'a> {
    /// The line a byte of `bytes` stands on.
    #[must_use]
    pub fn at(bytes: &'a [u8], index: &LineIndex, offset: u32) -> Self {
        let number = index.position(offset).line;
        let start = index.line_start(number).unwrap_or(0);
        let end = index.line_start(number + 1).unwrap_or(u32::MAX).min(u32::try_from(bytes.len()).unwrap_or(u32::MAX));
        Self { start, number, bytes: without_end(Span::new(start, end).of(bytes)) }
    }
}

impl<'a> Book<'a> {
    /// Opens the sources of a report.
    #[must_use]
    pub fn new(report: &'a Report) -> Self {
        Self { report, indexes: report.sources.iter().map(|_| OnceCell::new()).collect(), allowed: OnceCell::new() }
    }

    /// Name of a source; empty for one that is not there.
    #[must_use]
    pub fn name(&self, source: SourceId) -> &'a str {
        self.report.sources.get(usize::from(source.0)).map_or("", |source| source.name.as_str())
    }

    /// Line and column of a byte.
    #[must_use]
    pub fn position(&self, source: SourceId, offset: u32) -> Position {
        self.index(source).map_or(Position { line: 1, column: 1 }, |index| index.position(offset))
    }

    /// The line a byte stands on.
    #[must_use]
    pub fn line(&self, source: SourceId, offset: u32) -> Line<'a> {
        self.index(source).map_or(Line::default(), |index| Line::at(self.bytes(source), index, offset))
    }

    /// The N word of the block at a byte, as written.
    #[must_use]
    pub fn n_word(&self, source: SourceId, offset: u32) -> Option<&'a str> {
        let line = self.line(source, offset).bytes;
        let mut block = Block::default();
        let _ = Blocks::new(line, 0, Lexis::default()).next(&mut block);
        std::str::from_utf8(block.n?.of(line)).ok()
    }

    /// The word that begins at a byte, as written.
    #[must_use]
    pub fn word(&self, source: SourceId, offset: u32) -> Option<&'a str> {
        let bytes = self.bytes(source);
        let letter = bytes.get(offset as usize)?.to_ascii_uppercase();
        let end = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
        let span = word_span(bytes, Span::new(offset, end), letter)?;
        std::str::from_utf8(span.of(bytes)).ok()
    }

    /// The drawing's name of a hole, else its number in order of making.
    #[must_use]
    pub fn hole(&self, hole: u32) -> String {
        let name = self.report.hole_names.get(hole as usize).filter(|name| !name.is_empty());
        name.cloned().unwrap_or_else(|| format!("#{}", u64::from(hole) + 1))
    }

    /// A tool's number and what the job calls it.
    #[must_use]
    pub fn tool(&self, tool: u32) -> String {
        let label = self.report.tool_labels.get(&tool).filter(|label| !label.is_empty());
        label.map_or_else(|| format!("T{tool}"), |label| format!("T{tool} {label}"))
    }

    /// What a tool comes near: the id of a zone of the fixture, the table, the backing or the part.
    #[must_use]
    pub fn obstacle(&self, obstacle: Obstacle) -> String {
        match obstacle {
            Obstacle::Zone(index) => self.report.zone_names.get(index).cloned().unwrap_or_default(),
            Obstacle::Table => "the table".to_owned(),
            Obstacle::Backing => "the backing".to_owned(),
            Obstacle::Part => "the part".to_owned(),
        }
    }

    /// The feed overrides that keep the limits of a recipe, or what waivers make of them for every hole made by it.
    #[must_use]
    pub fn band(&self, recipe: usize) -> OverrideBand {
        let allowed = self.allowed.get_or_init(|| allowances(self.report));
        let own = u32::try_from(recipe).ok().and_then(|recipe| allowed.get(&recipe));
        let own = own.map_or(&[][..], Vec::as_slice);
        self.report.readings.get(recipe).map(|reading| OverrideBand::of_waived_hole(reading, own)).unwrap_or_default()
    }

    fn bytes(&self, source: SourceId) -> &'a [u8] {
        self.report.sources.get(usize::from(source.0)).map_or(&[], |source| source.bytes.as_slice())
    }

    fn index(&self, source: SourceId) -> Option<&LineIndex> {
        let cell = self.indexes.get(usize::from(source.0))?;
        Some(cell.get_or_init(|| LineIndex::new(self.bytes(source))))
    }
}

fn without_end(line: &[u8]) -> &[u8] {
    let line = line.strip_suffix(b"\n").unwrap_or(line);
    line.strip_suffix(b"\r").unwrap_or(line)
}

/// Waived limits of feed by recipe; only where all its holes are covered, for one band holds for all of them.
fn allowances(report: &Report) -> BTreeMap<u32, Vec<Allowance>> {
    let mut found: BTreeMap<u32, Vec<Allowance>> = BTreeMap::new();
    for finding in &report.findings {
        let Some(allowance) = allowance(finding, report) else { continue };
        let covered: BTreeSet<u32> = finding.places.iter().filter_map(|place| place.hole).collect();
        let recipe = |hole: &u32| report.survey.holes.get(*hole as usize).map(|hole| hole.recipe);
        let recipes: BTreeSet<u32> = covered.iter().filter_map(recipe).collect();
        for recipe in recipes {
            let mut made = (0..).zip(&report.survey.holes).filter(|(_, hole)| hole.recipe == recipe);
            if made.all(|(index, _)| covered.contains(&index)) {
                found.entry(recipe).or_default().push(allowance.clone());
            }
        }
    }
    found
}

/// What a waived finding of feed leaves of its limit: the waiver's bound, or without one what is posted.
fn allowance(finding: &Finding, report: &Report) -> Option<Allowance> {
    let Status::Waived(id) = &finding.status else { return None };
    let (waiver, _) = report.waivers.iter().find(|(waiver, _)| waiver.id == *id)?;
    let (measured, limit) = finding.measured.as_ref().zip(finding.limit.as_ref())?;
    if measured.unit != MmPerRev::SYMBOL {
        return None;
    }
    let bound = if waiver.bound.is_some() { waiver.bound_in(MmPerRev::SYMBOL)? } else { measured.value };
    Some(Allowance { limit: limit.quantity.value, origin: limit.origin.clone(), bound, waiver: id.clone() })
}
