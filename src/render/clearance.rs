//! How near tools come to what stands around the part, and the room the work offset has.

use super::book::Book;
use super::look::Look;
use crate::job::Job;
use crate::operation::{Clearance, Obstacle};
use crate::units::Millimetres;

/// Least clearance of each tool, and the offset range.
pub(super) fn clearances(book: &Book<'_>, job: Option<&Job>, look: &Look) -> String {
    let mut text = String::new();
    for clearance in &book.report.survey.clearances.least {
        text.push_str(&look.led("clear", &clearance_words(book, clearance)));
    }
    if let Some(room) = job.and_then(|job| book.report.survey.travel.offset_range(&job.machine, book.report.units)) {
        text.push_str(&look.led("offset", &room));
    }
    text
}

fn clearance_words(book: &Book<'_>, clearance: &Clearance) -> String {
    let obstacle = match clearance.obstacle {
        Obstacle::Zone(_) => format!("`{}`", book.obstacle(clearance.obstacle)),
        Obstacle::Table | Obstacle::Backing => book.obstacle(clearance.obstacle),
    };
    let (part, axis) = (clearance.part.word(), clearance.axis_letter());
    let line = book.position(clearance.block.source, clearance.block.span.start).line;
    let gap = book.report.units.length(Millimetres(clearance.gap.abs()));
    let side = if clearance.gap < 0.0 { "into" } else { "from" };
    format!("{}: {part} {gap} {side} {obstacle} along {axis}, line {line}", book.tool(clearance.tool))
}
