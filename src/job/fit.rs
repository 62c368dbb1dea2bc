//! ISO 286-1 standard tolerances, and the limits of H holes.

use crate::units::{Micrometres, Millimetres};

/// Hole classes known here: grades 6 to 11, lower deviation zero.
pub const CLASSES: [&str; 6] = ["H6", "H7", "H8", "H9", "H10", "H11"];

/// Lowest grade of the table.
const LOWEST_GRADE: u8 = 6;

/// Upper end of a step of nominal sizes (mm, inclusive) and its tolerances for IT6 to IT11 (um): ISO 286-1:2010, table
/// 1. Steps above 30 mm are left out: nothing larger is drilled here.
const STEPS: [(f64, [f64; 6]); 5] = [
    (3.0, [6.0, 10.0, 14.0, 25.0, 40.0, 60.0]),
    (6.0, [8.0, 12.0, 18.0, 30.0, 48.0, 75.0]),
    (10.0, [9.0, 15.0, 22.0, 36.0, 58.0, 90.0]),
    (18.0, [11.0, 18.0, 27.0, 43.0, 70.0, 110.0]),
    (30.0, [13.0, 21.0, 33.0, 52.0, 84.0, 130.0]),
];

/// Tolerance of grade IT`grade` at a nominal size; `None` outside IT6 to IT11 or above 30 mm.
#[must_use]
pub fn grade_tolerance(grade: u8, nominal: Millimetres) -> Option<Micrometres> {
    let (_, row) = STEPS.iter().find(|(up_to, _)| nominal.0 > 0.0 && nominal.0 <= *up_to)?;
    row.get(usize::from(grade.checked_sub(LOWEST_GRADE)?)).copied().map(Micrometres)
}

/// Least and most diameter of a hole of class `H6` to `H11`: the lower limit is nominal. `None` for other classes.
#[must_use]
pub fn hole_limits(class: &str, nominal: Millimetres) -> Option<(Millimetres, Millimetres)> {
    let grade = class.strip_prefix('H')?.parse().ok()?;
    let tolerance = grade_tolerance(grade, nominal)?;
    Some((nominal, nominal + tolerance.to_mm()))
}
