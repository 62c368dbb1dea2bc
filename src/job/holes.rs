//! The drawing's hole groups, with every position worked out.

use crate::units::{Degrees, Millimetres};

/// `[[holes]]`.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleGroup {
    /// Id of the group, such as `H`.
    pub id: String,
    /// Drawing diameter.
    pub diameter: Millimetres,
    /// Limits of the diameter above and below nominal (upper, lower), if given; they come before those of `class`.
    pub diameter_limits: Option<(Millimetres, Millimetres)>,
    /// ISO 286 class such as `H8`.
    pub class: Option<String>,
    /// Whether it goes through; else `depth` holds.
    pub through: bool,
    /// Depth of a blind hole at full diameter.
    pub depth: Option<Millimetres>,
    /// Tools in the order they should come, pilot first; empty when the job leaves it open.
    pub tools: Vec<u32>,
    /// Countersink diameter at the entry face and included angle.
    pub countersink: Option<(Millimetres, Degrees)>,
    /// How far a hole may lie from its position and still be that hole.
    pub position_tolerance: Millimetres,
    /// Positions, named.
    pub positions: Vec<HolePosition>,
    /// A critical group is named as such in reports.
    pub critical: bool,
}

/// One hole of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct HolePosition {
    /// Name, such as `H19`.
    pub id: String,
    /// X in program coordinates.
    pub x: Millimetres,
    /// Y in program coordinates.
    pub y: Millimetres,
}
