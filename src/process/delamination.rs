//! Measures of the damage around a hole, as inspection reports state them.

use crate::units::Millimetres;
use core::f64::consts::PI;

/// Conventional factor Fd = Dmax / D, with Dmax the smallest circle about the hole that holds all damage.
#[must_use]
pub fn factor(hole: Millimetres, damage: Millimetres) -> f64 {
    damage / hole
}

/// Damaged area over the area of the ring between hole and damage circle; `area` in mm2. Zero for an unharmed hole.
#[must_use]
pub fn ring_share(hole: Millimetres, damage: Millimetres, area: f64) -> f64 {
    let ring = circle(damage) - circle(hole);
    if ring > 0.0 { area / ring } else { 0.0 }
}

/// Adjusted factor Fda = Fd + beta (Fd^2 - Fd), beta the [`ring_share`]: between Fd (no area) and Fd^2 (all of the ring).
/// Davim, Campos Rubio and Abrao, Compos. Sci. Technol. 67, 2007, 1939.
#[must_use]
pub fn adjusted_factor(hole: Millimetres, damage: Millimetres, area: f64) -> f64 {
    let factor = factor(hole, damage);
    factor + ring_share(hole, damage, area) * (factor * factor - factor)
}

fn circle(diameter: Millimetres) -> f64 {
    PI * diameter.0 * diameter.0 / 4.0
}
