//! Trimming feeds of a public cutter catalogue for composites: its rows, its speeds, and the thinning they already hold.
//!
//! The metric page prints feed for each turn by diameter for a slot (ae = D), a profile (ae = 0.5 D) and a light cut
//! (ae = 0.05 D), the inch page surface speeds in ft/min.

use super::agrees;
use lastply::process::chip::{contact_angle, milled_chip};
use lastply::process::radial_engagement;
use lastply::process::speed::spindle_speed;
use lastply::units::{Degrees, M_PER_FOOT, MetresPerMin, Millimetres, MmPerRev};

/// Diameter, mm; slot and profile feed, light feed, mm/rev: carbon, aramid and glass alike.
const ROWS: [(f64, f64, f64); 5] =
    [(1.6, 0.030, 0.070), (3.0, 0.060, 0.140), (6.0, 0.120, 0.280), (10.0, 0.230, 0.525), (12.0, 0.305, 0.700)];

#[test]
fn light_cuts_hold_the_thinning_already() {
    // A light cut's chip is that of the profile within the rounding of the table, so a feed of the light column must not
    // be raised for thinning once more.
    for (diameter, profile, light) in ROWS {
        let chip = milled_chip(MmPerRev(light).per_tooth(2), 0.05).to_mm().0;
        let wanted = milled_chip(MmPerRev(profile).per_tooth(2), 0.5).to_mm().0;
        assert!((chip / wanted - 1.0).abs() < 0.03, "D {diameter}: {chip} against {wanted}");
        // Compensated twice it would be more than twice as thick.
        let twice = milled_chip(MmPerRev(light / 0.4359).per_tooth(2), 0.05).to_mm().0;
        assert!(twice > 2.2 * wanted, "D {diameter}");
    }
}

#[test]
fn slot_and_profile_share_a_column() {
    // From half engagement on the thickest chip is the feed for each edge.
    for (_, profile, _) in ROWS {
        let feed = MmPerRev(profile).per_tooth(2);
        assert_eq!(milled_chip(feed, 0.5), milled_chip(feed, 1.0));
    }
}

#[test]
fn metric_and_inch_pages_agree() {
    // slot, profile, light; carbon then glass: m/min and ft/min as printed, the metric rounded to 10 m/min or nearest
    let table = [
        (120.0, 400.0, 121.9),
        (150.0, 500.0, 152.4),
        (250.0, 825.0, 251.5),
        (100.0, 320.0, 97.5),
        (120.0, 400.0, 121.9),
        (200.0, 660.0, 201.2),
    ];
    for (metric, feet, exact) in table {
        agrees(feet * M_PER_FOOT, exact, 1);
        assert!((feet * M_PER_FOOT / metric - 1.0).abs() < 0.03);
    }
}

#[test]
fn a_profile_row_becomes_speed_and_feed() {
    // D 6, carbon profile, 150 m/min, 0.120 mm/rev: 7957.75 rev/min, 954.93 mm/min.
    let speed = spindle_speed(Millimetres(6.0), MetresPerMin(150.0));
    agrees(speed.0, 7957.75, 2);
    agrees((MmPerRev(0.120) * speed).0, 954.93, 2);
}

#[test]
fn an_engagement_angle_is_a_radial_engagement() {
    // Plain geometry: full slot, half, and the printed 36.9 degrees at a tenth.
    for (degrees, engaged) in [(180.0, 1.0), (90.0, 0.5), (36.87, 0.1), (0.0, 0.0)] {
        agrees(radial_engagement(Degrees(degrees)), engaged, 4);
        agrees(contact_angle(radial_engagement(Degrees(degrees))).to_degrees(), degrees, 6);
    }
}
