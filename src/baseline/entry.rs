//! What a known finding is known by.

use crate::diagnostic::{Finding, Place};
use crate::render::{Book, feature};
use crate::units::trimmed;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Steps a millimetre of the grid that places are rounded to.
const STEPS: f64 = 100.0;

/// One finding at one place, in words that outlive new numbers and moved lines.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The program, relative to the folder of the baseline, with forward slashes.
    pub program: String,
    /// The rule.
    pub rule: String,
    /// The tool in the spindle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<u32>,
    /// The hole by its drawing's name, else by its place; elsewhere the words of the block; without a place the entry of
    /// the job file.
    pub feature: String,
    /// The place of a hole, rounded to 0.01 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// What was measured, to six significant digits; the message where nothing was.
    pub value: String,
}

impl Entry {
    /// The key of a finding at one of its places.
    pub(super) fn at(program: &str, book: &Book<'_>, finding: &Finding, place: &Place) -> Self {
        let hole = place.hole.and_then(|hole| book.report.survey.holes.get(hole as usize));
        Self {
            tool: place.tool.filter(|tool| *tool != 0),
            feature: feature(book, place),
            place: hole.map(|hole| format!("X{} Y{}", rounded(hole.x), rounded(hole.y))),
            ..Self::whole(program, finding)
        }
    }

    /// The key of a finding without a place, and of all its places that were only counted.
    pub(super) fn whole(program: &str, finding: &Finding) -> Self {
        let value = finding.measured.as_ref().map(|measured| format!("{} {}", digits(measured.value), measured.unit));
        Self {
            program: program.to_owned(),
            rule: finding.rule.to_owned(),
            tool: None,
            feature: finding.job_entry.clone().unwrap_or_default(),
            place: None,
            value: value.unwrap_or_else(|| finding.message.clone()),
        }
    }
}

impl fmt::Display for Entry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.program, self.rule)?;
        if let Some(tool) = self.tool {
            write!(f, ", T{tool}")?;
        }
        if !self.feature.is_empty() {
            write!(f, ", {}", place(&self.feature))?;
        }
        write!(f, ", {}", plain(&self.value))
    }
}

/// A nameless hole's hundredths of a millimetre as coordinates.
fn place(feature: &str) -> String {
    let hundredths = feature.strip_prefix("hole ").and_then(|at| at.split_once(' '));
    let at = hundredths.and_then(|(x, y)| Some((x.parse::<f64>().ok()?, y.parse::<f64>().ok()?)));
    at.map_or_else(
        || feature.to_owned(),
        |(x, y)| format!("hole at X{} Y{} mm", trimmed(x / 100.0, 2), trimmed(y / 100.0, 2)),
    )
}

/// A value as people write it.
fn plain(value: &str) -> String {
    let (number, unit) = value.split_once(' ').unwrap_or((value, ""));
    let number = number.parse().map_or_else(|_| number.to_owned(), |number: f64| trimmed(number, 6));
    format!("{number} {unit}").trim_end().to_owned()
}

/// Millimetres on the grid; an unknown coordinate is said to be so.
fn rounded(mm: f64) -> String {
    if mm.is_finite() { trimmed((mm * STEPS).round() / STEPS + 0.0, 2) } else { "?".to_owned() }
}

/// Six significant digits: what is left of a value when the last bits of arithmetic are taken off.
fn digits(value: f64) -> String {
    format!("{value:.5e}")
}
