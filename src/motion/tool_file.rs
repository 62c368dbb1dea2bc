//! A tool table for programs without a job: `[tool.N]` with `length` and `diameter`, as job files write them.

use super::{ToolOffset, ToolTable};
use crate::source::Source;
use crate::units::UnitSystem;
use serde::Deserialize;
use std::collections::BTreeMap;

/// The file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToolFile {
    /// Unit of its numbers.
    #[serde(default)]
    units: Unit,
    /// Tools by number.
    #[serde(default)]
    tool: BTreeMap<String, Row>,
}

#[derive(Clone, Copy, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Unit {
    #[default]
    Mm,
    In,
}

/// One tool. What a job file says of it besides is of no use here and let pass.
#[derive(Deserialize)]
struct Row {
    length: Option<f64>,
    diameter: Option<f64>,
}

impl ToolTable {
    /// Reads a tool table.
    ///
    /// # Errors
    /// When the file is none; the words begin with its name.
    pub fn read(source: &Source) -> Result<Self, String> {
        let text = std::str::from_utf8(&source.bytes).map_err(|error| error.to_string());
        text.and_then(table).map_err(|why| format!("{}: {why}", source.name))
    }
}

fn table(text: &str) -> Result<ToolTable, String> {
    let file: ToolFile = toml::from_str(text).map_err(|error| error.to_string())?;
    let mm = match file.units {
        Unit::Mm => UnitSystem::Metric.mm(),
        Unit::In => UnitSystem::Inch.mm(),
    };
    let mut table = ToolTable::default();
    for (number, row) in file.tool {
        let number = number.parse().map_err(|_| format!("`tool.{number}`: a tool is named by its number"))?;
        let offset = ToolOffset { length: row.length.map(|x| x * mm), diameter: row.diameter.map(|x| x * mm) };
        table.entries.insert(number, offset);
    }
    Ok(table)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_come_in_the_unit_of_the_file() {
        let read = table("units = \"in\"\n[tool.3]\nlength = 2\ndiameter = 0.25\nkind = \"router\"\n").unwrap();
        assert_eq!(read.entries.get(&3), Some(&ToolOffset { length: Some(50.8), diameter: Some(6.35) }));
    }

    #[test]
    fn what_is_no_tool_table_is_refused() {
        assert!(table("[tool.three]\nlength = 2\n").unwrap_err().contains("named by its number"));
        assert!(table("[job]\npart = \"A\"\n").is_err());
    }
}
