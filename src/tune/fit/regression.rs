//! Linear least squares with the statistics that go with it.
//!
//! Householder QR of the columns scaled to about unit length (nalgebra), then refinement of coefficients and residuals together
//! (Bjorck, Iterative refinement of linear least squares solutions I, BIT 7, 1967, 257) with sums in twice the working
//! precision (Ogita, Rump and Oishi, Accurate sum and dot product, SIAM J. Sci. Comput. 26, 2005, 1955, algorithm 5.3),
//! so that ill-conditioned trials do not cost digits unseen.

use nalgebra::{DMatrix, DVector, Dyn, QR};

/// A fit y = b1 x1 + b2 x2 + ...
#[derive(Clone, Debug)]
pub struct Regression {
    /// The coefficients, in the order of the columns.
    pub coefficients: Vec<f64>,
    /// Standard deviation of each.
    pub deviations: Vec<f64>,
    /// Observed less fitted, in the order of the rows.
    pub residuals: Vec<f64>,
    /// Weight of each observation on its own fitted value, 0 to 1: the diagonal of the hat matrix.
    pub leverages: Vec<f64>,
    /// Standard deviation of the residuals: the root of their squares over the degrees of freedom.
    pub residual_deviation: f64,
    /// Share of the variation about the mean that the fit explains; about zero where no column is constant.
    pub r_squared: f64,
    /// Observations less coefficients.
    pub freedom: usize,
    scales: Vec<f64>,
    /// Inverse of R of the scaled columns.
    inverse: DMatrix<f64>,
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoFit {
    /// Not more observations than coefficients.
    TooFew,
    /// This column follows from those before it, or is zero.
    Dependent(usize),
    /// A number is not finite.
    NotFinite,
}

/// Rounds of refinement; each gains as many digits as the first solution has.
const ROUNDS: usize = 3;

/// Fits `response` by the columns of the rows of `design`.
///
/// # Errors
/// [`NoFit`], among others where rows differ in length.
pub fn least_squares(design: &[Vec<f64>], response: &[f64]) -> Result<Regression, NoFit> {
    let (rows, columns) = (response.len(), design.first().map_or(0, Vec::len));
    if rows <= columns || columns == 0 || design.len() != rows || design.iter().any(|row| row.len() != columns) {
        return Err(NoFit::TooFew);
    }
    if design.iter().flatten().chain(response).any(|number| !number.is_finite()) {
        return Err(NoFit::NotFinite);
    }
    let column = |index: usize| design.iter().filter_map(move |row| row.get(index).copied());
    let scales: Vec<f64> = (0..columns).map(|index| power_of_two(norm(column(index)))).collect();
    if let Some(zero) = scales.iter().position(|scale| *scale <= 0.0) {
        return Err(NoFit::Dependent(zero));
    }
    let scaled = DMatrix::from_row_iterator(
        rows,
        columns,
        design.iter().flat_map(|row| row.iter().zip(&scales).map(|(value, scale)| value / scale)),
    );
    let factors = scaled.clone().qr();
    let (basis, inverse) = (factors.q(), inverse(&factors, rows)?);
    let mut solution = vec![0.0; columns];
    let mut residuals = vec![0.0; rows];
    for _ in 0..=ROUNDS {
        let misfit = DVector::from_iterator(
            rows,
            scaled.row_iter().zip(response).zip(&residuals).map(|((row, y), r)| {
                accurate(row.iter().chain([r]).copied().zip(solution.iter().copied().chain([1.0])), *y)
            }),
        );
        let slope =
            scaled.column_iter().map(|column| accurate(column.iter().copied().zip(residuals.iter().copied()), 0.0));
        let slope = inverse.tr_mul(&DVector::from_iterator(columns, slope));
        let along = basis.tr_mul(&misfit);
        let step = &inverse * (&along - &slope);
        solution.iter_mut().zip(step.iter()).for_each(|(value, step)| *value += step);
        let step = misfit + &basis * (slope - along);
        residuals.iter_mut().zip(step.iter()).for_each(|(value, step)| *value += step);
    }
    let coefficients: Vec<f64> = solution.iter().zip(&scales).map(|(value, scale)| value / scale).collect();
    let freedom = rows - columns;
    #[expect(clippy::cast_precision_loss, reason = "no table of trials has so many rows")]
    let residual_deviation = norm(residuals.iter().copied()) / libm::sqrt(freedom as f64);
    let deviations = deviations(design, &inverse, &scales).iter().map(|share| residual_deviation * share).collect();
    let leverages = scaled.row_iter().map(|row| (row * &inverse).norm_squared()).collect();
    Ok(Regression {
        r_squared: explained(design, response, &residuals),
        coefficients,
        deviations,
        residuals,
        leverages,
        residual_deviation,
        freedom,
        scales,
        inverse,
    })
}

impl Regression {
    /// The fitted value of one more row.
    #[must_use]
    pub fn value(&self, row: &[f64]) -> f64 {
        row.iter().zip(&self.coefficients).map(|(value, coefficient)| value * coefficient).sum()
    }

