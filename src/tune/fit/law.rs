//! The thrust law ln F = ln c + m ln f + p ln D + k N by least squares: f in mm/rev, D in mm, N holes drilled before.
//!
//! The power law is a form the trade uses (common practice, no source); growth by the same share with every hole is ours.

use super::regression::{NoFit, Regression, least_squares};
use super::student::quantile;
use super::{Covered, Unfit};
use crate::job::{ThrustLaw, Trial};
use crate::units::{Millimetres, MmPerRev, Newtons};

/// A fitted thrust law and what it is worth.
#[derive(Clone, Debug)]
pub struct LawFit {
    /// Its coefficients: c, m, then p and k where diameters and holes vary.
    pub terms: Vec<Term>,
    /// Every trial beside the law, in the order of the file.
    pub trials: Vec<FittedTrial>,
    /// Share of the variation of ln F that the law explains.
    pub r_squared: f64,
    /// Standard deviation of ln F about the law, about the relative one of F.
    pub spread: f64,
    /// Trials less coefficients.
    pub freedom: usize,
    shape: Shape,
    regression: Regression,
    quantile: f64,
}

/// One coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// Its letter in the law.
    pub symbol: char,
    /// Its value.
    pub value: f64,
    /// Interval that holds it with the confidence of the fit.
    pub interval: (f64, f64),
}

/// One trial beside the law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedTrial {
    /// The trial.
    pub trial: Trial,
    /// Thrust by the law.
    pub law: Newtons,
    /// Whether it lies further off than chance would put any of these trials in twenty such tables.
    pub outlier: bool,
}

impl FittedTrial {
    /// Measured over the law, less one.
    #[must_use]
    pub fn residual(&self) -> f64 {
        self.trial.thrust / self.law - 1.0
    }
}

/// Which terms the law has beside c and m.
#[derive(Clone, Copy, Debug)]
struct Shape {
    diameter: bool,
    holes: bool,
}

impl Shape {
    /// The row of the design for one hole.
    fn row(self, feed: MmPerRev, diameter: Millimetres, holes: f64) -> Vec<f64> {
        let mut row = vec![1.0, libm::log(feed.0)];
        if self.diameter {
            row.push(libm::log(diameter.0));
        }
        if self.holes {
            row.push(holes);
        }
        row
    }

    /// The letter of each column, and what was varied for it.
    fn letters(self) -> Vec<(char, &'static str)> {
        let mut letters = vec![('c', "thrust"), ('m', "feed")];
        if self.diameter {
            letters.push(('p', "diameter"));
        }
        if self.holes {
            letters.push(('k', "holes"));
        }
        letters
    }
}

impl LawFit {
    pub(super) fn of(rows: &[Trial], covered: &Covered, confidence: f64) -> Result<Self, Unfit> {
        let shape = Shape { diameter: covered.diameter.1 > covered.diameter.0, holes: covered.shows_wear() };
        let letters = shape.letters();
        if rows.len() <= letters.len() {
            return Err(Unfit::TooFew { trials: rows.len(), coefficients: letters.len() });
        }
        if covered.feed.1 <= covered.feed.0 {
            return Err(Unfit::OneFeed(covered.feed.0));
        }
        let design: Vec<Vec<f64>> =
            rows.iter().map(|trial| shape.row(trial.feed, trial.diameter, trial.holes.unwrap_or(0.0))).collect();
        let response: Vec<f64> = rows.iter().map(|trial| libm::log(trial.thrust.0)).collect();
        let regression = least_squares(&design, &response).map_err(|fault| match fault {
            NoFit::TooFew => Unfit::TooFew { trials: rows.len(), coefficients: letters.len() },
            NoFit::Dependent(column) => Unfit::Together(letters.get(column).map_or("feed", |(_, what)| what)),
            NoFit::NotFinite => Unfit::NotFinite,
        })?;
        let quantile_of = quantile(f64::midpoint(1.0, confidence), regression.freedom);
        let terms: Vec<Term> = letters
            .iter()
            .zip(regression.coefficients.iter().zip(&regression.deviations))
            .map(|((symbol, _), (value, deviation))| Term::of(*symbol, *value, quantile_of * deviation))
            .collect();
        let outliers = outliers(&regression, 1.0 - confidence);
        let fitted = |((trial, row), outlier): ((&Trial, &Vec<f64>), bool)| FittedTrial {
            trial: *trial,
            law: Newtons(libm::exp(regression.value(row))),
            outlier,
        };
        let law = Self {
            trials: rows.iter().zip(&design).zip(outliers).map(fitted).collect(),
            terms,
            r_squared: regression.r_squared,
            spread: regression.residual_deviation,
            freedom: regression.freedom,
            shape,
            regression,
            quantile: quantile_of,
        };
        law.rising()
    }

