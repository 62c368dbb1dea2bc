//! Turns remedies into byte edits in the program's own style, proves them by reading again, and prints a diff.

mod arc_feed;
mod block_edit;
mod cycles;
mod draft;
mod edit;
mod long_hand;
mod neighbours;
mod numbering;
mod passes;
mod propose;
mod scene;
mod shared;
mod sides;
mod style;
mod unified;
mod verify;
mod way;
mod wish;
mod words;
#[cfg(test)]
mod tests;

pub use block_edit::number;
pub use edit::{Conflict, Edit, Edits};
pub use propose::{Patch, Recheck, Verdict};
pub use style::{Rounding, Style};
pub use unified::unified;
pub use verify::Checked;

use crate::diagnostic::{Finding, NotChecked};
use crate::job::Job;
use crate::motion::{Settings, ToolTable};
use crate::operation::Survey;
use crate::source::{Library, Source};
use crate::units::UnitSystem;

/// The rule of findings that nobody found: they say what somebody wants of the program.
pub const WISH: &str = "tune";

/// A checked program, as a patch starts from it.
pub struct Inputs<'a> {
    /// Sources read, the main program first.
    pub sources: &'a [Source],
    /// The job, for what the control takes.
    pub job: Option<&'a Job>,
    /// Dialect and declared facts.
    pub settings: &'a Settings,
    /// Tool offsets.
    pub tools: &'a ToolTable,
    /// Where subprograms beside the main program are found.
    pub library: &'a dyn Library,
    /// Whether holes written out alike may call one shared subprogram, where the job says how a call is written.
    pub share_strokes: bool,
    /// Units the program speaks.
    pub units: UnitSystem,
    /// Holes and how they are made.
    pub survey: &'a Survey,
    /// Findings to cure.
    pub findings: &'a [Finding],
    /// Checks without data.
    pub not_checked: &'a [NotChecked],
}
