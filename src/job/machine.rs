//! The machine and the facts of its control that a program text does not carry.

use super::Limit;
use crate::units::{MetresPerMin, Millimetres, MmPerMin, RevPerMin, Seconds, UnitSystem};
use schemars::JsonSchema;
use serde::Deserialize;

/// `[machine]`. A dialect file supplies what the job file leaves out; what neither says stays `None`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Machine {
    /// Name in reports.
    pub name: String,
    /// Dialect file the facts start from, such as `shop` or `rs274-ngc`.
    pub dialect: Option<String>,
    /// How the tool is fed.
    pub feeding: Option<FeedingMethod>,
    /// Unit of an integer P in G4 and cycles.
    pub dwell_unit: Option<DwellUnit>,
    /// How far a full-retract peck stops short of the last depth.
    pub peck_clearance: Option<Millimetres>,
    /// How far a chip-break peck backs off.
    pub peck_back_off: Option<Millimetres>,
    /// What a number without a decimal point means.
    pub number_input: Option<NumberInput>,
    /// Whether G94 and G95 keep feeds of their own.
    pub feed_memory: Option<FeedMemory>,
    /// What F means under G93.
    pub inverse_time: Option<InverseTime>,
    /// Word that repeats a cycle.
    pub repeat_word: Option<RepeatWord>,
    /// Modal state at power-up, where the shop relies on it.
    pub power_up: Option<PowerUp>,
    /// How subprograms are written, for patches that want one.
    pub subprogram: Option<SubprogramStyle>,
    /// Least and most program coordinate for each of X, Y, Z, with offsets as set.
    pub travel: [Option<(Millimetres, Millimetres)>; 3],
    /// Most spindle speed.
    pub max_speed: Option<Limit<RevPerMin>>,
    /// Most feed.
    pub max_feed: Option<Limit<MmPerMin>>,
    /// Rapid rate for each of X, Y, Z.
    pub rapid: [Option<MmPerMin>; 3],
    /// Acceleration for each of X, Y, Z in m/s2.
    pub acceleration: [Option<f64>; 3],
    /// Jerk for each of X, Y, Z in m/s3; acceleration changes at once when `None`.
    pub jerk: [Option<f64>; 3],
    /// How the control goes round corners when no exact stop is active.
    pub corner: Option<CornerMode>,
    /// How many blocks the control looks ahead.
    pub look_ahead: Option<u32>,
    /// Time the control needs for one block.
    pub block_time: Option<Seconds>,
    /// How rapids run.
    pub rapid_style: Option<RapidStyle>,
    /// Time of a tool change.
    pub tool_change: Option<Seconds>,
    /// Time the spindle needs to reach its speed.
    pub spin_up: Option<Seconds>,
    /// Longest line the control takes, in characters.
    pub line_limit: Option<u32>,
    /// M codes that start dust extraction.
    pub extraction_on: Vec<u32>,
    /// M codes that stop dust extraction.
    pub extraction_off: Vec<u32>,
    /// M codes of this machine that do nothing to motion, spindle or coolant, with their meaning.
    pub known_codes: Vec<(u32, String)>,
    /// Where G28 goes, per axis, in program coordinates.
    pub home: [Option<Millimetres>; 3],
    /// Surface speed beyond which S and D are implausible; house value unless the job says.
    pub absurd_speed: Option<Limit<MetresPerMin>>,
}

/// How a control goes round a corner between two feed blocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CornerMode {
    /// It stops at every block end.
    ExactStop,
    /// It rounds the corner within this distance of it.
    Blend(Millimetres),
}

/// How rapids run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RapidStyle {
    /// In a straight line.
    Interpolated,
    /// Every axis at its own rate: a dog-leg.
    AxisByAxis,
}

/// How the tool is fed into the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FeedingMethod {
    /// By hand.
    Hand,
    /// Portable unit with powered feed.
    PowerFeed,
    /// Track-mounted unit.
    Track,
    /// CNC machine.
    Cnc,
}

/// Unit of a dwell's P word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DwellUnit {
    /// Seconds.
    Seconds,
    /// Milliseconds.
    Milliseconds,
    /// Milliseconds without a decimal point, seconds with one.
    MillisecondsWithoutPoint,
}

/// What a length without a decimal point means.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NumberInput {
    /// The same as with one.
    Decimal,
    /// So many least increments of this size, in program units.
    Increment(f64),
}

/// What happens to F when the feed mode changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FeedMemory {
    /// One F for all modes; the number stays.
    Shared,
    /// Each mode has its own last F.
    PerMode,
    /// F must be given again.
    Cleared,
}

/// What F means under G93.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum InverseTime {
    /// One over minutes.
    PerMinute,
    /// Seconds for the block.
    Seconds,
}

/// The word that repeats a cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RepeatWord {
    /// L.
    #[serde(rename = "L")]
    L,
    /// K.
    #[serde(rename = "K")]
    K,
    /// Either.
    Either,
}

/// Modal state the control wakes up in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct PowerUp {
    /// Units.
    pub units: Option<UnitSystem>,
    /// G98 rather than G99.
    pub return_initial: Option<bool>,
}

/// How a shared exit stroke is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SubprogramStyle {
    /// M98 P with M99 at the end of the callee.
    #[serde(rename = "M98")]
    M98,
}
