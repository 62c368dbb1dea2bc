//! Cuts: feed moves in material that make no hole, pass by pass, with how much of the tool is engaged.

use crate::job::CutDirection;
use crate::motion::{BlockRef, Cause, SpindleSense};

/// One pass: from where the tool enters material to where it leaves it, at one tool and without a rapid between.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// Tool in the spindle; 0 when unknown.
    pub tool: u32,
    /// First block that cuts.
    pub first: BlockRef,
    /// Last block that cuts.
    pub last: BlockRef,
    /// How the tool came into material.
    pub entry: CutEntry,
    /// Lowest height of the tip, program mm.
    pub lowest: f64,
    /// Engaged length sideways, mm; plunges do not count.
    pub length: f64,
    /// What it is, by the most of its length; `None` without a workpiece.
    pub style: Option<CutStyle>,
    /// Side of the path the finished material lies on, by the most of its length.
    pub side: Option<Side>,
    /// Climb or conventional, by side and spindle sense.
    pub direction: Option<CutDirection>,
    /// Index into the job's edges of the edge it runs along.
    pub edge: Option<usize>,
    /// Stretches alike, in order.
    pub stretches: Vec<Stretch>,
}

/// Consecutive moves alike in kind, feed, engagement and height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// First block.
    pub first: BlockRef,
    /// Last block.
    pub last: BlockRef,
    /// Number of moves.
    pub moves: u32,
    /// Kind of path.
    pub path: Path,
    /// Engaged length, mm.
    pub length: f64,
    /// Height of the tip at start and end, program mm.
    pub z: (f64, f64),
    /// Steepest descent, degrees below the horizontal; 90 for a plunge.
    pub descent: f64,
    /// Commanded feed of the tool centre, mm/min.
    pub feed: Option<f64>,
    /// Spindle speed, rev/min.
    pub speed: Option<f64>,
    /// Spindle sense.
    pub sense: SpindleSense,
    /// Engagement angle, degrees, least and most: 180 in a full slot, 90 at half the diameter; `None` without a workpiece.
    pub engagement: Option<(f64, f64)>,
    /// Height of the material's top beside the tool, program mm: the entry face, or lower where earlier passes took it.
    pub top: f64,
    /// Least and most peak feed reached over its moves, mm/min, and what held back the slowest; `None` without a plan.
    pub reached: Option<(f64, f64, Cause)>,
    /// Thickness zone of the workpiece; `None` for the job's own laminate.
    pub zone: Option<usize>,
    /// Byte offset of the F word in force; `motion::UNSTATED` when none.
    pub feed_at: u32,
    /// The G61 or G61.1 in force: its source and byte offset, `motion::UNSTATED` by power-up; `None` in G64.
    pub exact: Option<(u16, u32)>,
    /// Where the stretch was slowest or most engaged, X and Y, program mm.
    pub at: [f64; 2],
}

/// Path of a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Path {
    /// Straight.
    Line,
    /// Arc or helix of the tool centre with this radius, mm; `inside` when the wall lies outside the arc (a pocket corner
    /// or an orbit), so that the wall moves faster than the centre.
    Arc {
        /// Radius of the centre path.
        radius: f64,
        /// Whether the finished wall lies outside the arc.
        inside: bool,
    },
    /// Straight down.
    Plunge,
}

/// How a tool comes into material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CutEntry {
    /// Straight down.
    Plunge,
    /// Down a slope of so many degrees.
    Ramp(f64),
    /// From the side, straight.
    Straight,
    /// From the side, on an arc.
    Arc,
    /// In a hole or slot already open.
    Open,
}

/// What a cut is by its engagement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutStyle {
    /// Full width.
    Slot,
    /// Half the diameter or so.
    Profile,
    /// A light side cut, at most a tenth of the diameter.
    Light,
}

/// Side of a path, looking along the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}
