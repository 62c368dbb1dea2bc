//! Speeds and feeds: worked examples, and the printed rows of a public cutter catalogue for composites.
//!
//! The catalogue gives spindle speed and feed for a diameter, a surface speed and a feed for each turn. It computes with
//! rounded constants, so its speeds agree to one turn and its feeds to 0.1 in/min.

use super::agrees;
use lastply::process::speed::{spindle_speed, surface_speed, turns};
use lastply::units::{M_PER_FOOT, MM_PER_INCH, MetresPerMin, Millimetres, MmPerMin, MmPerRev, RevPerMin, Seconds};

#[test]
fn drills_worked_by_hand() {
    // diameter, surface speed, feed a turn, edges; speed, table feed, feed an edge
    let table = [
        (6.0, 120.0, 0.05, 2, 6366.20, 318.31, 0.0250),
        (4.8, 150.0, 0.03, 2, 9947.18, 298.42, 0.0150),
        (6.35, 100.0, 0.06, 2, 5012.75, 300.77, 0.0300),
        (12.0, 60.0, 0.08, 2, 1591.55, 127.32, 0.0400),
    ];
    for (diameter, surface, per_rev, edges, speed, feed, per_tooth) in table {
        let turning = spindle_speed(Millimetres(diameter), MetresPerMin(surface));
        agrees(turning.0, speed, 2);
        agrees((MmPerRev(per_rev) * turning).0, feed, 2);
        agrees(MmPerRev(per_rev).per_tooth(edges).0, per_tooth, 4);
        agrees(surface_speed(Millimetres(diameter), turning).0, surface, 9);
    }
}

#[test]
fn catalogue_rows_in_inches() {
    // CFRP profile 1/4 in and slot 1/8 in: diameter in, ft/min, in/rev; rev/min, in/min as printed
    let table = [(0.25, 500.0, 0.0048, 7640.0, 36.6), (0.125, 400.0, 0.0024, 12224.0, 29.4)];
    for (diameter, surface, per_rev, speed, feed) in table {
        let turning = spindle_speed(Millimetres(diameter * MM_PER_INCH), MetresPerMin(surface * M_PER_FOOT));
        assert!((turning.0 - speed).abs() <= 1.0, "{turning} is not {speed}");
        let inches = (MmPerRev(per_rev * MM_PER_INCH) * turning).0 / MM_PER_INCH;
        assert!((inches - feed).abs() <= 0.1, "{inches} in/min is not {feed}");
    }
}

#[test]
fn catalogue_row_in_millimetres() {
    // CFRP profile, diameter 6, 150 m/min, 0.120 mm/rev
    let turning = spindle_speed(Millimetres(6.0), MetresPerMin(150.0));
    agrees(turning.0, 7957.75, 2);
    agrees((MmPerRev(0.12) * turning).0, 954.93, 2);
}

#[test]
fn a_feed_for_each_turn_becomes_a_table_feed() {
    // A control maker's programming manual prints 1800 mm/min for G95 F1.5 at S1200; the other rows are worked by hand.
    for (per_rev, speed, feed) in [(1.5, 1200.0, 1800.0), (0.12, 8000.0, 960.0), (318.0, 6366.0, 2_024_388.0)] {
        agrees((MmPerRev(per_rev) * RevPerMin(speed)).0, feed, 6);
    }
}

#[test]
fn a_feed_carried_over_from_a_router() {
    let carried = MmPerMin(1200.0) / RevPerMin(6366.0);
    agrees(carried.0, 0.1885, 4);
    agrees(carried / MmPerRev(0.05), 3.77, 2);
}

#[test]
fn turns_of_a_dwell() {
    agrees(turns(RevPerMin(6366.0), Seconds(0.5)), 53.05, 2);
}
