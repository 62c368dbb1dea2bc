//! Chip thickness: the geometry of a straight lip and of a side cut worked by hand, and printed points of two shop
//! references on radial chip thinning.

use super::agrees;
use lastply::job::Cone;
use lastply::process::chip::{
    contact_angle, drill_floor, lip_chip, milled_chip, milled_chip_mean, thinnest_chip, wall_factor,
};
use lastply::units::{Degrees, MM_PER_INCH, Micrometres, Millimetres, MmPerMin, MmPerRev, MmPerTooth, RevPerMin};

fn cone(to: f64, angle: f64) -> Cone {
    Cone { to: Millimetres(to), angle: Degrees(angle) }
}

#[test]
fn chip_of_a_lip_by_point_angle() {
    // point angle, chip in mm for 0.025 mm/tooth
    let table = [
        (60.0, 0.01250),
        (90.0, 0.01768),
        (100.0, 0.01915),
        (118.0, 0.02143),
        (120.0, 0.02165),
        (130.0, 0.02266),
        (135.0, 0.02310),
        (140.0, 0.02349),
    ];
    for (angle, chip) in table {
        agrees(lip_chip(MmPerTooth(0.025), Degrees(angle)).to_mm().0, chip, 5);
    }
}

#[test]
fn the_sharpest_cone_cuts_thinnest() {
    let dagger = [cone(3.0, 118.0), cone(6.0, 30.0)];
    let chip = thinnest_chip(MmPerTooth(0.025), &dagger).unwrap();
    agrees(chip.0, 6.47, 2);
    assert!(chip < Micrometres(10.0), "already below a 10 um edge, although the tip cuts 21 um");
    assert_eq!(thinnest_chip(MmPerTooth(0.025), &[]), None);
}

#[test]
fn chip_over_edge_radius() {
    // feed a turn, point angle, edge radius um; ratio. The worn edge, 36 um, is the uncoated carbide twist drill after
    // 120 holes of Proc. IMechE C 2021, doi 10.1177/09544062211023527.
    for (per_rev, angle, radius, ratio) in
        [(0.05, 118.0, 10.0, 2.143), (0.01, 90.0, 10.0, 0.354), (0.05, 118.0, 36.0, 0.595)]
    {
        let chip = lip_chip(MmPerRev(per_rev).per_tooth(2), Degrees(angle));
        agrees(chip / Micrometres(radius), ratio, 3);
    }
}

#[test]
fn least_feed_of_a_drill() {
    let floor = drill_floor(Micrometres(10.0), 1.0, 2, &[cone(6.0, 118.0)]);
    agrees(floor.0, 0.02333, 5);
    agrees((floor * RevPerMin(6366.0)).0, 148.5, 1);
    agrees(drill_floor(Micrometres(10.0), 0.3, 2, &[cone(6.0, 118.0)]).0, 0.3 * floor.0, 12);
}

#[test]
#[expect(clippy::approx_constant, reason = "the table prints 2 / pi to four decimals")]
fn side_cuts_by_engagement() {
    // ae/D; h_max/fz, feed factor, contact angle, h_mean/fz
    let table = [
        (0.01, 0.1990, 5.0252, 11.48, 0.0998),
        (0.02, 0.2800, 3.5714, 16.26, 0.1409),
        (0.05, 0.4359, 2.2942, 25.84, 0.2217),
        (0.10, 0.6000, 1.6667, 36.87, 0.3108),
        (0.15, 0.7141, 1.4003, 45.57, 0.3772),
        (0.20, 0.8000, 1.2500, 53.13, 0.4314),
        (0.25, 0.8660, 1.1547, 60.00, 0.4775),
        (0.30, 0.9165, 1.0911, 66.42, 0.5176),
        (0.40, 0.9798, 1.0206, 78.46, 0.5842),
        (0.50, 1.0000, 1.0000, 90.00, 0.6366),
    ];
    for (engagement, most, factor, angle, mean) in table {
        agrees(milled_chip(MmPerTooth(1.0), engagement).to_mm().0, most, 4);
        agrees(feed_for(1.0, engagement).0, factor, 4);
        agrees(contact_angle(engagement).to_degrees(), angle, 2);
        agrees(milled_chip_mean(MmPerTooth(1.0), engagement).to_mm().0, mean, 4);
    }
    agrees(milled_chip_mean(MmPerTooth(1.0), 1.0).to_mm().0, 2.0 / std::f64::consts::PI, 12);
}

/// The feed for each tooth that a thickest chip of `chip` mm takes.
fn feed_for(chip: f64, engagement: f64) -> MmPerTooth {
    MmPerTooth(chip / milled_chip(MmPerTooth(1.0), engagement).to_mm().0)
}

#[test]
fn a_shop_reference_on_radial_thinning() {
    // 10 % engagement, 0.002 in rated chip, 4 teeth at 8000 rev/min: it prints 0.0033 in and 106.7 in/min.
    let feed = feed_for(0.002 * MM_PER_INCH, 0.10);
    agrees(feed.0 / MM_PER_INCH, 0.0033, 4);
    agrees((feed.per_rev(4) * RevPerMin(8000.0)).0 / MM_PER_INCH, 106.7, 1);
    // A second reference prints 1.67 at 10 %, 2.29 at 5 %, 1.15 at 25 %. Its 1.35 at 15 % is wrong: the formula is 1.40.
    for (engagement, printed) in [(0.10, 1.67), (0.05, 2.29), (0.25, 1.15), (0.15, 1.40)] {
        agrees(feed_for(1.0, engagement).0, printed, 2);
    }
}

#[test]
fn milled_chip_over_edge_radius() {
    // D 10, 0.03 mm/tooth, edge 10 um: radial engagement mm; chip mm, ratio
    for (engaged, chip, ratio) in [(0.5, 0.013077, 1.308), (0.1, 0.005970, 0.597)] {
        let result = milled_chip(MmPerTooth(0.03), engaged / 10.0);
        agrees(result.to_mm().0, chip, 6);
        agrees(result / Micrometres(10.0), ratio, 3);
    }
}

#[test]
fn feed_at_the_wall_of_a_circled_hole() {
    // tool, hole, wall feed; centre feed, by plain geometry
    for (tool, hole, wall, centre) in [(10.0, 40.0, 600.0, 450.0), (8.0, 12.0, 480.0, 160.0)] {
        let factor = wall_factor(hole - tool, tool).unwrap();
        agrees((MmPerMin(centre) * factor).0, wall, 9);
    }
    agrees(wall_factor(12.0 - 8.0, 8.0).unwrap(), 3.0, 12);
    assert_eq!(wall_factor(0.0, 8.0), None);
}
