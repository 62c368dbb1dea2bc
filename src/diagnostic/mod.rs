//! What a run found: findings with their places, what was not checked, and how much was understood. Plain data.

mod remedy;

pub use remedy::Remedy;

use crate::source::{SourceId, Span};
use crate::units::UnitSystem;
use serde::Serialize;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; nobody has to act.
    Note,
    /// Someone should decide.
    Warning,
    /// Scraps a part, a tool or a machine, or makes the program mean something else than it says.
    Error,
}

impl Severity {
    /// The word reports print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// A number with its unit, metric as rules compare it; outputs give it as [`Quantity::read_in`] does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quantity {
    /// The value, in `unit`.
    pub value: f64,
    /// Unit symbol, such as `mm/rev`.
    pub unit: &'static str,
}

impl Quantity {
    /// The same, rounded and in the unit a program of that system reads it in.
    #[must_use]
    pub fn read_in(&self, units: UnitSystem) -> Self {
        let (value, unit) = units.reading(self.value, self.unit);
        Self { value, unit }
    }
}

/// A limit and where it comes from; there is no way to build one without its origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The value.
    pub quantity: Quantity,
    /// Job file key, specification, published source, or the words "house value".
    pub origin: String,
}

/// One place a finding points at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Which source.
    pub source: SourceId,
    /// The word or block.
    pub span: Span,
    /// Tool in the spindle there.
    pub tool: Option<u32>,
    /// Index into the report's holes.
    pub hole: Option<u32>,
}

/// A second place that explains the first, such as where a modal word was set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// Which source.
    pub source: SourceId,
    /// The word or block.
    pub span: Span,
    /// What it has to do with the finding, lower case, no full stop.
    pub message: String,
}

/// Whether a finding stands, was accepted by a waiver, or was there before.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub enum Status {
    /// Stands.
    #[default]
    Open,
    /// Accepted; holds the waiver's id.
    Waived(String),
    /// In the baseline of findings that were there before.
    Known,
}

/// One cause, with every place it shows at.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Name of the rule.
    pub rule: &'static str,
    /// How grave.
    pub severity: Severity,
    /// Open or waived.
    pub status: Status,
    /// What is wrong: what was found beside its limit. Lower case, no full stop.
    pub message: String,
    /// The arithmetic behind it, a sentence a line, so that it can be checked by hand.
    pub why: Vec<String>,
    /// What to do about it.
    pub advice: Option<String>,
    /// What was measured.
    pub measured: Option<Quantity>,
    /// The limit it broke.
    pub limit: Option<Bound>,
    /// The entry of the job file it is about, such as `waiver WV-012`, when the program text has no place to point at.
    pub job_entry: Option<String>,
    /// Where in the program text, first place first; none for a finding about the job file.
    pub places: Vec<Place>,
    /// Places beyond those kept in `places`; a program of a million holes may break one rule a million times.
    pub more_places: u64,
    /// Second places that explain.
    pub related: Vec<Related>,
    /// How the program text could be cured, for every place alike.
    pub remedy: Option<Remedy>,
}

/// A check that had no data to conclude on.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NotChecked {
    /// Name of the rule.
    pub rule: String,
    /// What is missing, in words.
    pub why: String,
    /// The job-file key that would supply it, such as `tool.11.edge_radius`.
    pub key: Option<String>,
    /// Whether the run is incomplete without it. A limit that a specification need not state is told but not needed.
    pub needed: bool,
}

/// How much of the program the answers rest on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Coverage {
    /// Blocks run; those of a subprogram count at every call.
    pub blocks: u64,
    /// Those with every word understood.
    pub understood: u64,
    /// Holes rebuilt.
    pub holes: u64,
    /// Holes whose tool, feed, speed and depth were all known, so that they could be judged.
    pub judged: u64,
}
