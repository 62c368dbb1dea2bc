//! Every rebuilt move: a table for people, CSV and JSON for machines.

use super::CAUTION;
use crate::motion::{COLUMNS, MoveRow};
use crate::source::Source;
use crate::units::{UnitSystem, trimmed};
use serde::Serialize;

/// Decimals of numbers in CSV and tables: finer than any control resolves, coarser than rounding of sums.
const DECIMALS: usize = 6;

/// How moves are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MovesFormat {
    /// Columns for people, those without any value left out, in the program's own units.
    Table,
    /// Comma-separated values under a fixed head: mm, degrees, mm/min, rev/min.
    Csv,
    /// One document, in mm, degrees, mm/min, rev/min.
    Json,
}

/// All rows in a format.
#[must_use]
pub fn moves(rows: &[MoveRow], sources: &[Source], units: UnitSystem, format: MovesFormat) -> String {
    match format {
        MovesFormat::Table => table(rows, sources, units),
        MovesFormat::Csv => csv(rows),
        MovesFormat::Json => json(rows, sources),
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

/// Columns of equal width, words to the left and numbers to the right.
fn table(rows: &[MoveRow], sources: &[Source], units: UnitSystem) -> String {
    let decimals = match units {
        UnitSystem::Metric => 3,
        UnitSystem::Inch => 4,
    };
    let cells: Vec<_> = rows.iter().map(|row| cells(row, units, decimals)).collect();
    let widths: Vec<usize> = COLUMNS
        .iter()
        .enumerate()
        .map(|(column, head)| {
            let widest = cells.iter().filter_map(|row| row.get(column)).map(String::len).max().unwrap_or(0);
            if widest == 0 || turns_nowhere(column, &cells) { 0 } else { widest.max(head.len()) }
        })
        .collect();
    let mut text = line(&COLUMNS.map(str::to_owned), &widths);
    let mut source = rows.first().map_or(0, |row| row.source.0);
    for (row, cells) in rows.iter().zip(&cells) {
        if row.source.0 != source {
            source = row.source.0;
            text.push_str(&format!("-- in {}\n", name(sources, row)));
        }
        text.push_str(&line(cells, &widths));
    }
    let (length, feed) = match units {
        UnitSystem::Metric => ("mm", "mm/min"),
        UnitSystem::Inch => ("in", "in/min"),
    };
    text.push_str(&format!("units: {length}, degrees, {feed}, rev/min\n"));
    text
}

/// Whether a column is that of a rotary axis which stays at zero throughout.
fn turns_nowhere(column: usize, cells: &[[String; COLUMNS.len()]]) -> bool {
    let rotary = COLUMNS.get(column).is_some_and(|head| ["a", "b", "c"].contains(head));
    rotary && cells.iter().filter_map(|row| row.get(column)).all(|cell| cell.is_empty() || cell == "0")
}

fn line(cells: &[String], widths: &[usize]) -> String {
    let shown = cells.iter().zip(widths).zip(COLUMNS).filter(|((_, width), _)| **width > 0);
    let padded = shown.map(|((cell, width), head)| match head {
        "kind" | "sense" | "step" => format!("{cell:width$}"),
        _ => format!("{cell:>width$}"),
    });
    let text = padded.collect::<Vec<_>>().join("  ");
    format!("{}\n", text.trim_end())
}

fn csv(rows: &[MoveRow]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory cannot fail.
    let _ = writer.write_record(COLUMNS);
    for row in rows {
        let _ = writer.write_record(cells(row, UnitSystem::Metric, DECIMALS));
    }
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

/// All moves with what their numbers mean.
#[derive(Serialize)]
struct MovesOut<'a> {
    schema_version: u32,
    caution: &'static str,
    length: &'static str,
    angle: &'static str,
    feed: &'static str,
    speed: &'static str,
    moves: Vec<MoveOut<'a>>,
}

fn json(rows: &[MoveRow], sources: &[Source]) -> String {
    let document = MovesOut {
        schema_version: 1,
        caution: CAUTION,
        length: "mm",
        angle: "deg",
        feed: "mm/min",
        speed: "rev/min",
        moves: rows.iter().map(|row| move_out(row, sources)).collect(),
    };
    // Strings, integers and floats in structs and lists cannot fail to serialise.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
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
    use crate::source::SourceId;

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
        assert_eq!(document["length"], "mm");
    }

    #[test]
    fn no_moves_are_a_head_alone() {
        assert_eq!(moves(&[], &[], UnitSystem::Metric, MovesFormat::Csv).lines().count(), 1);
        assert!(moves(&[], &[], UnitSystem::Metric, MovesFormat::Table).contains("units: mm, degrees, mm/min"));
    }
}
