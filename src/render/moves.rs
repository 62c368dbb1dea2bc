//! Every rebuilt move: a table for people, CSV and JSON for machines.

use super::CAUTION;
use crate::motion::{COLUMNS, MoveRow};
use crate::source::{Source, SourceId};
use crate::units::{UnitSystem, trimmed};
use serde::Serialize;

/// Decimals of numbers in CSV and tables: finer than any control resolves, coarser than rounding of sums.
const DECIMALS: usize = 6;

/// Widths of the columns in one system of units.
type Widths = [usize; COLUMNS.len()];

/// How moves are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MovesFormat {
    /// Columns for people, those without any value left out, in the program's own units.
    Table,
    /// Comma-separated values under a fixed head: mm, degrees, mm/min, rev/min.
    Csv,
    /// One document, one move a line, in mm, degrees, mm/min, rev/min.
    Json,
}

/// How wide the columns of a table must be: every row is measured before the first is written.
#[derive(Debug, Default)]
pub struct MovesLayout {
    metric: Widths,
    inch: Widths,
}

impl MovesLayout {
    /// Makes room for a row.
    pub fn measure(&mut self, row: &MoveRow) {
        let turned = row.end.iter().skip(3).any(|angle| angle.is_some_and(|angle| angle != 0.0));
        for (units, widths) in [(UnitSystem::Metric, &mut self.metric), (UnitSystem::Inch, &mut self.inch)] {
            let cells = cells(row, units, table_decimals(units));
            for ((cell, width), head) in cells.iter().zip(widths).zip(COLUMNS) {
                // A rotary axis that stays at zero throughout needs no column.
                let rests = ["a", "b", "c"].contains(&head) && !turned && *width == 0;
                if !cell.is_empty() && !rests {
                    *width = cell.len().max(head.len()).max(*width);
                }
            }
        }
    }

    fn widths(&self, units: UnitSystem) -> &Widths {
        match units {
            UnitSystem::Metric => &self.metric,
            UnitSystem::Inch => &self.inch,
        }
    }
}

/// Writes moves one after another, so that a program of a million moves needs no room for them.
pub struct MovesWriter<'a> {
    format: MovesFormat,
    sources: &'a [Source],
    units: UnitSystem,
    layout: MovesLayout,
    /// Source of the row before; `None` before the first row.
    last: Option<SourceId>,
}

impl<'a> MovesWriter<'a> {
    /// A writer; `layout` must have measured every row of a table.
    #[must_use]
    pub fn new(format: MovesFormat, sources: &'a [Source], units: UnitSystem, layout: MovesLayout) -> Self {
        Self { format, sources, units, layout, last: None }
    }

    /// What stands before the first row.
    #[must_use]
    pub fn head(&self) -> String {
        match self.format {
            MovesFormat::Table if self.layout.metric == Widths::default() => format!("no moves\n{}", self.legend()),
            MovesFormat::Table => line(&COLUMNS.map(str::to_owned), self.layout.widths(self.units)) + self.legend(),
            MovesFormat::Csv => csv(&COLUMNS.map(str::to_owned)),
            MovesFormat::Json => json_head(),
        }
    }

    /// One row.
    pub fn row(&mut self, row: &MoveRow) -> String {
        let last = self.last.replace(row.source);
        match self.format {
            MovesFormat::Table => {
                let cells = cells(row, self.units, table_decimals(self.units));
                let text = line(&cells, self.layout.widths(self.units));
                let moved = last.is_some_and(|last| last != row.source);
                if moved { format!("-- in {}\n{text}", name(self.sources, row)) } else { text }
            }
            MovesFormat::Csv => csv(&cells(row, UnitSystem::Metric, DECIMALS)),
            MovesFormat::Json => {
                // Strings, integers and floats in a struct cannot fail to serialise.
                let text = serde_json::to_string(&move_out(row, self.sources)).unwrap_or_default();
                format!("{}\n    {text}", if last.is_some() { "," } else { "" })
            }
        }
    }

    /// The units of a table.
    fn legend(&self) -> &'static str {
        match self.units {
            UnitSystem::Metric => "units: mm, degrees, mm/min, rev/min\n",
            UnitSystem::Inch => "units: in, degrees, in/min, rev/min\n",
        }
    }

    /// What stands behind the last row.
    #[must_use]
    pub fn tail(&self) -> &'static str {
        match self.format {
            MovesFormat::Table | MovesFormat::Csv => "",
            MovesFormat::Json => "\n  ]\n}\n",
        }
    }
}

fn table_decimals(units: UnitSystem) -> usize {
    match units {
        UnitSystem::Metric => 3,
        UnitSystem::Inch => 4,
    }
}

/// The cells of one row in the order of `COLUMNS`; an unknown value is an empty cell.
fn cells(row: &MoveRow, units: UnitSystem, decimals: usize) -> [String; COLUMNS.len()] {
    let number = |value: Option<f64>, by: f64| value.map(|value| trimmed(value / by, decimals)).unwrap_or_default();
    let length = |value| number(value, units.mm());
    let [x, y, z, a, b, c] = row.end;
    let [i, j, k] = row.centre;
    [
        row.line.to_string(),
        row.n.clone().unwrap_or_default(),
        row.kind.to_owned(),
        length(x),
        length(y),
        length(z),
        number(a, 1.0),
        number(b, 1.0),
        number(c, 1.0),
        length(i),
        length(j),
        length(k),
        length(row.feed),
        number(row.rpm, 1.0),
        row.sense.to_owned(),
        row.tool.to_string(),
        row.step.clone(),
    ]
}

