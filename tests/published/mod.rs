//! Checks against published figures and geometry, one file a source.

mod catalogue_feeds;
mod chip_thickness;
mod clearance;
mod compression;
mod critical_thrust;
mod end_to_end;
mod engagement;
mod gcode_crate;
mod iso286;
mod navy_feed_rates;
#[cfg(test)]
mod nistir6556;
mod nist_strd;
pub mod patch_tools;
mod point_geometry;
mod speed_plan;
mod speeds_and_feeds;
mod trade_practice;
mod tsplib;
mod trimming;

/// Holds `value` against a printed figure: half a unit of its last decimal, and a hair for figures on the boundary.
#[track_caller]
fn agrees(value: f64, printed: f64, decimals: i32) {
    let tolerance = 0.5 * 10f64.powi(-decimals) + 1e-9;
    assert!((value - printed).abs() <= tolerance, "{value} is not {printed} to {decimals} decimals");
}
