//! Checks posted drilling and trimming programs for composite laminates, and proposes verified patches.
//!
//! The modules in reading order are the walk of one block; each uses only those above it.

pub mod units;
pub mod source;
pub mod diagnostic;
pub mod job;
pub mod syntax;
pub mod program;
pub mod motion;
pub mod operation;
pub mod process;
pub mod rules;
pub mod patch;
pub mod tune;
pub mod compare;
pub mod check;
pub mod render;
pub mod record;
pub mod editor;
pub mod baseline;
pub mod cli;
