//! Conditions that stop a block from running, each with its text and the rule it is reported under.

/// One condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// A code that no table row names.
    UnknownCode,
}
