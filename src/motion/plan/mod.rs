//! The feed really reached: a forward and backward speed plan over the path, and the time it takes.

mod course;
mod limits;
mod planner;
mod profile;
#[cfg(test)]
mod tests;

pub use limits::{HOUSE_LOOK_AHEAD, HOUSE_TOLERANCE, Limits};
pub use planner::Planner;
pub use profile::{Drive, Profile, trapezoid_time};

use super::{BlockRef, StepKind};

/// One move to be planned, with everything copied that outlives its block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Rapid, line or arc.
    pub kind: StepKind,
    /// Start, program mm.
    pub from: [f64; 3],
    /// End, program mm.
    pub to: [f64; 3],
    /// Commanded feed, mm/min; `None` for a rapid.
    pub feed: Option<f64>,
    /// Whether the control must stop at its end (G61.1, or `corner = "exact-stop"`).
    pub exact_stop: bool,
    /// Its block.
    pub block: BlockRef,
}

/// What the machine makes of one segment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Planned {
    /// Time, s.
    pub seconds: f64,
    /// Highest speed reached, mm/min.
    pub peak: f64,
    /// Length over time, mm/min.
    pub mean: f64,
    /// What held it back.
    pub cause: Cause,
}

/// What kept a segment under its commanded feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// Nothing: the commanded feed was reached.
    Commanded,
    /// Too short to speed up and slow down in.
    Length,
    /// The corner before or after it.
    Corner,
    /// An exact stop.
    ExactStop,
    /// An axis's acceleration on an arc.
    Arc,
    /// An axis's greatest rate.
    AxisRate,
    /// The control's time for one block.
    BlockTime,
    /// The control does not look far enough ahead.
    LookAhead,
}

/// Where the time goes, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Times {
    /// Feeding, in material or not.
    pub cutting: f64,
    /// Rapids; only those whose rates are known.
    pub rapid: f64,
    /// Dwells.
    pub dwell: f64,
    /// Tool changes, where the job gives their time.
    pub tool_change: f64,
    /// Waiting for the spindle, where the job gives its time.
    pub spin_up: f64,
    /// Whether accelerations and rapid rates were known; else the whole is a lower bound at commanded feed.
    pub planned: bool,
}

impl Times {
    /// All of it, s.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.cutting + self.rapid + self.dwell + self.tool_change + self.spin_up
    }
}