    /// Standard deviation of the fitted value of one more row.
    #[must_use]
    pub fn deviation(&self, row: &[f64]) -> f64 {
        let scaled = row.iter().zip(&self.scales).map(|(value, scale)| value / scale);
        let scaled = nalgebra::RowDVector::from_iterator(row.len(), scaled);
        if scaled.len() != self.inverse.nrows() {
            return f64::NAN;
        }
        self.residual_deviation * (scaled * &self.inverse).norm()
    }
}

/// The inverse of R; its columns are told dependent when R has next to nothing on its diagonal.
fn inverse(factors: &QR<f64, Dyn, Dyn>, rows: usize) -> Result<DMatrix<f64>, NoFit> {
    let upper = factors.r();
    #[expect(clippy::cast_precision_loss, reason = "no table of trials has so many rows")]
    let nothing = rows as f64 * f64::EPSILON;
    let dependent = upper.diagonal().iter().position(|entry| entry.abs() <= nothing);
    match (dependent, upper.solve_upper_triangular(&DMatrix::identity(upper.ncols(), upper.ncols()))) {
        (None, Some(inverse)) => Ok(inverse),
        (column, _) => Err(NoFit::Dependent(column.unwrap_or(0))),
    }
}

/// Standard deviation of each coefficient over that of the residuals: one over the length of its column's part that the
/// other columns do not explain. The part is near its shortest, so that errors of the inverse count in their square only.
fn deviations(design: &[Vec<f64>], inverse: &DMatrix<f64>, scales: &[f64]) -> Vec<f64> {
    let products = inverse * inverse.transpose();
    let own_part = |index: usize| {
        let own = products[(index, index)];
        let others = scales.iter().enumerate().map(|(other, scale)| products[(other, index)] / own / scale);
        let weights: Vec<f64> = others.map(|weight| weight * scales.get(index).copied().unwrap_or(1.0)).collect();
        1.0 / norm(design.iter().map(|row| accurate(row.iter().copied().zip(weights.iter().copied()), 0.0)))
    };
    (0..scales.len()).map(own_part).collect()
}

fn explained(design: &[Vec<f64>], response: &[f64], residuals: &[f64]) -> f64 {
    let columns = design.first().map_or(0, Vec::len);
    let first = |index: usize| design.first().and_then(|row| row.get(index));
    let constant = (0..columns).any(|index| design.iter().all(|row| row.get(index) == first(index)));
    #[expect(clippy::cast_precision_loss, reason = "no table of trials has so many rows")]
    let mean = if constant { response.iter().sum::<f64>() / response.len() as f64 } else { 0.0 };
    let (left, all) = (norm(residuals.iter().copied()), norm(response.iter().map(|value| value - mean)));
    if all > 0.0 { 1.0 - (left / all) * (left / all) } else { 1.0 }
}

/// `from` less all products, summed in twice the working precision.
fn accurate(factors: impl Iterator<Item = (f64, f64)>, from: f64) -> f64 {
    let (mut sum, mut rest) = (from, 0.0);
    for (a, b) in factors {
        let product = -a * b;
        let total = sum + product;
        let back = total - sum;
        rest += libm::fma(-a, b, -product) + ((sum - (total - back)) + (product - back));
        sum = total;
    }
    sum + rest
}

/// The power of two at or above a length: to divide by it costs no digit. Zero stays zero.
fn power_of_two(length: f64) -> f64 {
    if length > 0.0 { libm::ldexp(1.0, libm::frexp(length).1) } else { 0.0 }
}

/// Length of a vector whose squares may be beyond all numbers.
fn norm(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = values.clone().map(f64::abs).fold(0.0, f64::max);
    if most <= 0.0 {
        return 0.0;
    }
    most * libm::sqrt(values.map(|value| (value / most) * (value / most)).sum())
}
