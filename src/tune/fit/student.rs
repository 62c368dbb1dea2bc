//! Quantiles of Student's t distribution.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// Halvings of the bracket; each gains a binary digit, and a double has fewer.
const HALVINGS: usize = 64;

/// No table of trials asks for a higher t: one trial in a million at one degree of freedom stays under it.
const HIGHEST: f64 = 1e7;

/// The t that a variable of so many degrees of freedom stays under with `probability`, from one half up; infinite
/// without freedom.
///
/// By bisection of the upper tail, which always ends: the inverse that the library offers may not.
pub(super) fn quantile(probability: f64, freedom: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "no table of trials has so many rows")]
    let Ok(student) = StudentsT::new(0.0, 1.0, freedom as f64) else { return f64::INFINITY };
    let tail = 1.0 - probability;
    let (mut low, mut high) = (0.0, HIGHEST);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if student.sf(middle) > tail { low = middle } else { high = middle }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::quantile;

    /// Closed forms for 1 and 2 degrees of freedom: tan(pi (p - 1/2)) and (2 p - 1) sqrt(1 / (2 p (1 - p))).
    #[test]
    fn quantiles_meet_closed_forms() {
        for p in [0.975f64, 0.995, 0.9995] {
            let one = (std::f64::consts::PI * (p - 0.5)).tan();
            let two = (2.0 * p - 1.0) / (2.0 * p * (1.0 - p)).sqrt();
            assert!((quantile(p, 1) / one - 1.0).abs() < 1e-9, "{p}: {} is not {one}", quantile(p, 1));
            assert!((quantile(p, 2) / two - 1.0).abs() < 1e-9, "{p}: {} is not {two}", quantile(p, 2));
        }
    }

    /// Many degrees of freedom come near the normal distribution's 1.959964; none leave all open.
    #[test]
    fn freedom_narrows_the_interval() {
        let many = quantile(0.975, 10_000);
        assert!((1.96..1.9605).contains(&many), "{many}");
        assert!(quantile(0.975, 5) > quantile(0.975, 50));
        assert!(quantile(0.975, 0).is_infinite());
    }
}