/// A row of the table: columns of equal width, words to the left and numbers to the right.
fn line(cells: &[String], widths: &[usize]) -> String {
    let shown = cells.iter().zip(widths).zip(COLUMNS).filter(|((_, width), _)| **width > 0);
    let padded = shown.map(|((cell, width), head)| match head {
        "kind" | "sense" | "step" => format!("{cell:width$}"),
        _ => format!("{cell:>width$}"),
    });
    // One blank between columns keeps a move with arc centre, speed and tool within 80 columns.
    let text = padded.collect::<Vec<_>>().join(" ");
    format!("{}\n", text.trim_end())
}

fn csv(cells: &[String]) -> String {
    let mut writer = csv::WriterBuilder::new().buffer_capacity(256).from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(cells);
    writer.into_inner().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).unwrap_or_default()
}

/// One move as JSON tells it.
#[derive(Serialize)]
struct MoveOut<'a> {
    file: &'a str,
    line: u32,
    n: Option<&'a str>,
    kind: &'static str,
    x: Option<f64>,
    y: Option<f64>,
    z: Option<f64>,
    a: Option<f64>,
    b: Option<f64>,
    c: Option<f64>,
    i: Option<f64>,
    j: Option<f64>,
    k: Option<f64>,
    feed: Option<f64>,
    rpm: Option<f64>,
    sense: &'static str,
    tool: Option<u32>,
    step: &'a str,
}

/// The document up to its moves, with what their numbers mean.
fn json_head() -> String {
    let caution = serde_json::Value::from(CAUTION);
    format!(
        "{{\n  \"schema_version\": 1,\n  \"caution\": {caution},\n  \"length\": \"mm\",\n  \"angle\": \"deg\",\n  \
         \"feed\": \"mm/min\",\n  \"speed\": \"rev/min\",\n  \"moves\": ["
    )
}

fn move_out<'a>(row: &'a MoveRow, sources: &'a [Source]) -> MoveOut<'a> {
    let [x, y, z, a, b, c] = row.end;
    let [i, j, k] = row.centre;
    MoveOut {
        file: name(sources, row),
        line: row.line,
        n: row.n.as_deref(),
        kind: row.kind,
        x,
        y,
        z,
        a,
        b,
        c,
        i,
        j,
        k,
        feed: row.feed,
        rpm: row.rpm,
        sense: row.sense,
        tool: Some(row.tool).filter(|tool| *tool != 0),
        step: &row.step,
    }
}

fn name<'a>(sources: &'a [Source], row: &MoveRow) -> &'a str {
    sources.get(usize::from(row.source.0)).map_or("", |source| source.name.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Vec<MoveRow> {
        let row = MoveRow {
            source: SourceId(0),
            line: 4,
            n: Some("40".to_owned()),
            kind: "rapid",
            end: [Some(25.4), None, Some(2.54), Some(0.0), None, None],
            centre: [None; 3],
            feed: None,
            rpm: Some(2650.0),
            sense: "cw",
            tool: 11,
            step: String::new(),
        };
        let centre = [Some(-12.7), Some(0.1 + 0.2), None];
        let arc = MoveRow { kind: "arc-cw", line: 5, n: None, centre, feed: Some(254.0), ..row.clone() };
        let peck = MoveRow { source: SourceId(1), kind: "line", step: "feed 1".to_owned(), ..row.clone() };
        vec![row, arc, peck]
    }

    fn moves(rows: &[MoveRow], sources: &[Source], units: UnitSystem, format: MovesFormat) -> String {
        let mut layout = MovesLayout::default();
        rows.iter().for_each(|row| layout.measure(row));
        let mut writer = MovesWriter::new(format, sources, units, layout);
        let head = writer.head();
        let body: String = rows.iter().map(|row| writer.row(row)).collect();
        head + &body + writer.tail()
    }

    fn sources() -> Vec<Source> {
        vec![Source::new("main.nc", ""), Source::new("O8001.nc", "")]
    }

    #[test]
    fn the_table_leaves_out_what_no_move_has() {
        insta::assert_snapshot!(moves(&rows(), &sources(), UnitSystem::Inch, MovesFormat::Table));
    }

    #[test]
    fn csv_has_the_fixed_head_and_plain_numbers() {
        let text = moves(&rows(), &sources(), UnitSystem::Inch, MovesFormat::Csv);
        let mut lines = text.lines();
        assert_eq!(lines.next(), Some("line,n,kind,x,y,z,a,b,c,i,j,k,feed,rpm,sense,tool,step"));
        assert_eq!(lines.next(), Some("4,40,rapid,25.4,,2.54,0,,,,,,,2650,cw,11,"));
        assert_eq!(lines.next(), Some("5,,arc-cw,25.4,,2.54,0,,,-12.7,0.3,,254,2650,cw,11,"));
    }

    #[test]
    fn json_names_the_file_of_a_subprogram_move() {
        let text = moves(&rows(), &sources(), UnitSystem::Inch, MovesFormat::Json);
        let document: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(document["moves"][2]["file"], "O8001.nc");
        assert_eq!(document["moves"][1]["i"], -12.7);
        assert_eq!((&document["length"], &document["caution"]), (&"mm".into(), &CAUTION.into()));
    }

    #[test]
    fn no_moves_are_a_head_alone() {
        assert_eq!(moves(&[], &[], UnitSystem::Metric, MovesFormat::Csv).lines().count(), 1);
        let document = moves(&[], &[], UnitSystem::Metric, MovesFormat::Json);
        assert_eq!(serde_json::from_str::<serde_json::Value>(&document).unwrap()["moves"], serde_json::json!([]));
        assert!(moves(&[], &[], UnitSystem::Metric, MovesFormat::Table).contains("units: mm, degrees, mm/min"));
    }
}
