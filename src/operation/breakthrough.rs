//! Tip out and full diameter out: where a hole is through, for the thinnest, nominal and thickest part.

use super::point_length;
use crate::job::{Laminate, Tool};
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

impl Breakthrough {
    /// Where `tool` breaks through `laminate` when its tip goes `bottom` deep; `None` without the tool's point geometry.
    #[must_use]
    pub fn of(laminate: &Laminate, tool: &Tool, bottom: Millimetres) -> Option<Self> {
        let point = point_length(tool)?;
        let (thin, thick) = laminate.span_of(laminate.layers.len());
        let tip_out = [thin, laminate.thickness(), thick];
        let full_out = tip_out.map(|out| out + point);
        Some(Self { point, tip_out, full_out, bottom, full_up_to: bottom - point })
    }

    /// Depth the tip must reach for full diameter out of the thickest part and the laminate's overtravel beyond.
    #[must_use]
    pub fn needed(&self, laminate: &Laminate) -> Millimetres {
        let [.., thick] = self.full_out;
        thick + laminate.overtravel.as_ref().map_or(Millimetres(0.0), |limit| limit.value)
    }
}
