//! Programs, findings, holes and edges as rows of one wide table, for questions in SQL. Lengths are mm, feeds mm/min and
//! mm/rev, whatever a program speaks.

use super::book::Book;
use super::feature::feature;
use super::fleet::Row;
use crate::check::Report;
use crate::diagnostic::{Finding, NotChecked, Place, Severity, Status};
use crate::job::{CutDirection, Job};
use crate::operation::{Cut, CutStyle, Hole, StrokeKind};
use crate::process::Zone;
use crate::source::SourceId;

/// One row. `kind` says which of the others mean something.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableRow {
    kind: &'static str,
    program: String,
    job: Option<String>,
    answer: Option<&'static str>,
    rule: Option<String>,
    severity: Option<&'static str>,
    status: Option<&'static str>,
    text: Option<String>,
    file: Option<String>,
    line: Option<i64>,
    tool: Option<i64>,
    tool_label: Option<String>,
    feature: Option<String>,
    x: Option<f64>,
    y: Option<f64>,
    z: Option<f64>,
    measured: Option<f64>,
    bound: Option<f64>,
    unit: Option<&'static str>,
    bound_source: Option<String>,
    places: Option<i64>,
    blocks: Option<i64>,
    holes: Option<i64>,
    diameter: Option<f64>,
    speed: Option<f64>,
    feed: Option<f64>,
    body_feed_per_rev: Option<f64>,
    exit_feed_per_rev: Option<f64>,
    full_up_to: Option<f64>,
    length: Option<f64>,
    style: Option<&'static str>,
    direction: Option<&'static str>,
}

/// How a column is read from a row.
#[cfg_attr(not(feature = "parquet"), expect(dead_code, reason = "only a build with tables reads columns"))]
enum Column {
    Text(fn(&TableRow) -> Option<&str>),
    Count(fn(&TableRow) -> Option<i64>),
    Number(fn(&TableRow) -> Option<f64>),
}

use Column::{Count, Number, Text};

/// Every column in order.
const COLUMNS: &[(&str, Column)] = &[
    ("kind", Text(|row| Some(row.kind))),
    ("program", Text(|row| Some(&row.program))),
    ("job", Text(|row| row.job.as_deref())),
    ("answer", Text(|row| row.answer)),
    ("rule", Text(|row| row.rule.as_deref())),
    ("severity", Text(|row| row.severity)),
    ("status", Text(|row| row.status)),
    ("text", Text(|row| row.text.as_deref())),
    ("file", Text(|row| row.file.as_deref())),
    ("line", Count(|row| row.line)),
    ("tool", Count(|row| row.tool)),
    ("tool_label", Text(|row| row.tool_label.as_deref())),
    ("feature", Text(|row| row.feature.as_deref())),
    ("x_mm", Number(|row| row.x)),
    ("y_mm", Number(|row| row.y)),
    ("z_mm", Number(|row| row.z)),
    ("measured", Number(|row| row.measured)),
    ("bound", Number(|row| row.bound)),
    ("unit", Text(|row| row.unit)),
    ("bound_source", Text(|row| row.bound_source.as_deref())),
    ("places", Count(|row| row.places)),
    ("blocks", Count(|row| row.blocks)),
    ("holes", Count(|row| row.holes)),
    ("diameter_mm", Number(|row| row.diameter)),
    ("speed_rev_min", Number(|row| row.speed)),
    ("feed_mm_min", Number(|row| row.feed)),
    ("body_feed_mm_rev", Number(|row| row.body_feed_per_rev)),
    ("exit_feed_mm_rev", Number(|row| row.exit_feed_per_rev)),
    ("full_up_to_mm", Number(|row| row.full_up_to)),
    ("length_mm", Number(|row| row.length)),
    ("style", Text(|row| row.style)),
    ("direction", Text(|row| row.direction)),
];

/// The rows of one program: itself, each place of each finding, each check without data, each hole, each cut.
#[must_use]
pub fn table_rows(report: &Report, job: Option<&Job>, fail_on: Severity) -> Vec<TableRow> {
    let book = Book::new(report);
    let base =
        TableRow { program: book.name(SourceId(0)).to_owned(), job: report.job_name.clone(), ..TableRow::default() };
    let mut rows = vec![TableRow {
        kind: "program",
        answer: Some(Row::of(report, fail_on).answer()),
        blocks: count(report.coverage.blocks),
        holes: count(report.coverage.holes),
        ..base.clone()
    }];
    for finding in &report.findings {
        rows.extend(of_finding(&book, finding, &base));
    }
    rows.extend(report.not_checked.iter().map(|missing| of_missing(missing, &base)));
    let holes = report.survey.holes.iter().enumerate();
    rows.extend(holes.map(|(index, hole)| of_hole(&book, index, hole, job, &base)));
    rows.extend(report.survey.cuts.iter().map(|cut| of_cut(&book, cut, job, &base)));
    rows
}

