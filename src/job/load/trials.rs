//! A table of drilling trials: comma-separated, or by semicolons with decimal commas; units stand in the header.

use super::amount::{Amount, Measure};
use super::error::{JobError, nearest};
use crate::job::{Trial, Trials};
use crate::source::{Source, Span};
use crate::units::{Millimetres, MmPerMin, MmPerRev, Newtons, RevPerMin};
use csv::ByteRecord;
use std::sync::Arc;

impl Trials {
    /// Reads a table of trials.
    ///
    /// # Errors
    /// Every fault found, with its row and column, in the order of the text; after the first twenty the rest is counted.
    pub fn load(source: &Source) -> Result<Self, Vec<JobError>> {
        let file = Arc::new(source.clone());
        let mut table = Table { separator: separator(&file.bytes), file, errors: Vec::new(), more: 0 };
        let trials = table.read();
        if table.more > 0 {
            let message = format!("{} more faults in this file", table.more);
            let span = table.errors.last().map(|last| last.span).unwrap_or_default();
            table.errors.push(JobError { file: Arc::clone(&table.file), span, message, help: None });
        }
        match trials {
            Some(trials) if table.errors.is_empty() => Ok(trials),
            _ => Err(table.errors),
        }
    }
}

/// Faults told one by one.
const TOLD: usize = 20;

struct Table {
    file: Arc<Source>,
    separator: u8,
    errors: Vec<JobError>,
    more: usize,
}

/// A column: where it stands, its header as written, and the size of its unit.
#[derive(Clone)]
struct Column {
    index: usize,
    header: String,
    unit: &'static str,
    size: f64,
}

/// The columns of one file.
struct Columns {
    feed: Option<Column>,
    diameter: Option<Column>,
    thrust: Option<Column>,
    speed: Option<Column>,
    holes: Option<Column>,
    delamination: Option<Column>,
}

/// Headers of columns without a unit.
const HOLES: &str = "holes";
const DELAMINATION: &str = "delamination_factor";

/// How headers are written.
const HEADERS: &str = "a header names its unit, such as `feed_mm_rev`, `diameter_in` or `thrust_N`";
/// What mends a value that cannot be.
const MEND: &str = "correct the value, or take the row out of the table";

impl Table {
    fn read(&mut self) -> Option<Trials> {
        let file = Arc::clone(&self.file);
        let mut rows = csv::ReaderBuilder::new()
            .delimiter(self.separator)
            .trim(csv::Trim::All)
            .comment(Some(b'#'))
            .flexible(true)
            .from_reader(file.bytes.as_slice());
        let header = rows.byte_headers().cloned().unwrap_or_default();
        if header.iter().all(<[u8]>::is_empty) {
            let help = format!("{HEADERS}, then one row for each hole");
            self.error(span_at(0, 1), "the file is empty".to_owned(), Some(help));
            return None;
        }
        let names: Vec<String> = header.iter().map(|name| String::from_utf8_lossy(name).into_owned()).collect();
        let columns = self.columns(&header, &names);
        let read =
            [&columns.feed, &columns.diameter, &columns.thrust, &columns.speed, &columns.holes, &columns.delamination];
        let read: Vec<usize> = read.into_iter().flatten().map(|column| column.index).collect();
        let unread = names.iter().enumerate().filter(|(index, _)| !read.contains(index)).map(|(_, name)| name.clone());
        let (Some(feed), Some(diameter), Some(thrust)) = (&columns.feed, &columns.diameter, &columns.thrust) else {
            return None;
        };
        let mut trials = Vec::new();
        for row in rows.byte_records() {
            let row = match row {
                Ok(row) => row,
                Err(fault) => {
                    let at = fault.position().map_or(0, csv::Position::byte);
                    self.error(span_at(at, 1), format!("the row cannot be read: {fault}"), None);
                    continue;
                }
            };
            if let Some(other) = self.other_separator(&row, names.len()) {
                self.separated_otherwise(&row, other);
                return None;
            }
            let needed = [feed, diameter, thrust].map(|column| self.positive(&row, column));
            let speed = self.given(&row, columns.speed.as_ref(), f64::MIN_POSITIVE, "above 0");
            let holes = self.given(&row, columns.holes.as_ref(), 0.0, "0 or more");
            let delamination = self.given(&row, columns.delamination.as_ref(), 1.0, "1 or more");
            if let [Some(feed), Some(diameter), Some(thrust)] = needed {
                trials.push(Trial {
                    line: row.position().map_or(0, csv::Position::line),
                    feed: MmPerRev(feed),
                    diameter: Millimetres(diameter),
                    thrust: Newtons(thrust),
                    speed: speed.map(RevPerMin),
                    holes,
                    delamination,
                });
            }
        }
        Some(Trials { file, rows: trials, unread: unread.collect() })
    }

