//! ISO 286-1 standard tolerances IT6 to IT11 up to 30 mm, against four public tables of the standard and against its own
//! formula, i = 0.45 D^(1/3) + 0.001 D with D the geometric mean of a step.

use super::agrees;
use lastply::job::fit::{grade_tolerance, hole_limits};
use lastply::units::Millimetres;

fn grade(grade: u8, nominal: f64) -> Option<f64> {
    grade_tolerance(grade, Millimetres(nominal)).map(|tolerance| tolerance.0)
}

#[test]
fn every_step_and_grade() {
    let table = [
        (3.0, [6.0, 10.0, 14.0, 25.0, 40.0, 60.0]),
        (6.0, [8.0, 12.0, 18.0, 30.0, 48.0, 75.0]),
        (10.0, [9.0, 15.0, 22.0, 36.0, 58.0, 90.0]),
        (18.0, [11.0, 18.0, 27.0, 43.0, 70.0, 110.0]),
        (30.0, [13.0, 21.0, 33.0, 52.0, 84.0, 130.0]),
    ];
    for (nominal, row) in table {
        for (number, tolerance) in (6..).zip(row) {
            assert_eq!(grade(number, nominal), Some(tolerance), "IT{number} at {nominal}");
        }
    }
}

#[test]
fn one_public_table_prints_20_for_the_grade_9_of_3_to_6() {
    assert_eq!(grade(9, 5.0), Some(30.0));
}

#[test]
fn a_step_includes_its_upper_end() {
    assert_eq!((grade(8, 6.0), grade(8, 6.001)), (Some(18.0), Some(22.0)));
    assert_eq!((grade(7, 30.0), grade(7, 30.001), grade(7, 0.0)), (Some(21.0), None, None));
    assert_eq!((grade(5, 10.0), grade(12, 10.0)), (None, None));
}

#[test]
fn the_formula_gives_the_table_before_rounding() {
    // Factors of i for IT6 to IT11. The standard rounds each value; none of these moves by 2 um.
    for (over, up_to) in [(3.0f64, 6.0f64), (6.0, 10.0), (10.0, 18.0), (18.0, 30.0)] {
        let mean = (over * up_to).sqrt();
        let unit = 0.45 * mean.cbrt() + 0.001 * mean;
        for (number, factor) in (6..).zip([10.0, 16.0, 25.0, 40.0, 64.0, 100.0]) {
            let tolerance = grade(number, up_to).unwrap();
            assert!((factor * unit - tolerance).abs() < 2.0, "IT{number} {over} to {up_to}: {}", factor * unit);
        }
    }
    let mean = 60f64.sqrt();
    agrees(10.0 * (0.45 * mean.cbrt() + 0.001 * mean), 8.98, 2);
}

#[test]
fn limits_of_holes() {
    for (class, nominal, most) in [("H9", 6.35, 6.386), ("H8", 4.8, 4.818), ("H7", 12.0, 12.018)] {
        let (lower, upper) = hole_limits(class, Millimetres(nominal)).unwrap();
        agrees(lower.0, nominal, 9);
        agrees(upper.0, most, 9);
    }
    for class in ["G7", "H", "H5", "H99", "h7", ""] {
        assert_eq!(hole_limits(class, Millimetres(6.0)), None, "{class}");
    }
}
