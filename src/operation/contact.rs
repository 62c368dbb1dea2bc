//! Whether the tool touches material during a step, from the entry face and the holes already made.

use super::scene::Scene;
use crate::motion::{CyclePart, Step, StepKind};

/// Whether the tool touches material during a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Contact {
    /// In the air all the way.
    Clear,
    /// In material for at least part of the way.
    Material,
    /// Cannot be told: no entry face, no length offset, or position unknown.
    Unknown,
}

/// Heights closer than this count as equal, mm.
pub(super) const HEIGHT: f64 = 1e-6;
/// Sideways movement below this counts as none, mm; house value.
const SIDEWAYS: f64 = 1e-4;

/// How a step moves, with the tool's axis along Z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Course {
    /// Not at all.
    Still,
    /// Along the axis only.
    Axial,
    /// Sideways, perhaps along the axis as well.
    Sideways,
}

/// Course of a step. A move from an unknown place counts as sideways.
pub(super) fn course(step: &Step<'_>) -> Course {
    let ([x, y, z], [to_x, to_y, to_z]) = (step.from.xyz, step.to.xyz);
    let known = step.from.known.has(0) && step.from.known.has(1);
    match step.kind {
        StepKind::ArcCw(_) | StepKind::ArcCcw(_) => Course::Sideways,
        StepKind::Rapid | StepKind::Line => {
            if !known || (to_x - x).abs() > SIDEWAYS || (to_y - y).abs() > SIDEWAYS {
                Course::Sideways
            } else if to_z == z {
                Course::Still
            } else {
                Course::Axial
            }
        }
        StepKind::Dwell(_) | StepKind::Stop(_) | StepKind::Spindle | StepKind::ToolChange | StepKind::End => {
            Course::Still
        }
    }
}

/// Contact of a step with the tool along Z. `entry` is the height of the entry face; `reached` tells how far down a hole
/// wide enough for this tool goes at the step's place, infinity for none.
pub(super) fn contact(
    step: &Step<'_>,
    scene: &Scene<'_>,
    entry: Option<f64>,
    reached: impl FnOnce([f64; 2]) -> f64,
) -> Contact {
    let unknown = match step.part {
        Some(CyclePart::Feed(_)) => Contact::Material,
        _ => Contact::Unknown,
    };
    let Some(entry) = entry.filter(|_| scene.knows_height(&step.to, 2)) else { return unknown };
    let ([_, _, from], [x, y, to]) = (step.from.xyz, step.to.xyz);
    let from = if step.from.known.has(2) { from } else { to };
    if from.min(to) >= entry - HEIGHT {
        return Contact::Clear;
    }
    let feeding = !matches!(step.kind, StepKind::Rapid);
    let by_rapid = match scene.makes_holes() {
        Some(true) => Contact::Material,
        Some(false) | None => Contact::Unknown,
    };
    match course(step) {
        Course::Still => Contact::Material,
        Course::Axial if feeding && to > from => Contact::Material,
        Course::Axial if to > from || to >= reached([x, y]) - HEIGHT => Contact::Clear,
        Course::Sideways if step.part == Some(CyclePart::Shift) => Contact::Clear,
        Course::Axial | Course::Sideways if feeding => Contact::Material,
        Course::Axial | Course::Sideways => by_rapid,
    }
}
