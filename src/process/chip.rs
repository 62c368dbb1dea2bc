//! Thickness of the uncut chip against the roundness of the edge, in drilling and in milling.

use crate::job::Cone;
use crate::units::{Degrees, Micrometres, MmPerRev, MmPerTooth};
use core::f64::consts::PI;

/// Chip thickness normal to a straight lip: h = fz sin(kappa), kappa half the included angle of the cone it lies on.
#[must_use]
pub fn lip_chip(per_tooth: MmPerTooth, included: Degrees) -> Micrometres {
    micrometres(per_tooth.0 * half_sine(included))
}

/// Chip thickness of the cone that cuts thinnest, the sharpest one; `None` without cones.
#[must_use]
pub fn thinnest_chip(per_tooth: MmPerTooth, cones: &[Cone]) -> Option<Micrometres> {
    cones.iter().map(|cone| lip_chip(per_tooth, cone.angle)).reduce(|a, b| if b < a { b } else { a })
}

/// Feed for each edge at which the sharpest cone cuts a chip of `chip`: the inverse of [`thinnest_chip`]. A point
/// without cones cuts square to its axis, so the feed is the chip.
#[must_use]
pub fn feed_of_chip(chip: Micrometres, cones: &[Cone]) -> MmPerTooth {
    let sine = cones.iter().map(|cone| half_sine(cone.angle)).fold(1.0, f64::min);
    MmPerTooth(chip.to_mm().0 / sine)
}

/// Least feed for each turn of a drill whose chip is to be `ratio` times the edge radius or more:
/// f = x z r / sin(kappa), on the sharpest cone.
#[must_use]
pub fn drill_floor(edge_radius: Micrometres, ratio: f64, edges: u32, cones: &[Cone]) -> MmPerRev {
    feed_of_chip(edge_radius * ratio, cones).per_rev(edges)
}

/// Angle of contact of a mill, radians: theta = acos(1 - 2 ae/D); `engagement` is ae/D, held within 0 and 1.
#[must_use]
pub fn contact_angle(engagement: f64) -> f64 {
    libm::acos(1.0 - 2.0 * engagement.clamp(0.0, 1.0))
}

/// Thickest chip of a straight side cut: h = 2 fz sqrt(ae/D (1 - ae/D)) below half engagement, fz from there on.
#[must_use]
pub fn milled_chip(per_tooth: MmPerTooth, engagement: f64) -> Micrometres {
    micrometres(per_tooth.0 * thinning(engagement))
}

/// Mean chip over the arc of contact: h = fz (2 ae/D) / theta; zero without engagement.
#[must_use]
pub fn milled_chip_mean(per_tooth: MmPerTooth, engagement: f64) -> Micrometres {
    let engagement = engagement.clamp(0.0, 1.0);
    if engagement == 0.0 {
        return Micrometres(0.0);
    }
    micrometres(per_tooth.0 * 2.0 * engagement / contact_angle(engagement))
}

/// Feed at the wall of a hole milled by circling, over the feed of the tool centre: hole / (hole - tool), with `orbit`
/// the diameter of the centre's circle, hole - tool; `None` when the centre stands still.
#[must_use]
pub fn wall_factor(orbit: f64, tool: f64) -> Option<f64> {
    (orbit > 0.0).then(|| (orbit + tool) / orbit)
}

/// Thickest chip of a side cut over the feed for each tooth.
fn thinning(engagement: f64) -> f64 {
    let engagement = engagement.clamp(0.0, 0.5);
    2.0 * libm::sqrt(engagement * (1.0 - engagement))
}

fn half_sine(included: Degrees) -> f64 {
    libm::sin(included.0 / 2.0 * PI / 180.0)
}

fn micrometres(mm: f64) -> Micrometres {
    Micrometres(mm * 1000.0)
}
