//! Linear regression against the Statistical Reference Datasets of the National Institute of Standards and Technology
//! (NIST StRD): coefficients, their standard deviations, residual standard deviation and R squared, all certified.

use lastply::tune::fit::regression::{Regression, least_squares};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Observations and certified values of one dataset.
#[derive(Deserialize)]
struct Dataset {
    powers: Option<[i32; 2]>,
    y: Vec<f64>,
    x: Predictors,
    coefficients: Vec<f64>,
    deviations: Vec<f64>,
    residual_deviation: f64,
    r_squared: f64,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Predictors {
    One(Vec<f64>),
    Many(Vec<Vec<f64>>),
}

fn datasets() -> BTreeMap<String, Dataset> {
    toml::from_str(include_str!("nist_strd/linear.toml")).unwrap()
}

/// Coefficients and deviations for the certified model.
struct Fitted {
    coefficients: Vec<f64>,
    deviations: Vec<f64>,
    fit: Regression,
}

/// Powers of Filip's predictor are taken about its middle and the polynomial then expanded: its powers as such, once
/// rounded to double precision, are another problem, whose exact solution leaves the certified one in the eighth digit.
const MIDDLES: [(&str, f64); 1] = [("Filip", -6.0)];

fn fit(name: &str, data: &Dataset) -> Fitted {
    let middle = MIDDLES.iter().find(|(known, _)| *known == name).map_or(0.0, |(_, middle)| *middle);
    let rows: Vec<Vec<f64>> = match (&data.x, data.powers) {
        (Predictors::One(x), Some([from, to])) => {
            x.iter().map(|x| (from..=to).map(|power| (x - middle).powi(power)).collect()).collect()
        }
        (Predictors::Many(x), None) => x.iter().map(|row| [&[1.0], &row[..]].concat()).collect(),
        _ => panic!("powers belong to one predictor"),
    };
    let fit = least_squares(&rows, &data.y).unwrap();
    if middle == 0.0 {
        return Fitted { coefficients: fit.coefficients.clone(), deviations: fit.deviations.clone(), fit };
    }
    let count = fit.coefficients.len();
    let weight = |term: usize, power: usize| binomial(term, power) * (-middle).powi(term as i32 - power as i32);
    let expansions: Vec<Vec<f64>> =
        (0..count).map(|power| (0..count).map(|term| weight(term, power)).collect()).collect();
    let coefficients = expansions.iter().map(|row| fit.value(row)).collect();
    let deviations = expansions.iter().map(|row| fit.deviation(row)).collect();
    Fitted { coefficients, deviations, fit }
}

/// Ways to choose `some` of `all`; 0 where there are fewer.
fn binomial(all: usize, some: usize) -> f64 {
    (0..some).map(|index| (all as f64 - index as f64) / (index as f64 + 1.0)).product()
}

/// Digits that agree: the negative logarithm of the relative error, or of the absolute one where zero is certified.
fn digits(value: f64, certified: f64) -> f64 {
    let error = if certified == 0.0 { value.abs() } else { ((value - certified) / certified).abs() };
    if error == 0.0 { 15.0 } else { -error.log10() }
}

/// Fewest digits of coefficients, deviations and the two sums.
fn agreement(name: &str, data: &Dataset) -> [f64; 4] {
    let Fitted { coefficients, deviations, fit } = fit(name, data);
    let fewest = |values: &[f64], certified: &[f64]| {
        assert_eq!(values.len(), certified.len());
        values.iter().zip(certified).map(|(value, certified)| digits(*value, *certified)).fold(15.0, f64::min)
    };
    [
        fewest(&coefficients, &data.coefficients),
        fewest(&deviations, &data.deviations),
        digits(fit.residual_deviation, data.residual_deviation),
        digits(fit.r_squared, data.r_squared),
    ]
}

#[test]
fn certified_values_are_met_to_twelve_digits() {
    let datasets = datasets();
    assert_eq!(datasets.len(), 11);
    for (name, data) in &datasets {
        let digits = agreement(name, data);
        println!("{name}: coefficients, deviations, residuals and R squared agree to {digits:.1?} digits");
        assert!(digits.iter().all(|digits| *digits >= 12.0), "{name}: {digits:?}");
    }
}
