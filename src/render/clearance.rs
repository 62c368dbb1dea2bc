//! How near tools come to what stands around the part, and the room the work offset has.

use super::book::Book;
use super::look::Look;
use crate::job::Job;
use crate::operation::{BodyPart, Clearance, Obstacle};
use crate::units::Millimetres;

/// Least clearance of each tool, and the offset range.
pub(super) fn clearances(book: &Book<'_>, job: Option<&Job>, look: &Look) -> String {
    let mut text = String::new();
    for clearance in &book.report.survey.clearances.least {
        text.push_str(&look.led("clear", &clearance_words(book, clearance, job)));
    }
    if let Some(room) = job.and_then(|job| book.report.survey.travel.offset_range(&job.machine, book.report.units)) {
        text.push_str(&look.led("offset", &room));
    }
    text
}

fn clearance_words(book: &Book<'_>, clearance: &Clearance, job: Option<&Job>) -> String {
    let units = book.report.units;
    let part = match clearance.part {
        BodyPart::Tool => "tool",
        BodyPart::Holder => "holder",
    };
    let obstacle = match clearance.obstacle {
        Obstacle::Zone(index) => {
            job.and_then(|job| job.fixture.zones.get(index)).map_or_else(String::new, |zone| format!("`{}`", zone.id))
        }
        Obstacle::Table => "the table".to_owned(),
        Obstacle::Backing => "the backing".to_owned(),
    };
    let axis = ["X", "Y", "Z"].get(clearance.axis).copied().unwrap_or("");
    let line = book.position(clearance.block.source, clearance.block.span.start).line;
    let gap = units.length(Millimetres(clearance.gap));
    format!("{}: {part} {gap} from {obstacle} along {axis}, line {line}", book.tool(clearance.tool))
}
