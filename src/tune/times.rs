//! Where the time of each tool goes.

use super::Run;
use crate::job::Machine;

/// Time of one tool over the whole program, s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ToolTime {
    /// Tool number.
    pub tool: u32,
    /// Feeding.
    pub cutting: f64,
    /// Rapids.
    pub rapid: f64,
    /// Changing to it.
    pub changes: f64,
}

impl ToolTime {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.cutting + self.rapid + self.changes
    }
}

impl Run {
    /// The tools in order of first use.
    #[must_use]
    pub fn tool_times(&self, machine: &Machine) -> Vec<ToolTime> {
        let mut times: Vec<ToolTime> = Vec::new();
        let change = machine.tool_change.map_or(0.0, |time| time.0);
        for used in &self.survey.tools {
            let changes = if used.tool == 0 { 0.0 } else { change };
            let more = ToolTime { tool: used.tool, cutting: used.cutting, rapid: used.rapid, changes };
            match times.iter_mut().find(|known| known.tool == used.tool) {
                Some(known) => {
                    known.cutting += more.cutting;
                    known.rapid += more.rapid;
                    known.changes += more.changes;
                }
                None if more.total() > 0.0 => times.push(more),
                None => {}
            }
        }
        times
    }
}
