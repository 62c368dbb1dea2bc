//! All integration tests.

mod published;
