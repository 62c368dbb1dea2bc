//! Laws from the shop's own drilling trials: thrust and delamination against feed, with what they are worth.

mod delamination;
mod law;
pub mod regression;
mod student;

pub use delamination::FactorFit;
pub use law::{FittedTrial, LawFit, Term};

use crate::job::{Trial, Trials};
use thiserror::Error;

/// Everything the trials tell.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The thrust law.
    pub law: LawFit,
    /// The delamination factor against feed, where it was measured; or why it gives no line.
    pub delamination: Option<Result<FactorFit, Unfit>>,
    /// What the trials cover.
    pub covered: Covered,
    /// Share of probability that intervals hold, 0 to 1.
    pub confidence: f64,
}

/// Least and most of what was varied, over all trials. Nothing is said outside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covered {
    /// Trials.
    pub trials: usize,
    /// Feeds for each turn, mm/rev.
    pub feed: (f64, f64),
    /// Diameters, mm.
    pub diameter: (f64, f64),
    /// Holes drilled before, where every trial says so.
    pub holes: Option<(f64, f64)>,
    /// Spindle speeds, rev/min, where any trial says so.
    pub speed: Option<(f64, f64)>,
}

/// Why trials give no law; each message says what would help.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Unfit {
    /// Not more trials than coefficients.
    #[error("{trials} trials give no law of {coefficients} coefficients: measure {} or more", coefficients + 1)]
    TooFew {
        /// Trials.
        trials: usize,
        /// Coefficients of the law.
        coefficients: usize,
    },
    /// Nothing was varied that a law could be of.
    #[error("all trials have one feed, {0} mm/rev: vary the feed")]
    OneFeed(f64),
    /// Two things were varied together only.
    #[error("{0} goes with the other columns in every trial, so that its share cannot be told: vary it on its own")]
    Together(&'static str),
    /// Thrust does not rise with feed.
    #[error("thrust does not rise with feed in these trials (exponent {0:.3}): no exit feed follows from them")]
    Falling(f64),
    /// Whether thrust rises with feed is left open.
    #[error(
        "these trials do not show that thrust rises with feed (exponent {exponent:.3}, interval {:.3} to {:.3}): no exit \
         feed follows from them; look at row {worst}, which lies furthest from the law, or measure more holes at more feeds",
        interval.0, interval.1
    )]
    Unsure {
        /// Exponent of the feed.
        exponent: f64,
        /// Interval that holds it with the confidence of the fit.
        interval: (f64, f64),
        /// Line of the trial furthest from the law.
        worst: u64,
    },
    /// Numbers beyond all measure.
    #[error("the numbers of these trials are beyond all measure")]
    NotFinite,
}

/// Share of probability of all intervals; the custom of the trade, no source.
const CONFIDENCE: f64 = 0.95;

/// The laws of these trials.
///
/// # Errors
/// Why there is no thrust law.
pub fn fit(trials: &Trials) -> Result<Fit, Unfit> {
    let covered = Covered::of(&trials.rows);
    let law = LawFit::of(&trials.rows, &covered, CONFIDENCE)?;
    let delamination = FactorFit::of(&trials.rows, CONFIDENCE);
    Ok(Fit { law, delamination, covered, confidence: CONFIDENCE })
}

impl Covered {
    fn of(rows: &[Trial]) -> Self {
        let holes: Vec<f64> = rows.iter().filter_map(|trial| trial.holes).collect();
        let speeds: Vec<f64> = rows.iter().filter_map(|trial| trial.speed).map(|speed| speed.0).collect();
        Self {
            trials: rows.len(),
            feed: range(rows.iter().map(|trial| trial.feed.0)).unwrap_or_default(),
            diameter: range(rows.iter().map(|trial| trial.diameter.0)).unwrap_or_default(),
            holes: range(holes.iter().copied()).filter(|_| holes.len() == rows.len()),
            speed: range(speeds.iter().copied()),
        }
    }

    /// Whether wear can be told: every trial says how many holes came before, and not all say the same.
    #[must_use]
    pub fn shows_wear(&self) -> bool {
        self.holes.is_some_and(|(least, most)| most > least)
    }
}

fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |range, value| match range {
        Some((least, most)) => Some((f64::min(least, value), f64::max(most, value))),
        None => Some((value, value)),
    })
}
