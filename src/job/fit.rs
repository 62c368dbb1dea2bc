//! Diameter limits of the hole classes of ISO 286-1.

use crate::units::{Micrometres, Millimetres};

/// Hole classes known here.
pub const CLASSES: [&str; 6] = ["H6", "H7", "H8", "H9", "H10", "H11"];

/// Standard tolerances IT6 to IT11 in micrometres for nominal sizes up to and including the first column in
/// millimetres (ISO 286-1:2010, table 1). Classes H have a lower deviation of zero.
const TOLERANCES: [(f64, [f64; 6]); 5] = [
    (3.0, [6.0, 10.0, 14.0, 25.0, 40.0, 60.0]),
    (6.0, [8.0, 12.0, 18.0, 30.0, 48.0, 75.0]),
    (10.0, [9.0, 15.0, 22.0, 36.0, 58.0, 90.0]),
    (18.0, [11.0, 18.0, 27.0, 43.0, 70.0, 110.0]),
    (30.0, [13.0, 21.0, 33.0, 52.0, 84.0, 130.0]),
];

/// Upper and lower deviation of a hole of that class; `None` for a class or size outside the table.
#[must_use]
pub fn hole_limits(class: &str, nominal: Millimetres) -> Option<(Millimetres, Millimetres)> {
    let column = CLASSES.iter().position(|known| *known == class)?;
    let (_, row) = TOLERANCES.iter().find(|(up_to, _)| nominal.0 <= *up_to)?;
    Some((Micrometres(*row.get(column)?).to_mm(), Millimetres(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_holds_its_upper_end() {
        let upper = |class, nominal| hole_limits(class, Millimetres(nominal)).map(|limits| limits.0.0);
        assert_eq!(upper("H8", 6.0), Some(0.018));
        assert_eq!(upper("H8", 6.001), Some(0.022));
        assert_eq!(upper("H9", 6.0), Some(0.030));
        assert_eq!(upper("H7", 12.0), Some(0.018));
        assert_eq!(upper("H9", 30.1), None);
        assert_eq!(upper("K7", 12.0), None);
    }

    /// ISO 286-1: tolerance unit i = 0.45 D^(1/3) + 0.001 D in um with D the geometric mean of the step,
    /// and 10, 16, 25, 40, 64 and 100 i for IT6 to IT11; the table rounds to within 0.7 um or 2.5 %.
    #[test]
    fn the_table_agrees_with_the_formula() {
        for (steps, factors) in TOLERANCES.windows(2).zip(std::iter::repeat([10.0, 16.0, 25.0, 40.0, 64.0, 100.0])) {
            let mean = libm::sqrt(steps[0].0 * steps[1].0);
            let unit = 0.45 * libm::cbrt(mean) + 0.001 * mean;
            for (value, factor) in steps[1].1.iter().zip(factors) {
                let by = (0.025 * value).max(0.7);
                assert!((value - factor * unit).abs() <= by, "{value} against {}", factor * unit);
            }
        }
    }
}
