//! The panel: its outline, the raw margin round it, thickness zones, holes already there, and the edges the drawing wants.

use super::{Laminate, Limit};
use crate::units::{Degrees, Millimetres, MmPerTooth};
use schemars::JsonSchema;
use serde::Deserialize;

/// `[workpiece]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Workpiece {
    /// Finished outline, closed, counterclockwise; empty when the job gives none.
    pub outline: Vec<Vertex>,
    /// How far raw material stands beyond the outline.
    pub raw_margin: Millimetres,
    /// Areas with other layers than the job's laminate (ply drop-offs, doublers).
    pub zones: Vec<ThicknessZone>,
    /// Holes already there: centre and diameter, mm.
    pub holes: Vec<([f64; 2], f64)>,
}

/// One corner of a contour and the edge that leaves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// X and Y, program mm.
    pub at: [f64; 2],
    /// Tangent of a quarter of the angle the leaving edge turns through, counterclockwise positive; 0 for a straight one.
    pub bulge: f64,
}

/// An area with layers of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct ThicknessZone {
    /// Id in reports.
    pub id: String,
    /// Where, closed, counterclockwise.
    pub outline: Vec<Vertex>,
    /// The layers there; the entry face is the same plane.
    pub laminate: Laminate,
}

/// `[[edges]]`: an edge the drawing wants.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeGroup {
    /// Id in reports, such as `OUT`.
    pub id: String,
    /// The finished contour, closed, counterclockwise: the outline itself, or that of an opening.
    pub contour: Vec<Vertex>,
    /// Whether it is an opening (material outside the contour) rather than the outline (material inside).
    pub opening: bool,
    /// Whether the edge is a finished one.
    pub finish: bool,
    /// Direction the finish cut must have.
    pub direction: Option<CutDirection>,
    /// Tools that may cut it; empty when the job leaves it open.
    pub tools: Vec<u32>,
    /// Tabs that hold the offcut until they are cut: centre and width, mm.
    pub tabs: Vec<([f64; 2], f64)>,
    /// How far a cut may lie from the contour and still belong to it.
    pub tolerance: Millimetres,
}

/// Which way the edges sweep against the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CutDirection {
    /// Down-milling: the edge enters at full chip.
    Climb,
    /// Up-milling: the edge leaves at full chip.
    Conventional,
}

/// What a laminate states for trimming: `[laminate.NAME.trim]`. Each `None` is a check that cannot be made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrimLimits {
    /// Least chip, as feed for each edge after radial thinning.
    pub tooth_floor: Option<Limit<MmPerTooth>>,
    /// Most feed for each edge at the wall.
    pub tooth_ceiling: Option<Limit<MmPerTooth>>,
    /// Steepest ramp into material.
    pub ramp: Option<Limit<Degrees>>,
    /// How far inside the laminate the crossing of a compression router must lie, from either face.
    pub crossing_margin: Option<Limit<Millimetres>>,
    /// How far a cutter must stand out below the bottom face.
    pub overhang: Option<Limit<Millimetres>>,
}
