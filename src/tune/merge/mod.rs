//! Passes that one pass would do: said, never written, for nobody tells here what the first one is wanted for.

mod bore;
mod trim;
mod ways;

use super::{Run, Task};
use crate::units::trimmed;

/// Heights, places and lengths closer than this are the same, mm: a house value.
const SAME: f64 = 0.01;

/// Two or more passes that one allowed pass would do.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// Tool of the one pass.
    pub tool: u32,
    /// Which passes, and the one that would do.
    pub what: String,
    /// The limits it would keep with their sources, and what was not judged.
    pub why: Vec<String>,
    /// Seconds of feeding that the others take.
    pub seconds: Option<f64>,
}

/// All that one pass would do, holes first.
pub(super) fn suggestions(run: &Run, task: &Task<'_>) -> Vec<Suggestion> {
    [bore::suggestions(run, task.job), trim::suggestions(run, task)].concat()
}

/// A limit kept, as a line: what it is, its value and its source.
fn kept(name: &str, value: &str, origin: &str) -> String {
    format!("{name} {value}; source: {origin}")
}

/// A share in per cent.
fn per_cent(share: f64) -> String {
    format!("{} %", trimmed(100.0 * share, 0))
}
