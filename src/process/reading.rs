//! What a hole's strokes come to in each layer: feed per turn and edge, chip, speed, thrust and the window they must keep.

use crate::job::Limit;
use crate::operation::Breakthrough;
use crate::units::{MetresPerMin, Micrometres, Millimetres, MmPerRev, MmPerTooth, Newtons};

/// All readings of one recipe. Empty when no job, tool or laminate is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HoleReading {
    /// One for each feed stroke and layer it cuts, in order of cutting. Air is left out.
    pub passes: Vec<Reading>,
    /// Where the hole breaks through; `None` without laminate or point geometry.
    pub breakthrough: Option<Breakthrough>,
}

/// One feed stroke in one layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Index of the stroke in the recipe.
    pub stroke: usize,
    /// Index of the layer in the laminate.
    pub layer: usize,
    /// Depth of the tip below the entry face at the start and end of the pass.
    pub depth: (Millimetres, Millimetres),
    /// Feed for each turn.
    pub per_rev: Option<MmPerRev>,
    /// Feed for each edge.
    pub per_tooth: Option<MmPerTooth>,
    /// Thinnest chip over the cones of the point.
    pub chip: Option<Micrometres>,
    /// Thinnest chip over the edge radius.
    pub chip_ratio: Option<f64>,
    /// Surface speed at the full diameter.
    pub surface_speed: Option<MetresPerMin>,
    /// Thrust by the tool's law, wear included.
    pub thrust: Option<Newtons>,
    /// Feeds this pass may have.
    pub window: Window,
    /// Whether the pass lies in the entry zone, the exit zone, or neither.
    pub zone: Zone,
}

/// Part of a hole with feed limits of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// Near the entry face.
    Entry,
    /// Between.
    Body,
    /// From where slow feed must begin to full diameter out.
    Exit,
}

/// Least and most feed for each turn, each with the limit that sets it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Window {
    /// Least.
    pub floor: Option<Limit<MmPerRev>>,
    /// Most.
    pub ceiling: Option<Limit<MmPerRev>>,
}