    /// The law, where the trials show that thrust rises with feed: an exit feed read off any other would be chance.
    fn rising(self) -> Result<Self, Unfit> {
        let Some(Term { value, interval, .. }) = self.terms.iter().find(|term| term.symbol == 'm').copied() else {
            return Err(Unfit::NotFinite);
        };
        if value <= 0.0 {
            return Err(Unfit::Falling(value));
        }
        if interval.0 > 0.0 {
            return Ok(self);
        }
        let off = |fitted: &&FittedTrial| libm::log(fitted.trial.thrust / fitted.law).abs();
        let worst = self.trials.iter().max_by(|one, other| off(one).total_cmp(&off(other)));
        let worst = worst.map_or(0, |fitted| fitted.trial.line);
        Err(Unfit::Unsure { exponent: value, interval, worst })
    }

    /// A coefficient; 0 for one the law has not.
    #[must_use]
    pub fn term(&self, symbol: char) -> f64 {
        self.terms.iter().find(|term| term.symbol == symbol).map_or(0.0, |term| term.value)
    }

    /// Thrust of one more hole by the law, and the interval that holds what would be measured there.
    #[must_use]
    pub fn predict(&self, feed: MmPerRev, diameter: Millimetres, holes: f64) -> (Newtons, (Newtons, Newtons)) {
        let row = self.shape.row(feed, diameter, holes);
        let (value, own) = (self.regression.value(&row), self.regression.deviation(&row));
        let half = self.quantile * libm::sqrt(self.spread * self.spread + own * own);
        let newtons = |log: f64| Newtons(libm::exp(log));
        (newtons(value), (newtons(value - half), newtons(value + half)))
    }

    /// Thrust after so many holes over that of a new edge; never under 1, for no edge sharpens.
    #[must_use]
    pub fn wear_factor(&self, holes: f64) -> f64 {
        libm::exp(self.term('k') * holes).max(1.0)
    }

    /// The law as a tool of the job carries it, for a new edge.
    #[must_use]
    pub fn law(&self, covered: &Covered, origin: &str) -> ThrustLaw {
        ThrustLaw {
            c: self.term('c'),
            m: self.term('m'),
            p: self.term('p'),
            valid: covered.feed,
            diameters: Some(covered.diameter),
            origin: origin.to_owned(),
        }
    }
}

impl Term {
    /// A coefficient of the logarithm; c itself is told, not its logarithm.
    fn of(symbol: char, value: f64, half: f64) -> Self {
        let told = |value: f64| if symbol == 'c' { libm::exp(value) } else { value };
        Self { symbol, value: told(value), interval: (told(value - half), told(value + half)) }
    }
}

/// Which residuals chance hardly explains: externally studentised, against Student's t at the level shared among all
/// trials (Bonferroni). Cook and Weisberg, Residuals and Influence in Regression, 1982.
fn outliers(regression: &Regression, level: f64) -> Vec<bool> {
    let count = regression.residuals.len();
    #[expect(clippy::cast_precision_loss, reason = "no table of trials has so many rows")]
    let (trials, freedom) = (count as f64, regression.freedom as f64);
    if regression.freedom < 2 {
        return vec![false; count];
    }
    let bound = quantile(1.0 - level / (2.0 * trials), regression.freedom - 1);
    let variance = regression.residual_deviation * regression.residual_deviation;
    let pairs = regression.residuals.iter().zip(&regression.leverages);
    let far = |(residual, leverage): (&f64, &f64)| {
        let own = residual * residual / (1.0 - leverage).max(f64::EPSILON);
        let others = (freedom * variance - own) / (freedom - 1.0);
        own > bound * bound * others.max(0.0) && own > 0.0
    };
    pairs.map(far).collect()
}
