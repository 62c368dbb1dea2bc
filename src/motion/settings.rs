//! What a run starts from: a dialect, what the job declares over it, and the offsets of the tools.

use super::{Axes, Declared, Dialect, ReturnLevel};
use crate::job::{Job, Machine};
use crate::units::{Millimetres, UnitSystem};
use std::collections::BTreeMap;

/// Dialect and declared facts of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// The dialect.
    pub dialect: &'static Dialect,
    /// The dialect's declared facts with those of the job over them.
    pub declared: Declared,
    /// Axes the machine has.
    pub axes: Axes,
    /// Whether blocks marked `/` are left out; the switch is off unless someone asks.
    pub block_delete: bool,
    /// Units at power-up, when the job or the dialect states them.
    pub power_up_units: UnitSystem,
    /// Return level at power-up.
    pub power_up_level: ReturnLevel,
    /// Where G28 goes in program coordinates, mm, as far as the job says.
    pub home: [Option<f64>; 3],
    /// M codes that start dust extraction.
    pub extraction_on: Vec<u32>,
    /// M codes that stop dust extraction.
    pub extraction_off: Vec<u32>,
    /// M codes of this machine that concern no path, spindle or coolant.
    pub known_codes: Vec<u32>,
    /// Calls a run makes before repetition is followed no further.
    pub most_calls: u64,
    /// Blocks a run reads inside subprograms before repetition is followed no further.
    pub most_called_blocks: u64,
}

/// House value: more holes than any part has.
const MOST_CALLS: u64 = 1_000_000;
/// House value: a few seconds' work.
const MOST_CALLED_BLOCKS: u64 = 20_000_000;

impl Settings {
    /// The machine's facts over those of `dialect`.
    #[must_use]
    pub fn new(dialect: &'static Dialect, machine: Option<&Machine>) -> Self {
        let plain = Machine::default();
        let machine = machine.unwrap_or(&plain);
        let base = dialect.declared;
        let length = |declared: Option<Millimetres>, otherwise| declared.map(|length| length.0).or(otherwise);
        let level = machine.power_up.and_then(|power_up| power_up.return_initial);
        Self {
            dialect,
            declared: Declared {
                dwell_unit: machine.dwell_unit.or(base.dwell_unit),
                peck_clearance: length(machine.peck_clearance, base.peck_clearance),
                peck_back_off: length(machine.peck_back_off, base.peck_back_off),
                number_input: machine.number_input.or(base.number_input),
                feed_memory: machine.feed_memory.or(base.feed_memory),
                inverse_time: machine.inverse_time.or(base.inverse_time),
                repeat_word: machine.repeat_word.or(base.repeat_word),
            },
            axes: Axes::ALL,
            block_delete: false,
            power_up_units: machine.power_up.and_then(|power_up| power_up.units).unwrap_or(dialect.start_unit),
            power_up_level: match level {
                Some(true) => ReturnLevel::Initial,
                Some(false) => ReturnLevel::RPlane,
                None => dialect.start_level,
            },
            home: machine.home.map(|home| home.map(|home| home.0)),
            extraction_on: machine.extraction_on.clone(),
            extraction_off: machine.extraction_off.clone(),
            known_codes: machine.known_codes.iter().map(|(code, _)| *code).collect(),
            most_calls: MOST_CALLS,
            most_called_blocks: MOST_CALLED_BLOCKS,
        }
    }

    /// Settings of a job, whose dialect is `shop` unless it names another; `None` for a dialect nobody knows.
    #[must_use]
    pub fn of_job(job: Option<&Job>) -> Option<Self> {
        let machine = job.map(|job| &job.machine);
        let name = machine.and_then(|machine| machine.dialect.as_deref()).unwrap_or("shop");
        Dialect::named(name).map(|dialect| Self::of(dialect, job))
    }

    /// Settings of a job in a given dialect.
    #[must_use]
    pub fn of(dialect: &'static Dialect, job: Option<&Job>) -> Self {
        let machine = job.map(|job| &job.machine);
        let mut settings = Self::new(dialect, machine);
        // A program that states no unit is read in the one the job says it is posted in.
        if let Some(units) = job.and_then(|job| job.head.units).filter(|_| machine.is_none_or(|m| m.power_up.is_none()))
        {
            settings.power_up_units = units;
        }
        settings
    }

    /// What the reader needs to know.
    #[must_use]
    pub fn lexis(&self) -> crate::syntax::Lexis {
        crate::syntax::Lexis { strict: self.dialect.strict }
    }
}

/// One row of the control's offset table.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ToolOffset {
    /// Length.
    pub length: Option<f64>,
    /// Diameter; negative for a tool smaller than the path was made for.
    pub diameter: Option<f64>,
}

/// Tool lengths and diameters by offset number.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToolTable {
    /// Rows.
    pub entries: BTreeMap<u32, ToolOffset>,
    /// Whether rows are in the units the program has active rather than in mm (NISTIR 6556 leaves them unconverted).
    pub program_units: bool,
}

impl ToolTable {
    /// Offsets of the job's tools, mm.
    #[must_use]
    pub fn of_job(job: &Job) -> Self {
        let mut table = Self::default();
        for tool in job.tools.values() {
            let length = table.entries.entry(tool.length_offset.unwrap_or(tool.number)).or_default();
            length.length = tool.length.map(|length| length.0);
            let radius = table.entries.entry(tool.radius_offset.unwrap_or(tool.number)).or_default();
            radius.diameter = Some(tool.diameter.0);
        }
        table
    }

    /// Length for H number `h`, mm; 0 for H0.
    #[must_use]
    pub fn length(&self, h: u32, units: UnitSystem) -> Option<f64> {
        if h == 0 {
            return Some(0.0);
        }
        Some(self.entries.get(&h)?.length? * self.scale(units))
    }

    /// Diameter for D number `d`, mm; 0 for D0.
    #[must_use]
    pub fn diameter(&self, d: u32, units: UnitSystem) -> Option<f64> {
        if d == 0 {
            return Some(0.0);
        }
        Some(self.entries.get(&d)?.diameter? * self.scale(units))
    }

    fn scale(&self, units: UnitSystem) -> f64 {
        if self.program_units { units.mm() } else { 1.0 }
    }
}
