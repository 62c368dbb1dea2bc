//! Delamination factors: a worked example and the limit cases of the adjusted factor.

use super::agrees;
use lastply::process::delamination::{adjusted_factor, factor, ring_share};
use lastply::units::Millimetres;

#[test]
fn conventional_and_adjusted() {
    let (hole, damage) = (Millimetres(6.0), Millimetres(7.5));
    agrees(factor(hole, damage), 1.25, 12);
    agrees(ring_share(hole, damage, 5.0), 0.314380, 6);
    agrees(adjusted_factor(hole, damage, 5.0), 1.348244, 6);
    agrees(factor(hole, Millimetres(6.5)), 1.083333, 6);
}

#[test]
fn the_adjusted_factor_lies_between_its_limits() {
    let (hole, damage) = (Millimetres(6.0), Millimetres(7.5));
    let ring = std::f64::consts::PI * (7.5 * 7.5 - 6.0 * 6.0) / 4.0;
    agrees(adjusted_factor(hole, damage, 0.0), 1.25, 12);
    agrees(adjusted_factor(hole, damage, ring), 1.5625, 12);
    agrees(adjusted_factor(hole, hole, 0.0), 1.0, 12);
}
