//! The `units` key.

use crate::units::UnitSystem;
use schemars::JsonSchema;
use serde::Deserialize;

/// Length unit of bare numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum UnitsWord {
    /// Millimetres, mm/min, mm/rev, m/min.
    Mm,
    /// Inches, in/min, in/rev, ft/min.
    In,
}

impl UnitsWord {
    /// The system it stands for.
    pub fn system(self) -> UnitSystem {
        match self {
            Self::Mm => UnitSystem::Metric,
            Self::In => UnitSystem::Inch,
        }
    }
}