    fn columns(&mut self, header: &ByteRecord, names: &[String]) -> Columns {
        let mut columns = Columns {
            feed: self.measured::<MmPerRev>("feed", header, names),
            diameter: self.measured::<Millimetres>("diameter", header, names),
            thrust: self.measured::<Newtons>("thrust", header, names),
            speed: self.measured::<RevPerMin>("speed", header, names),
            holes: self.plain(HOLES, header, names),
            delamination: self.plain(DELAMINATION, header, names),
        };
        for (column, needed) in [
            (&mut columns.feed, header_of::<MmPerRev>("feed")),
            (&mut columns.diameter, header_of::<Millimetres>("diameter")),
            (&mut columns.thrust, header_of::<Newtons>("thrust")),
        ] {
            if column.is_none() {
                let by_time = names.iter().find(|name| is_feed_by_time(name));
                let near = nearest(&needed, names.iter().map(String::as_str));
                let help = match (by_time.filter(|_| needed.starts_with("feed")), near) {
                    (Some(name), _) => {
                        format!("`{name}` says nothing without the speed: divide by rev/min and give `{needed}`")
                    }
                    (None, Some(near)) => format!("is it `{near}`? A header names its unit"),
                    (None, None) => HEADERS.to_owned(),
                };
                let length = names.iter().map(|name| name.len() + 1).sum::<usize>().saturating_sub(1);
                let at = header.position().map_or(0, csv::Position::byte);
                self.error(span_at(at, length.max(1)), format!("there is no column `{needed}`"), Some(help));
            }
        }
        columns
    }

    /// The column of a quantity, its header the word and a unit; two of them mix units.
    fn measured<M: Measure>(&mut self, word: &str, header: &ByteRecord, names: &[String]) -> Option<Column> {
        let mut found: Option<Column> = None;
        for (index, name) in names.iter().enumerate() {
            let unit = M::UNITS.iter().find(|(symbol, _)| {
                let full = format!("{word}_{}", symbol.replace('/', "_"));
                name.eq_ignore_ascii_case(&full)
            });
            let Some((unit, size)) = unit else { continue };
            if let Some(first) = &found {
                let message = format!("columns `{}` and `{name}` give one quantity twice", first.header);
                self.error(self.span(header, index), message, Some("keep one unit for each quantity".to_owned()));
            }
            found = Some(Column { index, header: name.clone(), unit, size: *size });
        }
        found
    }

    /// A column without a unit.
    fn plain(&mut self, word: &str, header: &ByteRecord, names: &[String]) -> Option<Column> {
        let mut found = names.iter().enumerate().filter(|(_, name)| name.eq_ignore_ascii_case(word));
        let (index, name) = found.next()?;
        if let Some((twice, _)) = found.next() {
            self.error(self.span(header, twice), format!("there are two columns `{name}`"), None);
        }
        Some(Column { index, header: name.clone(), unit: "", size: 1.0 })
    }

    /// A value that every trial must have.
    fn positive(&mut self, row: &ByteRecord, column: &Column) -> Option<f64> {
        if row.get(column.index).unwrap_or_default().is_empty() {
            let help = "give the value, or take the row out of the table".to_owned();
            self.fault(row, column, "it is empty".to_owned(), Some(help));
            return None;
        }
        self.given(row, Some(column), f64::MIN_POSITIVE, "above 0")
    }

    /// A value that a trial may leave out.
    fn given(&mut self, row: &ByteRecord, column: Option<&Column>, least: f64, range: &str) -> Option<f64> {
        let column = column?;
        let text = String::from_utf8_lossy(row.get(column.index)?).into_owned();
        if text.is_empty() {
            return None;
        }
        let amount = if self.separator == b';' { text.replace(',', ".") } else { text.clone() };
        let amount = Amount::Text(amount.replace(['\u{b5}', '\u{3bc}'], "u"));
        let number = amount.number();
        if !number.is_finite() {
            self.fault(row, column, format!("`{text}` is no number"), Some(MEND.to_owned()));
            return None;
        }
        if !["", column.unit].contains(&amount.symbol()) {
            let unit = if column.unit.is_empty() { "none".to_owned() } else { format!("`{}`", column.unit) };
            let help = "give every row of a column in the unit of its header".to_owned();
            self.fault(row, column, format!("`{text}` has a unit of its own, the header {unit}"), Some(help));
            return None;
        }
        if number < least {
            self.fault(row, column, format!("it must be {range}, not {text}"), Some(MEND.to_owned()));
            return None;
        }
        Some(number * column.size)
    }

