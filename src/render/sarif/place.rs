//! Places of a report as SARIF locations: relative URIs, lines and columns in characters, snippets.

use super::super::book::Book;
use super::model::{ArtifactLocation, Message, PhysicalLocation, Region};
use crate::source::{Source, SourceId, Span};

/// Longest line shown as context, bytes; house value.
const CONTEXT: usize = 200;

/// A file name as a relative reference (RFC 3986, 4.2): everything but unreserved characters and `/` in percent code.
pub(super) fn uri(name: &str) -> ArtifactLocation {
    let mut uri = String::with_capacity(name.len());
    for byte in name.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            other => uri.push_str(&format!("%{other:02X}")),
        }
    }
    ArtifactLocation { uri }
}

/// The name of a text's encoding (IANA): posted programs that are not UTF-8 are read byte by byte.
pub(super) fn encoding(source: &Source) -> &'static str {
    if std::str::from_utf8(&source.bytes).is_ok() { "UTF-8" } else { "ISO-8859-1" }
}

/// The texts of a report, each with its way of reading characters.
pub(super) struct Texts<'a> {
    pub book: &'a Book<'a>,
    utf8: Vec<bool>,
}

impl<'a> Texts<'a> {
    pub fn new(book: &'a Book<'a>) -> Self {
        Self { book, utf8: book.report.sources.iter().map(|source| encoding(source) == "UTF-8").collect() }
    }

    /// Bytes of one text as characters.
    pub fn read(&self, source: SourceId, bytes: &[u8]) -> String {
        if self.is_utf8(source) {
            return String::from_utf8_lossy(bytes).into_owned();
        }
        bytes.iter().copied().map(char::from).collect()
    }

    /// A span with its text, and the line around it where that says more.
    pub fn location(&self, source: SourceId, span: Span) -> PhysicalLocation {
        let region = self.region(source, span);
        let line = self.book.line(source, span.start);
        let whole = Span::new(line.start, line.start + u32::try_from(line.bytes.len()).unwrap_or(0));
        let more = whole.start <= span.start && span.end <= whole.end && whole.len() > span.len();
        let context = (more && line.bytes.len() <= CONTEXT).then(|| self.region(source, whole));
        PhysicalLocation {
            artifact_location: uri(self.book.name(source)),
            region: Some(region),
            context_region: context,
        }
    }

    /// A span with its text.
    pub fn region(&self, source: SourceId, span: Span) -> Region {
        let text = self.book.report.sources.get(usize::from(source.0)).map_or(&[][..], |source| &source.bytes);
        let length = u32::try_from(text.len()).unwrap_or(u32::MAX);
        let span = Span::new(span.start.min(length), span.end.clamp(span.start.min(length), length));
        let (start_line, start_column) = self.position(source, span.start);
        let (end_line, end_column) = self.position(source, span.end);
        Region {
            start_line,
            start_column,
            end_line,
            end_column,
            byte_offset: span.start,
            byte_length: span.len(),
            snippet: Some(Message::plain(self.read(source, span.of(text)))),
        }
    }

    /// Line and column in characters, both from 1.
    fn position(&self, source: SourceId, at: u32) -> (u32, u32) {
        let line = self.book.line(source, at);
        let before = line.bytes.get(..at.saturating_sub(line.start) as usize).unwrap_or(line.bytes);
        let characters = if self.is_utf8(source) {
            before.iter().filter(|byte| **byte & 0xc0 != 0x80).count()
        } else {
            before.len()
        };
        // Within a line end the column counts on, as bytes do.
        let within_end = (at.saturating_sub(line.start) as usize).saturating_sub(line.bytes.len());
        let within_end = if before.len() == line.bytes.len() { within_end } else { 0 };
        (line.number.max(1), u32::try_from(characters + within_end + 1).unwrap_or(u32::MAX))
    }

    fn is_utf8(&self, source: SourceId) -> bool {
        self.utf8.get(usize::from(source.0)).copied().unwrap_or(true)
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::sample;
    use super::*;

    #[test]
    fn names_become_references_that_no_scheme_can_be_read_from() {
        assert_eq!(uri("jobs/a b.nc").uri, "jobs/a%20b.nc");
        assert_eq!(uri("C:x#1.nc").uri, "C%3Ax%231.nc");
        assert_eq!(uri("Stück.nc").uri, "St%C3%BCck.nc");
    }

    fn report(text: &[u8]) -> crate::check::Report {
        crate::check::Report { sources: vec![Source::new("a.nc", text)], ..sample::report() }
    }

    #[test]
    fn columns_count_characters_whatever_the_encoding() {
        let text = "N1 (Ø6) G1\r\nN2 X1\r\n";
        let of_g1 = |bytes: &[u8]| {
            let report = report(bytes);
            let book = Book::new(&report);
            let at = u32::try_from(memchr::memmem::find(bytes, b"G1").unwrap()).unwrap();
            let place = Texts::new(&book).location(SourceId(0), Span::new(at, at + 2));
            let (region, context) = (place.region.unwrap(), place.context_region.unwrap());
            (region.start_column, region.end_column, region.byte_offset, context.snippet.unwrap().text)
        };
        assert_eq!(of_g1(text.as_bytes()), (9, 11, 9, "N1 (Ø6) G1".to_owned()));
        let latin: Vec<u8> = text.chars().map(|letter| letter as u8).collect();
        assert_eq!(of_g1(&latin), (9, 11, 8, "N1 (Ø6) G1".to_owned()));
    }

    #[test]
    fn a_span_over_lines_ends_where_the_next_begins() {
        let report = report(b"N1 G1\r\nN2 X1\r\n");
        let book = Book::new(&report);
        let region = Texts::new(&book).region(SourceId(0), Span::new(0, 7));
        assert_eq!((region.start_line, region.end_line, region.end_column), (1, 2, 1));
        let outside = Texts::new(&book).region(SourceId(0), Span::new(900, 950));
        assert_eq!((outside.byte_offset, outside.byte_length), (14, 0));
    }
}
