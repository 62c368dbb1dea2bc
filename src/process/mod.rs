//! Formulas of the trade, pure functions with their sources, and the readings they give for a hole.

pub mod chip;
pub mod delamination;
mod cutting;
mod reading;
pub mod speed;
pub mod thrust;
pub mod tolerance;
mod window;
mod zone;

pub use cutting::CutReading;
pub use reading::{Gap, HoleReading, Reading};
pub use window::{EDGE_SOURCE, Window};
pub use zone::{FeedZone, Zone};
