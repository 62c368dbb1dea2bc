//! Spindle speed and surface speed, and the feeds that hand and power-feed manuals state in seconds an inch.

use crate::units::{MM_PER_INCH, MetresPerMin, Millimetres, MmPerMin, RevPerMin, Seconds};
use core::f64::consts::PI;

/// Surface speed in m/min of an edge at `diameter` (mm): Vc = pi D n / 1000, by the definition of the circle.
#[must_use]
pub fn surface_speed(diameter: Millimetres, speed: RevPerMin) -> MetresPerMin {
    MetresPerMin(PI * diameter.0 * speed.0 / 1000.0)
}

/// Spindle speed in rev/min that gives `surface` (m/min) at `diameter` (mm): n = 1000 Vc / (pi D).
#[must_use]
pub fn spindle_speed(diameter: Millimetres, surface: MetresPerMin) -> RevPerMin {
    RevPerMin(1000.0 * surface.0 / (PI * diameter.0))
}

/// Time in seconds for one inch of depth at `feed` (mm/min), the form NAVEDTRA 14315 (chapter 5) states drill feeds in:
/// t = 25.4 x 60 / Vf.
#[must_use]
pub fn inch_time(feed: MmPerMin) -> Seconds {
    Seconds(MM_PER_INCH * 60.0 / feed.0)
}

/// Turns of the spindle in `time` (s): N = n t / 60.
#[must_use]
pub fn turns(speed: RevPerMin, time: Seconds) -> f64 {
    speed.0 * time.0 / 60.0
}
