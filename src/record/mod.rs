//! The record of one check, for an audit years later: everything that was read, everything that was found, and a list of
//! all of it with digests. It holds no clock and no path of a machine, so the same inputs make the same bytes.

mod build;
mod inputs;
mod manifest;
mod measured;
mod rule_set;
mod sign_off;
mod summary;
mod verify;

pub use build::files;
pub use inputs::{INPUTS, Inputs, Revision};
pub use manifest::{MANIFEST, MadeBy, Manifest, SUMS};
pub use measured::{MEASURED, Measurements};
pub use rule_set::rule_set;
pub use sign_off::{Keys, SignOff, SignOffState, is_sign_off, sign_offs, signature_name, signed_with};
pub use verify::{Difference, Verification, differences, verify};

use crate::job::JobError;
use std::collections::BTreeMap;
use thiserror::Error;

/// Files by their path in the record's folder, with forward slashes.
pub type Files = BTreeMap<String, Vec<u8>>;

/// Why there is no record.
#[derive(Debug, Error)]
pub enum RecordError {
    /// The job file has mistakes.
    #[error("the job file has {} mistakes", .0.len())]
    Job(Vec<JobError>),
    /// A dialect nobody knows.
    #[error("there is no dialect `{0}`")]
    Dialect(String),
    /// What was measured does not lie over the job.
    #[error("{0}")]
    Measured(String),
    /// The tool table is none.
    #[error("{0}")]
    Tools(String),
    /// The operator's sheet could not be drawn up.
    #[error("cannot draw up the sheet: {0}")]
    Sheet(String),
    /// The list of the files is not one.
    #[error("not a record: {MANIFEST} {0}")]
    Manifest(String),
    /// The key cannot be used.
    #[error("the key cannot be used: {0}")]
    Key(String),
}
