//! Critical thrust: the plate model of Hocheng and Dharan (Journal of Engineering for Industry, 1990), evaluated by hand
//! for four sets of plate data; load shapes from our own derivation; a thrust law through two measured points.

use super::agrees;
use lastply::job::{PlateData, ThrustLaw};
use lastply::process::thrust::{
    LoadShape, allowed_thrust, critical_uncut, feed_of_thrust, law_thrust, push_out, rigidity,
};
use lastply::units::{Millimetres, MmPerRev, Newtons};

fn plate(fracture_energy: f64, modulus: f64, poisson: f64, safety: f64) -> PlateData {
    PlateData { modulus, poisson, fracture_energy, safety, delamination: None, origin: "worked example".to_owned() }
}

/// Carbon tape, woven-like, a neutral set, glass-like.
fn sets() -> [PlateData; 4] {
    [
        plate(0.25, 138_000.0, 0.3, 1.0),
        plate(0.25, 60_000.0, 0.3, 1.0),
        plate(0.20, 70_000.0, 0.3, 1.0),
        plate(0.50, 25_000.0, 0.25, 1.0),
    ]
}

#[test]
fn thrust_by_uncut_thickness() {
    let table = [
        (0.125, [44.15, 29.11, 28.12, 26.18]),
        (0.150, [58.03, 38.26, 36.97, 34.41]),
        (0.200, [89.34, 58.91, 56.91, 52.98]),
        (0.250, [124.86, 82.33, 79.54, 74.05]),
        (0.300, [164.14, 108.23, 104.56, 97.34]),
        (0.375, [229.39, 151.25, 146.12, 136.03]),
        (0.500, [353.17, 232.87, 224.97, 209.44]),
        (0.750, [648.81, 427.81, 413.30, 384.76]),
        (1.000, [998.90, 658.66, 636.32, 592.38]),
        (2.000, [2825.32, 1862.96, 1799.79, 1675.52]),
    ];
    for (uncut, row) in table {
        for (plate, thrust) in sets().iter().zip(row) {
            agrees(push_out(plate, Millimetres(uncut)).0, thrust, 2);
        }
    }
    agrees(push_out(&plate(0.20, 70_000.0, 0.3, 1.0), Millimetres(3.0)).0, 3306.43, 2);
}

#[test]
fn thrust_scales_with_thickness_and_fracture_energy() {
    let [carbon, ..] = sets();
    let thrust = |plate: &PlateData, uncut: f64| push_out(plate, Millimetres(uncut)).0;
    agrees(thrust(&carbon, 0.5) / thrust(&carbon, 0.25), 2.828427, 6);
    let tougher = PlateData { fracture_energy: 4.0 * carbon.fracture_energy, ..carbon.clone() };
    agrees(thrust(&tougher, 0.25) / thrust(&carbon, 0.25), 2.0, 12);
    // The second form of the same expression: pi sqrt(8 G E h^3 / (3 (1 - nu^2))).
    let second = std::f64::consts::PI
        * (8.0 * carbon.fracture_energy * carbon.modulus * 0.25f64.powi(3) / (3.0 * (1.0 - 0.09))).sqrt();
    agrees(thrust(&carbon, 0.25), second, 9);
    agrees(rigidity(&carbon, Millimetres(1.0)), 138_000.0 / (12.0 * 0.91), 6);
}

#[test]
fn where_thrust_becomes_critical() {
    let table = [
        (50.0, [0.1358, 0.1793, 0.1835, 0.1924]),
        (80.0, [0.1858, 0.2453, 0.2510, 0.2632]),
        (100.0, [0.2156, 0.2846, 0.2912, 0.3054]),
        (150.0, [0.2825, 0.3729, 0.3816, 0.4002]),
        (200.0, [0.3422, 0.4518, 0.4623, 0.4849]),
        (300.0, [0.4485, 0.5920, 0.6058, 0.6353]),
    ];
    for (thrust, row) in table {
        for (plate, uncut) in sets().iter().zip(row) {
            let result = critical_uncut(plate, Newtons(thrust));
            agrees(result.0, uncut, 4);
            agrees(push_out(plate, result).0, thrust, 9);
        }
    }
    agrees(critical_uncut(&plate(0.25, 138_000.0, 0.3, 1.25), Newtons(94.868)).0, 0.24155, 5);
    agrees(critical_uncut(&plate(0.25, 138_000.0, 0.3, 1.0), Newtons(94.868)).0, 0.20816, 5);
}

