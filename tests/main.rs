//! All integration tests.

mod published;
#[cfg(test)]
mod job;
