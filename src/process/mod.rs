//! Formulas of the trade, pure functions with their sources, and the readings they give for a hole.

pub mod chip;
pub mod delamination;
mod reading;
pub mod speed;
pub mod thrust;
pub mod tolerance;

pub use reading::{HoleReading, Reading, Window, Zone};
