//! `[machine]`: limits of the machine and the facts of its control.

use super::amount::{Acceleration, Amount, Jerk};
use super::at::At;
use super::reader::{Given, Reader};
use super::units_word::UnitsWord;
use crate::job::{
    CornerMode, DwellUnit, FeedMemory, FeedingMethod, InverseTime, Machine, NumberInput, PowerUp, RapidStyle,
    RepeatWord, SubprogramStyle,
};
use crate::units::{Millimetres, MmPerMin, Seconds};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;

/// The machine and its control.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MachineTable {
    /// Name in reports.
    name: Option<String>,
    /// Dialect the facts start from, such as `shop`.
    dialect: Option<String>,
    /// How the tool is fed.
    feeding: Option<FeedingMethod>,
    /// Unit of a dwell's P word.
    dwell_unit: Option<DwellUnit>,
    /// How far a full-retract peck stops short of the last depth.
    peck_clearance: Given,
    /// How far a chip-break peck backs off.
    peck_back_off: Given,
    /// What a number without a decimal point means.
    number_input: Option<NumberInput>,
    /// What happens to F when the feed mode changes.
    feed_memory: Option<FeedMemory>,
    /// What F means under G93.
    inverse_time: Option<InverseTime>,
    /// The word that repeats a cycle.
    repeat_word: Option<RepeatWord>,
    /// Modal state at power-up, where the shop relies on it.
    power_up: Option<PowerUpTable>,
    /// How subprograms are written.
    subprogram: Option<SubprogramStyle>,
    /// Least and most program coordinate of each axis.
    travel: Option<Axes<At<[At<Amount>; 2]>>>,
    /// Most spindle speed, rev/min.
    max_speed: Given,
    /// Most feed; bare in mm/min or in/min.
    max_feed: Given,
    /// Rapid rate of each axis; bare in mm/min or in/min.
    rapid: Option<Axes<At<Amount>>>,
    /// Acceleration of each axis; bare in m/s2.
    acceleration: Option<Axes<At<Amount>>>,
    /// Jerk of each axis; bare in m/s3. Acceleration changes at once when left out.
    jerk: Option<Axes<At<Amount>>>,
    /// How the control goes round corners when no exact stop is active.
    corner: Option<CornerChoice>,
    /// How many blocks the control looks ahead.
    look_ahead: Option<At<u32>>,
    /// Time the control needs for one block; bare in seconds.
    block_time: Given,
    /// How rapids run.
    rapid_style: Option<RapidStyle>,
    /// Time of a tool change; bare in seconds.
    tool_change: Given,
    /// Time the spindle needs to reach its speed; bare in seconds.
    spin_up: Given,
    /// Longest line the control takes, in characters.
    line_limit: Option<At<u32>>,
    /// M codes that start dust extraction.
    extraction_on: Option<Vec<u32>>,
    /// M codes that stop dust extraction.
    extraction_off: Option<Vec<u32>>,
    /// M codes of this machine that move nothing, with their meaning.
    known_codes: Option<BTreeMap<u32, String>>,
    /// Where G28 goes on each axis, in program coordinates.
    home: Option<Axes<At<Amount>>>,
    /// Surface speed beyond which S is implausible; bare in m/min or ft/min.
    absurd_speed: Given,
}

/// One value for each axis.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(inline)]
struct Axes<T> {
    /// X.
    x: Option<T>,
    /// Y.
    y: Option<T>,
    /// Z.
    z: Option<T>,
}

/// Modal state at power-up.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PowerUpTable {
    /// Units.
    units: Option<UnitsWord>,
    /// Where cycles return to: `initial` (G98) or `retract` (G99).
    cycle_return: Option<CycleReturn>,
}

/// Where cycles return to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum CycleReturn {
    /// The level the cycle was called from.
    Initial,
    /// The R plane.
    Retract,
}

/// How the control goes round a corner.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum CornerChoice {
    /// It stops at every block end.
    ExactStop,
    /// It rounds the corner within this distance of it.
    Blend(At<Amount>),
}

