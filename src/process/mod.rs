//! Formulas of the trade, pure functions with their sources, and the readings they give for a hole.

mod chip;
mod reading;
mod speed;
mod thrust;

pub use reading::{HoleReading, Reading, Window, Zone};
