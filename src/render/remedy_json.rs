//! The cure of a finding for machines: its kind, with heights and feeds in the program's units.

use super::json::{QuantityOut, quantity};
use crate::diagnostic::{Quantity, Remedy};
use crate::units::{Millimetres, MmPerMin, RevPerMin, UnitSystem};
use schemars::JsonSchema;
use serde::Serialize;

/// One stage of a hole.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct StageOut {
    /// Where it ends.
    to: QuantityOut,
    /// Its feed.
    feed: QuantityOut,
}

/// A cure as an intent; `lastply patch` turns it into text. Heights are program coordinates along the tool axis.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub(super) enum RemedyOut {
    /// Another feed.
    Feed {
        /// The feed.
        feed: QuantityOut,
    },
    /// A slow stroke at the exit.
    SlowExit {
        /// Where it begins.
        from: QuantityOut,
        /// Its feed.
        feed: QuantityOut,
        /// Where it ends.
        to: QuantityOut,
    },
    /// A slow stroke at the entry.
    SlowEntry {
        /// Its feed.
        feed: QuantityOut,
        /// Where it ends.
        to: QuantityOut,
    },
    /// Several feeds down the hole.
    Stages {
        /// The stages, from the top down.
        stages: Vec<StageOut>,
    },
    /// Another height at which feeding begins.
    Approach {
        /// The height.
        to: QuantityOut,
    },
    /// Another depth.
    Depth {
        /// The depth.
        to: QuantityOut,
    },
    /// Enter down a ramp or a helix.
    RampIn {
        /// Top of the material.
        top: QuantityOut,
        /// Steepest way down, degrees.
        degrees: f64,
    },
    /// Compensation to the other side of the path.
    OtherSide,
    /// Compensation put on one move earlier.
    CompensateSooner,
    /// One stroke without pecks.
    OneStroke,
    /// Pecks.
    Peck {
        /// Depth of each.
        by: QuantityOut,
    },
    /// No dwell.
    NoDwell,
    /// Feed instead of rapid on the way out.
    FeedOut,
    /// Another height between holes.
    RetractTo {
        /// The height.
        to: QuantityOut,
    },
    /// Another spindle speed, with the feeds by the minute in proportion.
    Turn {
        /// The speed now.
        from: QuantityOut,
        /// The speed wanted.
        to: QuantityOut,
    },
    /// Other words.
    Replace {
        /// The words.
        text: String,
    },
    /// A line before the block.
    LineBefore {
        /// The words on it.
        text: String,
    },
}

/// A cure in these units.
pub(super) fn remedy(remedy: &Remedy, units: UnitSystem) -> RemedyOut {
    let mm = |value: Millimetres| quantity(&Quantity { value: value.0, unit: Millimetres::SYMBOL }, units);
    let feed = |value: MmPerMin| quantity(&Quantity { value: value.0, unit: MmPerMin::SYMBOL }, units);
    let turns = |value: RevPerMin| quantity(&Quantity { value: value.0, unit: RevPerMin::SYMBOL }, units);
    match remedy {
        Remedy::Feed(value) => RemedyOut::Feed { feed: feed(*value) },
        Remedy::SlowExit { from, feed: slow, to } => {
            RemedyOut::SlowExit { from: mm(*from), feed: feed(*slow), to: mm(*to) }
        }
        Remedy::SlowEntry { feed: slow, to } => RemedyOut::SlowEntry { feed: feed(*slow), to: mm(*to) },
        Remedy::Stages(stages) => RemedyOut::Stages {
            stages: stages.iter().map(|(to, value)| StageOut { to: mm(*to), feed: feed(*value) }).collect(),
        },
        Remedy::Approach(to) => RemedyOut::Approach { to: mm(*to) },
        Remedy::Depth(to) => RemedyOut::Depth { to: mm(*to) },
        Remedy::RampIn { top, slope } => RemedyOut::RampIn { top: mm(*top), degrees: slope.0 },
        Remedy::OtherSide => RemedyOut::OtherSide,
        Remedy::CompensateSooner => RemedyOut::CompensateSooner,
        Remedy::OneStroke => RemedyOut::OneStroke,
        Remedy::Peck(by) => RemedyOut::Peck { by: mm(*by) },
        Remedy::NoDwell => RemedyOut::NoDwell,
        Remedy::FeedOut => RemedyOut::FeedOut,
        Remedy::RetractTo(to) => RemedyOut::RetractTo { to: mm(*to) },
        Remedy::Turn { from, to } => RemedyOut::Turn { from: turns(*from), to: turns(*to) },
        Remedy::Replace(text) => RemedyOut::Replace { text: text.clone() },
        Remedy::LineBefore(text) => RemedyOut::LineBefore { text: text.clone() },
    }
}
