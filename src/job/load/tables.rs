//! The raw tables of a job file and of a library, and how text becomes them.

use super::at::{At, span_of};
use super::edges::EdgeTable;
use super::fixture::FixtureTable;
use super::holes::HolesTable;
use super::laminate_table::LaminateTable;
use super::machine::MachineTable;
use super::reader::{Given, Reader};
use super::shape;
use super::tool_table::ToolTable;
use super::tuning::TuneTable;
use super::units_word::UnitsWord;
use super::waiver::{PolicyWord, WaiverTable};
use super::workpiece::WorkpieceTable;
use crate::source::Span;
use schemars::{JsonSchema, SchemaGenerator};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use toml::de::{DeTable, Deserializer};

/// Laminates by name.
pub(super) type Laminates = BTreeMap<String, At<LaminateTable>>;
/// Tools by number.
pub(super) type Tools = BTreeMap<u32, At<ToolTable>>;

/// What the program text cannot tell about one job.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "lastply job file")]
pub(in crate::job) struct JobTables {
    /// Libraries of laminates, tools and machines, relative to this file. This file wins over them.
    #[serde(rename = "use")]
    pub(super) libraries: Option<Vec<At<String>>>,
    /// Which part and which operation.
    #[schemars(required)]
    pub(super) job: Option<HeadTable>,
    /// The machine and its control.
    pub(super) machine: Option<At<MachineTable>>,
    /// Laminates and stacks by name.
    pub(super) laminate: Option<Laminates>,
    /// Tools by number.
    pub(super) tool: Option<Tools>,
    /// What stands around the part.
    pub(super) fixture: Option<FixtureTable>,
    /// The panel before this operation.
    pub(super) workpiece: Option<At<WorkpieceTable>>,
    /// Edges of the drawing.
    pub(super) edges: Option<Vec<At<EdgeTable>>>,
    /// Hole groups of the drawing.
    pub(super) holes: Option<Vec<At<HolesTable>>>,
    /// How far tuning may go.
    pub(super) tune: Option<TuneTable>,
    /// Severity of a rule, by its name.
    pub(super) rules: Option<BTreeMap<At<String>, PolicyWord>>,
    /// Accepted departures.
    pub(super) waiver: Option<Vec<At<WaiverTable>>>,
}

/// A library that job files use.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LibraryTables {
    /// Length unit of bare numbers in this file.
    pub units: Option<UnitsWord>,
    /// A machine and its control.
    pub machine: Option<At<MachineTable>>,
    /// Laminates and stacks by name.
    pub laminate: Option<Laminates>,
    /// Tools by number.
    pub tool: Option<Tools>,
}

/// Which part and which operation.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct HeadTable {
    /// Part number or name.
    #[schemars(required)]
    pub part: Option<String>,
    /// Operation.
    pub operation: Option<String>,
    /// Revision of the program.
    pub revision: Option<String>,
    /// Drawing and its revision.
    pub drawing: Option<String>,
    /// Length unit of the program, and of bare numbers in this file.
    pub units: Option<UnitsWord>,
    /// Which face the tool enters, in the shop's words.
    pub entry_face: Option<String>,
    /// Height of the entry face in program coordinates; every depth counts from it.
    #[schemars(required)]
    pub entry_z: Given,
    /// Work offset the part is set in, such as `G54`.
    pub work_offset: Option<String>,
    /// Which laminate is cut.
    pub laminate: Option<At<String>>,
    /// The day the job is judged on, year-month-day.
    pub date: Option<At<String>>,
}

/// The tables a library and a job file both may have.
pub(super) struct Shared<'t> {
    pub machine: Option<&'t MachineTable>,
    pub laminates: Option<&'t Laminates>,
    pub tools: Option<&'t Tools>,
}

impl JobTables {
    /// The tables a library may have as well.
    pub(super) fn shared(&self) -> Shared<'_> {
        let machine = self.machine.as_ref().map(|machine| &machine.value);
        Shared { machine, laminates: self.laminate.as_ref(), tools: self.tool.as_ref() }
    }
}

/// Parses the reader's file into raw tables. Faults go to the reader; `None` when the text is no TOML at all.
pub(super) fn parse<T: DeserializeOwned + JsonSchema>(reader: &mut Reader) -> Option<T> {
    let file = std::sync::Arc::clone(&reader.file);
    let text = match std::str::from_utf8(&file.bytes) {
        Ok(text) => text,
        Err(fault) => {
            let at = fault.valid_up_to();
            reader.error(span_of(&(at..at + 1)), "the file is not UTF-8 text", None);
            return None;
        }
    };
    let (mut table, faults) = DeTable::parse_recoverable(text);
    for fault in &faults {
        reader.error(fault.span().map(|span| span_of(&span)).unwrap_or_default(), fault.message(), None);
    }
    if !faults.is_empty() {
        return None;
    }
    let schema = SchemaGenerator::default().into_root_schema_for::<T>().to_value();
    for misfit in shape::fit(table.get_mut(), Span::new(0, 0), &schema) {
        reader.error(misfit.span, misfit.message, misfit.help);
    }
    match T::deserialize(Deserializer::from(table)) {
        Ok(tables) => Some(tables),
        Err(fault) => {
            reader.error(fault.span().map(|span| span_of(&span)).unwrap_or_default(), fault.message(), None);
            None
        }
    }
}
