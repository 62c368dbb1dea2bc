//! The pipeline: program text and job in, report out.

use crate::diagnostic::{Coverage, Finding, NotChecked};
use crate::operation::Survey;
use crate::source::Source;
use crate::units::UnitSystem;
use std::collections::BTreeMap;

/// Everything a run found; the only input of every output format.
#[derive(Debug)]
pub struct Report {
    /// Sources read: the main program first, then subprogram files.
    pub sources: Vec<Source>,
    /// Name of the job file, if there was one.
    pub job_name: Option<String>,
    /// Units the program speaks.
    pub units: UnitSystem,
    /// Holes, recipes and tool sections.
    pub survey: Survey,
    /// Findings, gravest first, then by place.
    pub findings: Vec<Finding>,
    /// Checks without data.
    pub not_checked: Vec<NotChecked>,
    /// How much was understood.
    pub coverage: Coverage,
    /// Names of the drawing's holes by index into the survey's holes; empty strings where none matched.
    pub hole_names: Vec<String>,
    /// What the job calls each tool, such as `carbide drill 12.0`, by tool number.
    pub tool_labels: BTreeMap<u32, String>,
}
