//! Where a router stands in the laminate: overhang below it, crossing of a compression router, flutes against depth.
//!
//! All of it is plain geometry of a vertical tool. Z is up; the up-cut length runs from the tip to the crossing.

use crate::job::{Laminate, Tool, ToolKind};
use crate::units::Millimetres;

/// Height of the exit face for the thinnest, nominal and thickest part, program mm; the entry face stays where it is.
#[must_use]
pub fn exit_faces(laminate: &Laminate, entry: Millimetres) -> [Millimetres; 3] {
    let (thin, thick) = laminate.span_of(laminate.layers.len());
    [entry - thin, entry - laminate.thickness(), entry - thick]
}

/// How far the full diameter of a tool with its tip at `tip` stands out below a face; negative above it. A corner radius
/// or a ball, `point` long, does not count, for it leaves a lip.
#[must_use]
pub fn overhang(point: Millimetres, tip: Millimetres, face: Millimetres) -> Millimetres {
    face - tip - point
}

/// Height of the crossing of a compression router with its tip at `tip`; `None` for other tools.
#[must_use]
pub fn crossing(tool: &Tool, tip: Millimetres) -> Option<Millimetres> {
    match tool.kind {
        ToolKind::CompressionRouter { up_cut, .. } => Some(tip + up_cut),
        _ => None,
    }
}

/// Least and most up-cut length whose crossing keeps `margin` from both faces of a laminate `thickness` thick, with the
/// tip `overhang` below it: o + m to o + t - m. The least is more than the most where the laminate is too thin.
#[must_use]
pub fn up_cut_range(thickness: Millimetres, overhang: Millimetres, margin: Millimetres) -> (Millimetres, Millimetres) {
    (overhang + margin, overhang + thickness - margin)
}

/// Lowest and highest tip that keep the crossing `margin` inside the laminate: bottom + m - up-cut to top - m - up-cut.
#[must_use]
pub fn tip_range(
    bottom: Millimetres,
    top: Millimetres,
    up_cut: Millimetres,
    margin: Millimetres,
) -> (Millimetres, Millimetres) {
    (bottom + margin - up_cut, top - margin - up_cut)
}
