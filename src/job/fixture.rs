//! What stands around the part: clamps, backing, table, and zones the tool must keep out of.

use crate::units::Millimetres;
use schemars::JsonSchema;
use serde::Deserialize;

/// `[fixture]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fixture {
    /// Everything with a shape.
    pub zones: Vec<Zone>,
    /// Height of the table's face in program coordinates.
    pub table_z: Option<Millimetres>,
    /// Thickness of a backing pressed against the exit face.
    pub backing: Option<Millimetres>,
}

/// One clamp, post or zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Id in reports, such as `C4`.
    pub id: String,
    /// What it is.
    pub kind: ZoneKind,
    /// Outline in X and Y.
    pub shape: ZoneShape,
    /// Bottom and top in program coordinates; `None` reaches without end.
    pub z: (Option<Millimetres>, Option<Millimetres>),
    /// How far it may stand from where it is drawn.
    pub tolerance: Millimetres,
}

/// What a zone is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneKind {
    /// Clamp or bolt: the tool must not touch it.
    Clamp,
    /// Vacuum pod or support post.
    Post,
    /// Any other volume to keep out of.
    KeepOut,
    /// Material to be kept for test coupons: no cut may enter.
    Coupon,
}

/// Outline of a zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ZoneShape {
    /// Axis-parallel rectangle: least and most X, least and most Y.
    Box {
        /// Least and most X.
        x: (Millimetres, Millimetres),
        /// Least and most Y.
        y: (Millimetres, Millimetres),
    },
    /// Cylinder.
    Cylinder {
        /// Centre.
        at: (Millimetres, Millimetres),
        /// Diameter.
        diameter: Millimetres,
    },
}