fn count(value: u64) -> Option<i64> {
    i64::try_from(value).ok()
}

/// One row a place, so that a question can count holes; a finding without a place has one row.
fn of_finding(book: &Book<'_>, finding: &Finding, base: &TableRow) -> Vec<TableRow> {
    let whole = TableRow {
        kind: "finding",
        rule: Some(finding.rule.to_owned()),
        severity: Some(finding.severity.word()),
        status: Some(match finding.status {
            Status::Open => "open",
            Status::Waived(_) => "waived",
            Status::Known => "known",
        }),
        text: Some(finding.message.clone()),
        feature: finding.job_entry.clone(),
        measured: finding.measured.as_ref().map(|measured| measured.value),
        bound: finding.limit.as_ref().map(|limit| limit.quantity.value),
        unit: finding.measured.as_ref().map(|measured| measured.unit),
        bound_source: finding.limit.as_ref().map(|limit| limit.origin.clone()),
        places: count(finding.places.len() as u64 + finding.more_places),
        ..base.clone()
    };
    if finding.places.is_empty() {
        return vec![whole];
    }
    finding.places.iter().map(|place| at(book, place, &whole)).collect()
}

fn at(book: &Book<'_>, place: &Place, whole: &TableRow) -> TableRow {
    let hole = place.hole.and_then(|hole| book.report.survey.holes.get(hole as usize));
    let line = book.position(place.source, place.span.start).line;
    TableRow {
        file: Some(book.name(place.source).to_owned()),
        line: Some(i64::from(line)),
        feature: Some(feature(book, place)),
        x: hole.map(|hole| hole.x),
        y: hole.map(|hole| hole.y),
        ..with_tool(book, place.tool, whole)
    }
}

fn with_tool(book: &Book<'_>, tool: Option<u32>, whole: &TableRow) -> TableRow {
    let tool = tool.filter(|tool| *tool != 0);
    let label = tool.and_then(|tool| book.report.tool_labels.get(&tool)).filter(|label| !label.is_empty());
    TableRow { tool: tool.map(i64::from), tool_label: label.cloned(), ..whole.clone() }
}

fn of_missing(missing: &NotChecked, base: &TableRow) -> TableRow {
    TableRow {
        kind: "not-checked",
        rule: Some(missing.rule.clone()),
        status: Some(if missing.needed { "needed" } else { "no limit stated" }),
        text: Some(missing.why.clone()),
        feature: missing.key.clone(),
        ..base.clone()
    }
}

fn of_hole(book: &Book<'_>, index: usize, hole: &Hole, job: Option<&Job>, base: &TableRow) -> TableRow {
    let report = book.report;
    let base = TableRow {
        kind: "hole",
        feature: Some(book.hole(u32::try_from(index).unwrap_or(u32::MAX))),
        file: Some(book.name(hole.source).to_owned()),
        line: Some(i64::from(book.position(hole.source, hole.block).line)),
        x: Some(hole.x),
        y: Some(hole.y),
        ..base.clone()
    };
    let Some(recipe) = report.survey.recipe_of(hole) else { return base };
    let tool = job.and_then(|job| job.tool(recipe.tool));
    let first = recipe.strokes.iter().find(|stroke| stroke.kind == StrokeKind::Feed);
    let reading = report.readings.get(hole.recipe as usize);
    let fastest = |zone: Zone| {
        let passes = reading.iter().flat_map(|reading| &reading.passes).filter(move |pass| pass.zone == zone);
        passes.filter_map(|pass| pass.per_rev).map(|feed| feed.0).reduce(f64::max)
    };
    TableRow {
        z: recipe.heights_known.then_some(recipe.bottom),
        diameter: tool.and_then(|tool| recipe.finished_diameter(tool)).map(|diameter| diameter.0),
        speed: first.and_then(|stroke| stroke.speed),
        feed: first.and_then(|stroke| stroke.feed),
        body_feed_per_rev: fastest(Zone::Body),
        exit_feed_per_rev: fastest(Zone::Exit),
        full_up_to: reading.and_then(|reading| reading.breakthrough.as_ref()).map(|out| out.full_up_to.0),
        ..with_tool(book, Some(recipe.tool), &base)
    }
}