    /// The separator of a row that the header's does not part but another one does, into as many columns as there are.
    fn other_separator(&self, row: &ByteRecord, columns: usize) -> Option<char> {
        let count = |separator: char| row.as_slice().iter().filter(|byte| char::from(**byte) == separator).count();
        // A comma may be a decimal one, so that it parts a row only where nothing else does.
        let parts = |separator: &char| {
            char::from(self.separator) != *separator
                && (row.len() == 1 || *separator == ';' && row.len() < columns)
                && count(*separator) + 1 == columns
        };
        [';', '\t', ','].into_iter().filter(|_| columns > 1).find(parts)
    }

    fn separated_otherwise(&mut self, row: &ByteRecord, other: char) {
        let line = row.position().map_or(0, csv::Position::line);
        let name = |separator| if separator == '\t' { "tabs".to_owned() } else { format!("`{separator}`") };
        let (here, header) = (name(other), name(char::from(self.separator)));
        let message = format!("row {line} separates its columns by {here}, the header by {header}");
        self.error(self.span(row, 0), message, Some("use one separator in the whole file".to_owned()));
    }

    fn fault(&mut self, row: &ByteRecord, column: &Column, what: String, help: Option<String>) {
        let line = row.position().map_or(0, csv::Position::line);
        self.error(self.span(row, column.index), format!("row {line}, column `{}`: {what}", column.header), help);
    }

    fn error(&mut self, span: Span, message: String, help: Option<String>) {
        if self.errors.len() < TOLD {
            self.errors.push(JobError { file: Arc::clone(&self.file), span, message, help });
        } else {
            self.more += 1;
        }
    }

    /// Where a field stands; one that the row lacks stands at its end.
    fn span(&self, row: &ByteRecord, index: usize) -> Span {
        let start = row.position().map_or(0, |place| usize::try_from(place.byte()).unwrap_or(usize::MAX));
        let line = self.file.bytes.get(start..).unwrap_or_default();
        let (mut from, mut column, mut quoted) = (0, 0, false);
        for (at, byte) in line.iter().enumerate() {
            let ends = !quoted && (*byte == self.separator || matches!(byte, b'\n' | b'\r'));
            quoted ^= *byte == b'"';
            if !ends {
                continue;
            }
            if column == index || *byte != self.separator {
                return span_at((start + from) as u64, (at - from).max(1));
            }
            (from, column) = (at + 1, column + 1);
        }
        span_at((start + from) as u64, line.len().saturating_sub(from).max(1))
    }
}

/// The header of a quantity in the unit it is kept in.
fn header_of<M: Measure>(word: &str) -> String {
    let unit = M::UNITS.first().map_or("", |(symbol, _)| *symbol);
    format!("{word}_{}", unit.replace('/', "_"))
}

/// Whether a header is that of a feed by time, which is none for each turn.
fn is_feed_by_time(name: &str) -> bool {
    let mut headers = MmPerMin::UNITS.iter().map(|(symbol, _)| format!("feed_{}", symbol.replace('/', "_")));
    headers.any(|header| name.eq_ignore_ascii_case(&header))
}

fn span_at(at: u64, length: usize) -> Span {
    let start = u32::try_from(at).unwrap_or(u32::MAX);
    Span::new(start, start.saturating_add(u32::try_from(length).unwrap_or(u32::MAX)))
}

/// A semicolon where the first line that is no comment has one, as spreadsheets of countries with a decimal comma write.
fn separator(bytes: &[u8]) -> u8 {
    let mut lines = bytes.split(|byte| matches!(byte, b'\n' | b'\r'));
    let header = lines.find(|line| !line.is_empty() && !line.starts_with(b"#")).unwrap_or_default();
    match (header.contains(&b';'), header.contains(&b'\t')) {
        (true, _) => b';',
        (false, true) => b'\t',
        _ => b',',
    }
}
