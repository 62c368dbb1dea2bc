//! What a finding is about, in words that outlive new numbers, moved lines and other decimals.

use super::book::Book;
use crate::diagnostic::{Finding, Place};
use crate::source::sha256;
use crate::syntax::{Block, Blocks, Lexis};

/// Characters of a digest that tell findings of one shop apart.
const DIGITS: usize = 32;

/// A key of rule, tool and feature: the hole by its drawing's name, else by its place to 0.01 mm; elsewhere the block's
/// words without number, blanks and comments; without a place the entry of the job file.
#[must_use]
pub(crate) fn fingerprint(book: &Book<'_>, finding: &Finding) -> String {
    let first = finding.places.first();
    let tool = first.and_then(|place| place.tool).unwrap_or(0);
    let feature = match first {
        Some(place) => feature(book, place),
        None => finding.job_entry.clone().unwrap_or_default(),
    };
    let mut digest = sha256(format!("{}\nT{tool}\n{feature}", finding.rule).as_bytes());
    digest.truncate(DIGITS);
    digest
}

/// The hole by its drawing's name, else by its place to 0.01 mm; elsewhere the block's words without number, blanks and
/// comments.
pub(crate) fn feature(book: &Book<'_>, place: &Place) -> String {
    let Some(index) = place.hole else { return words(book, place) };
    if let Some(name) = book.report.hole_names.get(index as usize).filter(|name| !name.is_empty()) {
        return name.clone();
    }
    match book.report.survey.holes.get(index as usize) {
        Some(hole) => format!("hole {} {}", hundredths(hole.x), hundredths(hole.y)),
        None => words(book, place),
    }
}

/// Hundredths of a millimetre as a whole number, so that no zero has a sign.
fn hundredths(mm: f64) -> i64 {
    // `as` saturates, and an unknown place counts as 0.
    (mm * 100.0).round() as i64
}

/// The words of the block at a place, in upper case and without blanks.
fn words(book: &Book<'_>, place: &Place) -> String {
    let line = book.line(place.source, place.span.start).bytes;
    let mut block = Block::default();
    let _ = Blocks::new(line, 0, Lexis::default()).next(&mut block);
    let words = block.words.iter().flat_map(|word| word.span.of(line));
    words.filter(|byte| !byte.is_ascii_whitespace()).map(|byte| char::from(byte.to_ascii_uppercase())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::sample;
    use super::*;
    use crate::check::Report;
    use crate::source::Source;

    fn keys(report: &Report) -> Vec<String> {
        let book = Book::new(report);
        report.findings.iter().map(|finding| fingerprint(&book, finding)).collect()
    }

    #[test]
    fn rule_tool_and_feature_make_the_key() {
        let mut report = sample::report();
        let before = keys(&report);
        assert_ne!(before[0], before[1]);
        report.findings[0].places[0].tool = Some(12);
        report.hole_names[1] = "H9".to_owned();
        let after = keys(&report);
        assert_ne!((&after[0], &after[2]), (&before[0], &before[2]));
    }

    #[test]
    fn numbers_and_blanks_of_the_text_do_not() {
        let mut report = sample::report();
        report.findings.iter_mut().flat_map(|finding| &mut finding.places).for_each(|place| place.hole = None);
        let before = keys(&report);
        let text = String::from_utf8_lossy(sample::PROGRAM).replace("N40 G99 G81 X-388", "N41 g99G81X-388");
        report.sources = vec![Source::new("other.nc", text.into_bytes())];
        let moved = report.sources[0].bytes.windows(5).position(|bytes| bytes == b"F159.").unwrap();
        report.findings[0].places[0].span.start = moved as u32;
        assert_eq!(keys(&report)[0], before[0]);
    }
}
