//! What was measured at the machine, laid over a job in memory; the job file stays as it is.

use super::{Date, Job, Laminate, Layer, Tolerance, Tool, ToolKind};
use crate::units::{Millimetres, UnitSystem, trimmed};

/// Rounding of units, mm.
const HAIR: f64 = 1e-9;

/// Measurements of one day and the job they lie over.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The day; `None` only where nobody gave one and the clock stands before 1970.
    pub date: Option<Date>,
    /// What was measured, in the order it was given.
    pub values: Vec<MeasuredValue>,
    /// The job as its file gives it.
    pub as_filed: Box<Job>,
}

/// One measurement.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredValue {
    /// Of what.
    pub of: MeasuredOf,
    /// What was measured: mm, or holes or metres for `used`.
    pub value: f64,
    /// What the job file says in its place.
    pub filed: Option<f64>,
}

/// What a measurement is of.
#[derive(Clone, Debug, PartialEq)]
pub enum MeasuredOf {
    /// Thickness of a laminate.
    Thickness {
        /// Its name.
        laminate: String,
        /// Thinnest and thickest its tolerance allows.
        span: (Millimetres, Millimetres),
    },
    /// Something of a tool.
    Tool {
        /// Tool number.
        number: u32,
        /// What.
        key: ToolAmount,
    },
}

/// What can be measured of a tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToolAmount {
    /// How far it stands out of the holder.
    StickOut,
    /// Length in the offset table.
    Length,
    /// Cutting diameter.
    Diameter,
    /// Done already, in the unit of its life.
    Used,
}

impl ToolAmount {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::StickOut, Self::Length, Self::Diameter, Self::Used];

    /// The key of the tool's table in the job file.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::StickOut => "stick_out",
            Self::Length => "length",
            Self::Diameter => "diameter",
            Self::Used => "used",
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::StickOut => "stands out",
            Self::Length => "length",
            Self::Diameter => "diameter",
            Self::Used => "used before",
        }
    }

    /// Puts a value into a tool; returns what was there.
    pub(super) fn put(self, tool: &mut Tool, value: f64) -> Option<f64> {
        let length = Millimetres(value);
        match self {
            Self::StickOut => tool.stick_out.replace(length).map(|filed| filed.0),
            Self::Length => tool.length.replace(length).map(|filed| filed.0),
            Self::Diameter => {
                let filed = std::mem::replace(&mut tool.diameter, length);
                widen(&mut tool.kind, filed, length);
                Some(filed.0)
            }
            Self::Used => Some(std::mem::replace(&mut tool.used, value)),
        }
    }
}

/// A point that ended at the full diameter ends at the measured one.
fn widen(kind: &mut ToolKind, filed: Millimetres, measured: Millimetres) {
    if let ToolKind::MultiAngleDrill { cones } | ToolKind::SpadeDrill { cones } = kind {
        cones.iter_mut().filter(|cone| cone.to == filed).for_each(|cone| cone.to = measured);
    }
}

impl Measured {
    /// What was measured of a tool, if it was.
    #[must_use]
    pub fn of_tool(&self, number: u32, key: ToolAmount) -> Option<&MeasuredValue> {
        self.values.iter().find(|value| value.of == MeasuredOf::Tool { number, key })
    }

    /// Whether the thickness of a laminate was measured.
    #[must_use]
    pub fn has_thickness_of(&self, name: &str) -> bool {
        let is =
            |value: &MeasuredValue| matches!(&value.of, MeasuredOf::Thickness { laminate, .. } if laminate == name);
        self.values.iter().any(is)
    }
}

impl MeasuredOf {
    /// Whether the other measurement is of the same thing.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Thickness { laminate, .. }, Self::Thickness { laminate: other, .. }) => laminate == other,
            (one, other) => one == other,
        }
    }
}

impl MeasuredValue {
    /// The end of its tolerance that a thickness lies beyond; `None` inside, and for tools, whose keys have no tolerance.
    #[must_use]
    pub fn beyond(&self) -> Option<Millimetres> {
        let MeasuredOf::Thickness { span: (thin, thick), .. } = self.of else { return None };
        match self.value {
            value if value < thin.0 - HAIR => Some(thin),
            value if value > thick.0 + HAIR => Some(thick),
            _ => None,
        }
    }

    /// The measurement beside what the job file says, such as `thickness of root: 39.6 mm; job file 38.3 mm`.
    #[must_use]
    pub fn text(&self, units: UnitSystem) -> String {
        let length = |value: f64| units.length(Millimetres(value));
        match &self.of {
            MeasuredOf::Thickness { laminate, span: (thin, thick) } => {
                let place = if self.beyond().is_none() { "inside" } else { "OUTSIDE" };
                let filed = self.filed.map_or_else(|| "not given".to_owned(), length);
                let (thin, thick) = (units.length(*thin), units.length(*thick));
                format!(
                    "thickness of {laminate}: {}; job file {filed}, {place} its {thin} to {thick}",
                    length(self.value)
                )
            }
            MeasuredOf::Tool { number, key } => {
                let shown = |value: f64| if *key == ToolAmount::Used { trimmed(value, 2) } else { length(value) };
                let filed = self.filed.map_or_else(|| "not given".to_owned(), shown);
                format!("T{number} {}: {}; job file {filed}", key.words(), shown(self.value))
            }
        }
    }
}

impl Laminate {
    /// The laminate as thick as measured, without tolerance. Layers take up the difference in proportion to their
    /// tolerances, or to their thicknesses where none has any or a layer would vanish.
    #[must_use]
    pub fn as_thick_as(&self, measured: Millimetres) -> Self {
        let nominal = self.thickness().0;
        let difference = measured.0 - nominal;
        let tolerances: Vec<f64> = self.layers.iter().map(|layer| self.tolerance_of(layer).0).collect();
        let all: f64 = tolerances.iter().sum();
        let by_tolerance = |layer: &Layer, tolerance: f64| layer.thickness().0 + difference * tolerance / all;
        let shared = all > 0.0
            && self.layers.iter().zip(&tolerances).all(|(layer, tolerance)| by_tolerance(layer, *tolerance) > 0.0);
        let mut laminate = self.clone();
        for (layer, tolerance) in laminate.layers.iter_mut().zip(tolerances) {
            let thickness = layer.thickness().0;
            let new = if shared { by_tolerance(layer, tolerance) } else { thickness * measured.0 / nominal };
            layer.ply = layer.ply * (new / thickness);
            layer.tolerance = Some(Tolerance::Absolute(Millimetres(0.0)));
        }
        laminate
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layer(thickness: f64, tolerance: f64) -> Layer {
        let tolerance = Some(Tolerance::Absolute(Millimetres(tolerance)));
        Layer { plies: 4, ply: Millimetres(thickness / 4.0), tolerance, ..Layer::default() }
    }

    #[test]
    fn layers_share_the_difference_by_their_tolerances() {
        let stack = Laminate { layers: vec![layer(10.0, 0.3), layer(5.0, 0.1)], ..Laminate::default() };
        let measured = stack.as_thick_as(Millimetres(15.2));
        let thickness = |index: usize| measured.layers[index].thickness().0;
        assert!((thickness(0) - 10.15).abs() < 1e-12 && (thickness(1) - 5.05).abs() < 1e-12);
        let (thin, thick) = measured.span_of(2);
        assert!((thin.0 - 15.2).abs() < 1e-12 && (thick.0 - 15.2).abs() < 1e-12, "a measured part has no tolerance");
        let thin = stack.as_thick_as(Millimetres(1.5));
        assert!((thin.layers[0].thickness().0 - 1.0).abs() < 1e-12, "no layer vanishes");
    }
}
