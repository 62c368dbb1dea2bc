//! Formulas of the trade, pure functions with their sources, and the readings they give for holes and cuts.

pub mod chip;
pub mod compression;
mod cutting;
mod depth;
pub mod life;
mod override_band;
mod plate;
mod reading;
pub mod speed;
pub mod thrust;
pub mod wall;
mod window;
mod zone;

pub use cutting::{CutReading, CutReadings, Kind, laminate_of, radial_engagement};
pub use depth::{DepthLimits, limits_over_depth};
pub use override_band::{Allowance, BandEnd, OverrideBand, SetBy, limits_of};
pub use plate::{PlateCeiling, PlateStep};
pub use reading::{Gap, HoleReading, POST_ROUNDING, Reading};
pub use window::{EDGE_SOURCE, Window};
pub use zone::{FeedZone, Zone};
