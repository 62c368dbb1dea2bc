//! How a finding could be cured, as an intent; `patch` turns intents into bytes in the program's own style.

use crate::units::{Degrees, Millimetres, MmPerMin, RevPerMin};

/// What should change at each place of a finding. Depths are program coordinates along the tool axis (Z in G17).
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Drive these holes with this feed.
    Feed(MmPerMin),
    /// Slow down on the way out: full feed to `from`, `feed` from there to `to`, then out.
    SlowExit {
        /// Where the slow feed begins.
        from: Millimetres,
        /// The slow feed.
        feed: MmPerMin,
        /// Where the stroke ends; the deeper of this and the present depth counts.
        to: Millimetres,
    },
    /// Enter slowly: `feed` from the retract plane to `to`, then the present feed.
    SlowEntry {
        /// The slow feed.
        feed: MmPerMin,
        /// Where the slow feed ends.
        to: Millimetres,
    },
    /// Drill in stages from the top down: each to a height, with its feed. The last one ends at the present depth.
    Stages(Vec<(Millimetres, MmPerMin)>),
    /// Begin to feed at this height: everything above is air.
    Approach(Millimetres),
    /// Drill to this depth, or cut with the tip at it.
    Depth(Millimetres),
    /// Enter down a ramp or a helix along the move behind the plunge.
    RampIn {
        /// Top of the material.
        top: Millimetres,
        /// Steepest way down.
        slope: Degrees,
    },
    /// Compensate to the other side of the path.
    OtherSide,
    /// Put compensation on one move earlier, to lead in on a longer way.
    CompensateSooner,
    /// Drill in one stroke, without pecks.
    OneStroke,
    /// Peck with this increment and full retract.
    Peck(Millimetres),
    /// Leave out the dwell.
    NoDwell,
    /// Leave the hole at feed instead of by rapid.
    FeedOut,
    /// Retract to this height between holes.
    RetractTo(Millimetres),
    /// Turn faster or slower: S words among the places become `to`, F words by the minute change as the speed does.
    Turn {
        /// The speed it turns at.
        from: RevPerMin,
        /// The speed it should turn at.
        to: RevPerMin,
    },
    /// Put this text in place of the words the finding points at.
    Replace(String),
    /// Put these words on a line of their own before the block the finding points at.
    LineBefore(String),
}