fn of_cut(book: &Book<'_>, cut: &Cut, job: Option<&Job>, base: &TableRow) -> TableRow {
    let edge = cut.edge.and_then(|edge| job?.edges.get(edge)).map(|edge| edge.id.clone());
    let base = TableRow {
        kind: "edge",
        feature: edge,
        file: Some(book.name(cut.first.source).to_owned()),
        line: Some(i64::from(book.position(cut.first.source, cut.first.span.start).line)),
        z: Some(cut.lowest),
        length: Some(cut.length),
        style: cut.style.map(|style| match style {
            CutStyle::Slot => "slot",
            CutStyle::Profile => "profile",
            CutStyle::Light => "light",
        }),
        direction: cut.direction.map(|direction| match direction {
            CutDirection::Climb => "climb",
            CutDirection::Conventional => "conventional",
        }),
        ..base.clone()
    };
    with_tool(book, Some(cut.tool), &base)
}

/// The rows as an Apache Parquet file (format 2), all columns but `kind` and `program` nullable.
///
/// # Errors
/// Says why the file could not be made: a build without the feature `parquet` makes none.
#[cfg(not(feature = "parquet"))]
pub fn parquet(_rows: &[TableRow]) -> Result<Vec<u8>, String> {
    debug_assert!(!COLUMNS.is_empty());
    Err("this lastply was built without tables; `cargo install --path . --features parquet` builds one with".to_owned())
}

#[cfg(feature = "parquet")]
pub use file::parquet;

#[cfg(feature = "parquet")]
mod file {
    use super::{COLUMNS, Column, TableRow};
    use parquet::basic::Compression;
    use parquet::data_type::{ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
    use parquet::errors::ParquetError;
    use parquet::file::properties::WriterProperties;
    use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
    use parquet::schema::parser::parse_message_type;
    use std::sync::Arc;

    /// The rows as an Apache Parquet file.
    ///
    /// # Errors
    /// Says why the file could not be made.
    pub fn parquet(rows: &[TableRow]) -> Result<Vec<u8>, String> {
        encode(rows).map_err(|error| error.to_string())
    }

    fn encode(rows: &[TableRow]) -> Result<Vec<u8>, ParquetError> {
        let schema = Arc::new(parse_message_type(&message())?);
        let properties = WriterProperties::builder().set_compression(Compression::SNAPPY).build();
        let mut writer = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties))?;
        let mut group = writer.next_row_group()?;
        let mut columns = COLUMNS.iter();
        while let Some(mut place) = group.next_column()? {
            match columns.next().map(|(_, column)| column) {
                Some(Column::Text(of)) => {
                    let cells = rows.iter().map(|row| of(row).map(|text| ByteArray::from(text.as_bytes().to_vec())));
                    fill::<ByteArrayType>(&mut place, cells)?;
                }
                Some(Column::Count(of)) => fill::<Int64Type>(&mut place, rows.iter().map(of))?,
                Some(Column::Number(of)) => {
                    fill::<DoubleType>(&mut place, rows.iter().map(|row| of(row).filter(|value| value.is_finite())))?;
                }
                None => {}
            }
            place.close()?;
        }
        group.close()?;
        writer.into_inner()
    }

    /// The schema in the notation of the format.
    fn message() -> String {
        let columns = COLUMNS.iter().map(|(name, column)| match column {
            Column::Text(_) => format!("optional binary {name} (UTF8);"),
            Column::Count(_) => format!("optional int64 {name};"),
            Column::Number(_) => format!("optional double {name};"),
        });
        format!("message lastply {{ {} }}", columns.collect::<Vec<_>>().join(" "))
    }

    /// Writes a column: the values that are there, and for each row whether one is.
    fn fill<T: DataType>(
        place: &mut SerializedColumnWriter<'_>,
        cells: impl Iterator<Item = Option<T::T>>,
    ) -> Result<(), ParquetError> {
        let (mut values, mut levels) = (Vec::new(), Vec::new());
        for cell in cells {
            levels.push(i16::from(cell.is_some()));
            values.extend(cell);
        }
        place.typed::<T>().write_batch(&values, Some(&levels), None).map(|_| ())
    }
}
