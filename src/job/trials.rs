//! The shop's own drilling trials, as a table of holes with what was measured at each.

use crate::source::Source;
use crate::units::{Millimetres, MmPerRev, Newtons, RevPerMin};
use std::sync::Arc;

/// Drilling trials of one kind of tool in one laminate.
#[derive(Clone, Debug, PartialEq)]
pub struct Trials {
    /// The file they come from.
    pub file: Arc<Source>,
    /// The trials, in the order of the file.
    pub rows: Vec<Trial>,
    /// Columns of the file that nothing here reads.
    pub unread: Vec<String>,
}

/// One drilled hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// Line of the file, from 1.
    pub line: u64,
    /// Feed for each turn.
    pub feed: MmPerRev,
    /// Diameter of the tool.
    pub diameter: Millimetres,
    /// Axial force, the highest of the hole.
    pub thrust: Newtons,
    /// Spindle speed.
    pub speed: Option<RevPerMin>,
    /// Holes this edge had drilled before.
    pub holes: Option<f64>,
    /// Delamination factor at the exit: greatest diameter of the damage over that of the hole.
    pub delamination: Option<f64>,
}