#[test]
fn load_shapes_of_special_drills() {
    // radius; ring, disc, annulus of wall 0.2, candle of share 0.5, 1 and 2, rim at Poisson ratio 0.3
    let table = [
        (0.2, [1.0417, 1.0204, 1.0339, 1.0135, 1.0204, 1.0274, 0.8959]),
        (0.4, [1.1905, 1.0870, 1.1510, 1.0563, 1.0870, 1.1194, 0.9369]),
        (0.5, [1.3333, 1.1429, 1.2579, 1.0909, 1.1429, 1.2000, 1.0507]),
        (0.6, [1.5625, 1.2195, 1.4188, 1.1364, 1.2195, 1.3158, 1.2612]),
        (0.7, [1.9608, 1.3245, 1.6717, 1.1952, 1.3245, 1.4851, 1.6478]),
        (0.8, [2.7778, 1.4706, 2.1044, 1.2712, 1.4706, 1.7442, 2.4578]),
    ];
    for (radius, row) in table {
        let shapes = [
            LoadShape::Ring(radius),
            LoadShape::Disc(radius),
            LoadShape::Annulus { radius, wall: 0.2 },
            LoadShape::Candle { radius, share: 0.5 },
            LoadShape::Candle { radius, share: 1.0 },
            LoadShape::Candle { radius, share: 2.0 },
            LoadShape::Rim { radius, poisson: 0.3 },
        ];
        for (shape, factor) in shapes.into_iter().zip(row) {
            agrees(shape.factor(), factor, 4);
        }
    }
    agrees(LoadShape::Rim { radius: 0.5, poisson: 0.3 }.factor(), 1.050694, 6);
}

#[test]
fn load_shapes_pass_into_one_another() {
    let s = 0.6;
    agrees(LoadShape::Annulus { radius: s, wall: 0.0 }.factor(), LoadShape::Ring(s).factor(), 12);
    agrees(LoadShape::Annulus { radius: s, wall: 1.0 }.factor(), LoadShape::Disc(s).factor(), 12);
    agrees(LoadShape::Candle { radius: s, share: 0.0 }.factor(), LoadShape::Point.factor(), 12);
    agrees(LoadShape::Ring(0.0).factor(), 1.0, 12);
}

#[test]
fn a_law_through_two_points() {
    // 60 N at 0.02 mm/rev and 120 N at 0.08 give exponent 0.5 and coefficient 424.264.
    let law = ThrustLaw {
        c: 424.264_069,
        m: 0.5,
        p: 0.0,
        valid: (0.016, 0.096),
        diameters: None,
        origin: "worked example".to_owned(),
    };
    let (diameter, thrust) = (Millimetres(6.0), |feed: f64| law_thrust(&law, MmPerRev(feed), Millimetres(6.0), 1.0));
    agrees(thrust(0.05).unwrap().0, 94.868, 3);
    agrees(thrust(0.02).unwrap().0, 60.0, 5);
    agrees(thrust(0.08).unwrap().0, 120.0, 5);
    assert_eq!((thrust(0.01), thrust(0.2)), (None, None), "no thrust outside the feeds it was fitted on");
    agrees(feed_of_thrust(&law, Newtons(80.0), diameter, 1.0).0, 0.03556, 5);
    agrees(law_thrust(&law, MmPerRev(0.05), diameter, 1.2).unwrap().0, 1.2 * 94.868, 3);
}

#[test]
fn feed_the_last_plies_allow() {
    let law = ThrustLaw {
        c: 424.264,
        m: 0.5,
        p: 0.0,
        valid: (0.016, 0.096),
        diameters: None,
        origin: "worked example".to_owned(),
    };
    let plate = plate(0.25, 138_000.0, 0.3, 1.25);
    for (uncut, feed, decimals) in [(0.125, 0.00693, 5), (0.25, 0.0554, 4)] {
        let allowed = allowed_thrust(&plate, Millimetres(uncut));
        agrees(feed_of_thrust(&law, allowed, Millimetres(6.0), 1.0).0, feed, decimals);
    }
}
