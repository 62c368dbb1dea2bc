//! What was measured at the machine, kept in a record as it was given.

use super::RecordError;
use crate::job::Job;
use serde::{Deserialize, Serialize};

/// The file of a record that holds what was measured.
pub const MEASURED: &str = "measured.toml";

/// Measurements over a job, in the words of the arguments that gave them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measurements {
    /// The day, YYYY-MM-DD.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// Of the part, such as `thickness=39.6mm`.
    pub measured: Vec<String>,
    /// Of tools, such as `11:stickout=61mm`.
    pub tool: Vec<String>,
}

impl Measurements {
    /// Reads the file of a record.
    pub(super) fn read(bytes: &[u8]) -> Result<Self, RecordError> {
        let text = std::str::from_utf8(bytes).map_err(|error| RecordError::Measured(error.to_string()))?;
        toml::from_str(text).map_err(|error| RecordError::Measured(error.message().to_owned()))
    }

    /// The file of a record.
    pub(super) fn bytes(&self) -> Vec<u8> {
        // Strings and lists of strings cannot fail to serialise.
        let values = toml::to_string(self).unwrap_or_default();
        format!("# Measured at the machine and laid over the job file for this record.\n{values}").into_bytes()
    }

    /// The job with what was measured over it.
    pub(super) fn over(&self, job: Option<Job>) -> Result<Job, RecordError> {
        let none = "what was measured lies over a job file, and there is none: name it with --job";
        let job = job.ok_or_else(|| RecordError::Measured(none.to_owned()))?;
        let day = self.day.as_ref().map(|day| day.parse()).transpose().map_err(RecordError::Measured)?;
        job.measured(&self.measured, &self.tool, day).map_err(RecordError::Measured)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_measured_is_read_as_it_was_written() {
        let measured = Measurements {
            day: Some("2026-11-02".to_owned()),
            measured: vec!["thickness.\"odd\"=39.6mm".to_owned()],
            tool: Vec::new(),
        };
        assert_eq!(Measurements::read(&measured.bytes()).unwrap(), measured);
        assert!(Measurements::read(b"thickness = 1").is_err() && Measurements::read(b"\xff").is_err());
    }
}
