//! Hole positions from a comma-separated file with columns id, x and y.

use super::JobFiles;
use super::amount::Amount;
use super::at::At;
use super::error::JobError;
use super::holes::Place;
use super::reader::Reader;
use crate::source::{Source, Span};
use crate::units::Millimetres;
use csv::StringRecord;
use std::sync::Arc;

/// Columns such a file must have.
const COLUMNS: [&str; 3] = ["id", "x", "y"];

/// The positions of the file that the job file names.
pub(super) fn read(name: &At<String>, files: &dyn JobFiles, reader: &mut Reader) -> Option<Vec<Place>> {
    let source = match files.read(&name.value) {
        Ok(source) => Arc::new(source),
        Err(why) => {
            reader.error(name.span, format!("cannot read `{}`: {why}", name.value), None);
            return None;
        }
    };
    let mut table = Table { units: reader.units, file: source, errors: Vec::new() };
    let places = table.places();
    let sound = table.errors.is_empty();
    reader.errors.append(&mut table.errors);
    sound.then_some(places)
}

struct Table {
    units: Option<crate::units::UnitSystem>,
    file: Arc<Source>,
    errors: Vec<JobError>,
}

impl Table {
    fn error(&mut self, at: u64, length: usize, message: String) {
        let start = u32::try_from(at).unwrap_or(u32::MAX);
        let span = Span::new(start, start.saturating_add(u32::try_from(length).unwrap_or(0)));
        self.errors.push(JobError { file: Arc::clone(&self.file), span, message, help: None });
    }

    fn places(&mut self) -> Vec<Place> {
        let file = Arc::clone(&self.file);
        let mut rows = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .comment(Some(b'#'))
            .flexible(true)
            .from_reader(file.bytes.as_slice());
        let header = rows.headers().cloned().unwrap_or_default();
        let mut columns = [None; 3];
        for (column, name) in columns.iter_mut().zip(COLUMNS) {
            *column = header.iter().position(|head| head.eq_ignore_ascii_case(name));
            if column.is_none() {
                self.error(0, 1, format!("the file has no column `{name}`; it needs id, x and y"));
            }
        }
        let [Some(id), Some(x), Some(y)] = columns else { return Vec::new() };
        let mut places = Vec::new();
        for row in rows.records() {
            match row {
                Ok(row) => {
                    let (x, y) = (self.coordinate(&row, x, "x"), self.coordinate(&row, y, "y"));
                    let id = row.get(id).filter(|id| !id.is_empty()).map(str::to_owned);
                    places.extend(x.zip(y).map(|(x, y)| Place { id, x, y }));
                }
                Err(fault) => {
                    let at = fault.position().map_or(0, csv::Position::byte);
                    self.error(at, 1, format!("the row cannot be read: {fault}"));
                }
            }
        }
        if places.is_empty() && self.errors.is_empty() {
            self.error(0, 1, "the file has no positions".to_owned());
        }
        places
    }

    fn coordinate(&mut self, row: &StringRecord, column: usize, name: &str) -> Option<Millimetres> {
        let text = row.get(column).unwrap_or_default();
        let read = Amount::Text(text.to_owned()).read::<Millimetres>(self.units);
        if read.is_err() {
            let place = row.position();
            let (at, line) = place.map_or((0, 0), |place| (place.byte(), place.line()));
            let length = row.iter().map(|field| field.len() + 1).sum::<usize>().saturating_sub(1);
            let fault = if text.is_empty() { "is empty".to_owned() } else { format!("`{text}` is no length") };
            self.error(at, length, format!("row {line}, column {name}: {fault}"));
        }
        read.ok()
    }
}
