//! Tip out and full diameter out: where a hole is through, for every point of the trade.

use crate::job::Tool;
use crate::units::Millimetres;

/// Depths of a through hole's exit, measured from the entry face along the axis, positive into the material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breakthrough {
    /// Length from tip to full diameter.
    pub point: Millimetres,
    /// Tip reaches the exit face of the thinnest, nominal and thickest part.
    pub tip_out: [Millimetres; 3],
    /// Full diameter reaches the exit face of the thinnest, nominal and thickest part.
    pub full_out: [Millimetres; 3],
    /// Deepest the tip goes in this recipe.
    pub bottom: Millimetres,
    /// Thickness up to which this depth gives full diameter.
    pub full_up_to: Millimetres,
}

/// Length from the tip to full diameter; `None` when the job leaves out the angle it needs.
#[must_use]
pub fn point_length(_tool: &Tool) -> Option<Millimetres> {
    None
}
