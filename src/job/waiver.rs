//! Waivers: an accepted departure with its bound, reason, people and end.

use super::load::size_in;
use std::fmt;

/// A calendar day, year-month-day as ISO 8601 writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to 31.
    pub day: u8,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// `[[waiver]]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiver {
    /// Number, such as `WV-012`.
    pub id: String,
    /// Rule it accepts.
    pub rule: String,
    /// Hole names it covers; empty covers every place.
    pub holes: Vec<String>,
    /// Tools it covers; empty covers every tool.
    pub tools: Vec<u32>,
    /// The measured value may not pass this, in the bad direction; see [`Waiver::bound_in`].
    pub bound: Option<f64>,
    /// Unit of `bound`, as written.
    pub bound_unit: String,
    /// Why; never empty.
    pub reason: String,
    /// Who asked.
    pub raised_by: String,
    /// Who approved.
    pub approved_by: String,
    /// When.
    pub date: Option<Date>,
    /// Last day it holds.
    pub expires: Option<Date>,
    /// Parts or serials it holds for, in words.
    pub effectivity: String,
    /// Request or deviation number.
    pub reference: String,
}

impl Waiver {
    /// The bound in the unit a rule measures in; `None` where its own unit measures something else.
    #[must_use]
    pub fn bound_in(&self, unit: &str) -> Option<f64> {
        Some(self.bound? * size_in(&self.bound_unit, unit)?)
    }
}