/// The machine of a raw table.
pub(super) fn machine(raw: &MachineTable, reader: &mut Reader) -> Machine {
    Machine {
        name: raw.name.clone().unwrap_or_default(),
        dialect: raw.dialect.clone(),
        feeding: raw.feeding,
        dwell_unit: raw.dwell_unit,
        peck_clearance: reader.not_negative("peck_clearance", &raw.peck_clearance),
        peck_back_off: reader.not_negative("peck_back_off", &raw.peck_back_off),
        number_input: raw.number_input,
        feed_memory: raw.feed_memory,
        inverse_time: raw.inverse_time,
        repeat_word: raw.repeat_word,
        power_up: raw.power_up.as_ref().map(|power_up| PowerUp {
            units: power_up.units.map(UnitsWord::system),
            return_initial: power_up.cycle_return.map(|to| to == CycleReturn::Initial),
        }),
        subprogram: raw.subprogram,
        travel: axes("travel", raw.travel.as_ref(), reader, |name, pair, reader| reader.pair(name, pair)),
        max_speed: reader.limit("max_speed", &raw.max_speed, ""),
        max_feed: reader.limit("max_feed", &raw.max_feed, ""),
        rapid: axes("rapid", raw.rapid.as_ref(), reader, |name, rate, reader| reader.positive::<MmPerMin>(name, rate)),
        acceleration: axes("acceleration", raw.acceleration.as_ref(), reader, |name, rate, reader| {
            reader.positive::<Acceleration>(name, rate).map(|rate| rate.0)
        }),
        jerk: axes("jerk", raw.jerk.as_ref(), reader, |name, rate, reader| {
            reader.positive::<Jerk>(name, rate).map(|rate| rate.0)
        }),
        corner: raw.corner.as_ref().and_then(|corner| match corner {
            CornerChoice::ExactStop => Some(CornerMode::ExactStop),
            CornerChoice::Blend(within) => reader.one("corner.blend", within).map(CornerMode::Blend),
        }),
        look_ahead: reader.count("look_ahead", raw.look_ahead.as_ref()),
        block_time: reader.not_negative("block_time", &raw.block_time),
        rapid_style: raw.rapid_style,
        tool_change: reader.not_negative("tool_change", &raw.tool_change),
        spin_up: reader.not_negative::<Seconds>("spin_up", &raw.spin_up),
        line_limit: reader.count("line_limit", raw.line_limit.as_ref()),
        extraction_on: raw.extraction_on.clone().unwrap_or_default(),
        extraction_off: raw.extraction_off.clone().unwrap_or_default(),
        known_codes: raw.known_codes.clone().unwrap_or_default().into_iter().collect(),
        home: axes("home", raw.home.as_ref(), reader, |name, at, reader| reader.any::<Millimetres>(name, at)),
        absurd_speed: reader.limit("absurd_speed", &raw.absurd_speed, ""),
    }
}

/// Facts of `over`, and those of `base` where `over` is silent.
pub(super) fn merged(over: Machine, base: Machine) -> Machine {
    let list = |over: Vec<u32>, base: Vec<u32>| if over.is_empty() { base } else { over };
    Machine {
        name: if over.name.is_empty() { base.name } else { over.name },
        dialect: over.dialect.or(base.dialect),
        feeding: over.feeding.or(base.feeding),
        dwell_unit: over.dwell_unit.or(base.dwell_unit),
        peck_clearance: over.peck_clearance.or(base.peck_clearance),
        peck_back_off: over.peck_back_off.or(base.peck_back_off),
        number_input: over.number_input.or(base.number_input),
        feed_memory: over.feed_memory.or(base.feed_memory),
        inverse_time: over.inverse_time.or(base.inverse_time),
        repeat_word: over.repeat_word.or(base.repeat_word),
        power_up: over.power_up.or(base.power_up),
        subprogram: over.subprogram.or(base.subprogram),
        travel: each(over.travel, base.travel),
        max_speed: over.max_speed.or(base.max_speed),
        max_feed: over.max_feed.or(base.max_feed),
        rapid: each(over.rapid, base.rapid),
        acceleration: each(over.acceleration, base.acceleration),
        jerk: each(over.jerk, base.jerk),
        corner: over.corner.or(base.corner),
        look_ahead: over.look_ahead.or(base.look_ahead),
        block_time: over.block_time.or(base.block_time),
        rapid_style: over.rapid_style.or(base.rapid_style),
        tool_change: over.tool_change.or(base.tool_change),
        spin_up: over.spin_up.or(base.spin_up),
        line_limit: over.line_limit.or(base.line_limit),
        extraction_on: list(over.extraction_on, base.extraction_on),
        extraction_off: list(over.extraction_off, base.extraction_off),
        known_codes: if over.known_codes.is_empty() { base.known_codes } else { over.known_codes },
        home: each(over.home, base.home),
        absurd_speed: over.absurd_speed.or(base.absurd_speed),
    }
}

fn each<T>([x, y, z]: [Option<T>; 3], [base_x, base_y, base_z]: [Option<T>; 3]) -> [Option<T>; 3] {
    [x.or(base_x), y.or(base_y), z.or(base_z)]
}

fn axes<R, T>(
    name: &str,
    raw: Option<&Axes<R>>,
    reader: &mut Reader,
    read: impl Fn(&str, &Option<R>, &mut Reader) -> Option<T>,
) -> [Option<T>; 3] {
    let Some(raw) = raw else { return [None, None, None] };
    reader.within(name, |reader| [read("x", &raw.x, reader), read("y", &raw.y, reader), read("z", &raw.z, reader)])
}
