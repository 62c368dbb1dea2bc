//! The delamination factor against feed, Fd = a + b f + g N: a straight line, for the factor rises little over the feeds
//! of a trial (house form). f in mm/rev, N holes drilled before.

use super::law::Term;
use super::regression::{NoFit, least_squares};
use super::student::quantile;
use super::{Covered, Unfit};
use crate::job::Trial;

/// A fitted line of the delamination factor.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorFit {
    /// Its coefficients: a, b, then g where holes vary.
    pub terms: Vec<Term>,
    /// Feed and factor of every trial that measured it, the share of its wear taken off.
    pub points: Vec<(f64, f64)>,
    /// Feeds it was measured at, mm/rev.
    pub feed: (f64, f64),
    /// Share of the variation that the line explains.
    pub r_squared: f64,
    /// Standard deviation about the line.
    pub spread: f64,
    /// Trials less coefficients.
    pub freedom: usize,
}

impl FactorFit {
    /// The line of the trials that measured the factor; `None` where none did.
    pub(super) fn of(rows: &[Trial], confidence: f64) -> Option<Result<Self, Unfit>> {
        let measured: Vec<(Trial, f64)> = rows.iter().filter_map(|trial| Some((*trial, trial.delamination?))).collect();
        let rows: Vec<Trial> = measured.iter().map(|(trial, _)| *trial).collect();
        // Feeds and wear of these trials only: the others may hold more of both.
        (!rows.is_empty()).then(|| Self::line(&measured, &Covered::of(&rows), confidence))
    }

    fn line(measured: &[(Trial, f64)], covered: &Covered, confidence: f64) -> Result<Self, Unfit> {
        let (feed, wear) = (covered.feed, covered.shows_wear());
        let letters: &[(char, &'static str)] = &[('a', "delamination"), ('b', "feed"), ('g', "holes")];
        let letters = letters.get(..if wear { 3 } else { 2 }).unwrap_or(letters);
        let too_few = Unfit::TooFew { trials: measured.len(), coefficients: letters.len() };
        if measured.len() > letters.len() && feed.1 <= feed.0 {
            return Err(Unfit::OneFeed(feed.0));
        }
        let row = |trial: &Trial| {
            let holes = wear.then(|| trial.holes.unwrap_or(0.0));
            [1.0, trial.feed.0].into_iter().chain(holes).collect::<Vec<f64>>()
        };
        let design: Vec<Vec<f64>> = measured.iter().map(|(trial, _)| row(trial)).collect();
        let response: Vec<f64> = measured.iter().map(|(_, factor)| *factor).collect();
        let regression = least_squares(&design, &response).map_err(|fault| match fault {
            NoFit::TooFew => too_few,
            NoFit::Dependent(column) => Unfit::Together(letters.get(column).map_or("feed", |(_, what)| what)),
            NoFit::NotFinite => Unfit::NotFinite,
        })?;
        let half = quantile(f64::midpoint(1.0, confidence), regression.freedom);
        let pairs = regression.coefficients.iter().zip(&regression.deviations);
        let terms = letters.iter().zip(pairs).map(|((symbol, _), (value, deviation))| {
            let half = half * deviation;
            Term { symbol: *symbol, value: *value, interval: (value - half, value + half) }
        });
        let growth = regression.coefficients.get(2).copied().unwrap_or(0.0);
        let worn: Vec<f64> = measured.iter().map(|(trial, _)| growth * trial.holes.unwrap_or(0.0)).collect();
        Ok(Self {
            terms: terms.collect(),
            points: measured.iter().zip(&worn).map(|((trial, factor), worn)| (trial.feed.0, factor - worn)).collect(),
            feed,
            r_squared: regression.r_squared,
            spread: regression.residual_deviation,
            freedom: regression.freedom,
        })
    }

    /// Whether these trials tell wear.
    #[must_use]
    pub fn shows_wear(&self) -> bool {
        self.terms.iter().any(|term| term.symbol == 'g')
    }

    /// A coefficient; 0 for one the line has not.
    #[must_use]
    pub fn term(&self, symbol: char) -> f64 {
        self.terms.iter().find(|term| term.symbol == symbol).map_or(0.0, |term| term.value)
    }
}
