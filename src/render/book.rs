//! The sources of a report by line, column and N number, each line index built once and only when asked for.

use crate::check::Report;
use crate::operation::Obstacle;
use crate::source::{LineIndex, Position, SourceId, Span};
use crate::syntax::{Block, Blocks, Lexis};
use std::cell::OnceCell;

/// A report with its sources open at any line.
pub struct Book<'a> {
    /// The report.
    pub report: &'a Report,
    indexes: Vec<OnceCell<LineIndex>>,
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
        Self { report, indexes: report.sources.iter().map(|_| OnceCell::new()).collect() }
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

    /// What a tool comes near: the id of a zone of the fixture, the table or the backing.
    #[must_use]
    pub fn obstacle(&self, obstacle: Obstacle) -> String {
        match obstacle {
            Obstacle::Zone(index) => self.report.zone_names.get(index).cloned().unwrap_or_default(),
            Obstacle::Table => "the table".to_owned(),
            Obstacle::Backing => "the backing".to_owned(),
        }
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
