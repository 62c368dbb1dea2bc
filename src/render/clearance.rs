//! How near tools come to what stands around the part, and the room the work offset has.

use super::book::Book;
use super::look::Look;
use crate::job::Job;
use crate::operation::{Clearance, Obstacle};
use crate::units::{Millimetres, UnitSystem, trimmed};

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
        Obstacle::Table | Obstacle::Backing | Obstacle::Part => book.obstacle(clearance.obstacle),
    };
    let (part, mostly) = (clearance.part.word(), mostly(clearance));
    let line = book.position(clearance.block.source, clearance.block.span.start).line;
    let gap = told(Millimetres(clearance.gap), book.report.units).trim_start_matches('-').to_owned();
    let side = if clearance.gap < 0.0 { "into" } else { "from" };
    format!("{}: {part} {gap} {side} {obstacle}{mostly}, line {line}", book.tool(clearance.tool))
}

/// A clearance to two decimals at most, never more than there is.
pub(super) fn told(gap: Millimetres, units: UnitSystem) -> String {
    // Half a thousandth of the last digit is the noise of the arithmetic.
    let shown = libm::floor(gap.0 / units.mm() * 100.0 + 5e-4) / 100.0;
    let unit = match units {
        UnitSystem::Metric => "mm",
        UnitSystem::Inch => "in",
    };
    format!("{} {unit}", trimmed(shown, 2))
}

/// The axis a slant distance lies along most, such as `, mostly in Y`; empty for faces, which are straight below.
pub(super) fn mostly(clearance: &Clearance) -> String {
    match clearance.obstacle {
        Obstacle::Zone(_) => format!(", mostly in {}", clearance.axis_letter()),
        Obstacle::Table | Obstacle::Backing | Obstacle::Part => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clearance_is_never_told_as_more_than_it_is() {
        assert_eq!(told(Millimetres(44.937), UnitSystem::Metric), "44.93 mm");
        assert_eq!(told(Millimetres(8.2 - 1e-9), UnitSystem::Metric), "8.2 mm");
        assert_eq!(told(Millimetres(3.3732 * 25.4), UnitSystem::Inch), "3.37 in");
        assert_eq!(told(Millimetres(-0.004 * 25.4), UnitSystem::Inch), "-0.01 in", "a hit stays one");
    }
}
