//! Why a command could not do its work; each message says what to do next.

use std::io;
use thiserror::Error;

/// Everything that ends a command with exit code 2.
#[derive(Debug, Error)]
pub enum Failure {
    /// Standard output could not be written.
    #[error("cannot write standard output: {0}")]
    Output(String),
    /// Anything else about the arguments or input.
    #[error("{0}")]
    Unusable(String),
}

/// The reason in our own words where the trade of files has one, so that it reads the same on every system.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::QuotaExceeded => "the disk quota is used up".to_owned(),
        _ => error.to_string(),
    }
}
