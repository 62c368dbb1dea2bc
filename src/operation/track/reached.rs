//! Speeds the plan reached, on their way from the control's look-ahead to the stretches that wait for them.

use crate::motion::{Cause, Planned, Segment};
use std::collections::VecDeque;

/// What the plan made of one move.
#[derive(Clone, Copy, Debug)]
pub(super) struct Speed {
    /// Highest speed, mm/min.
    pub peak: f64,
    /// What held it back.
    pub cause: Cause,
    /// Middle of the move, X and Y.
    pub at: [f64; 2],
}

/// A stretch of a cut that waits for a move to come out of the plan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Claim {
    /// Number of the move.
    pub planned: u64,
    /// Number of the cut.
    pub cut: u64,
    /// Index of the stretch.
    pub stretch: usize,
}

/// Moves in the plan and who waits for them.
#[derive(Debug, Default)]
pub(super) struct Reached {
    /// Moves handed to the plan.
    pushed: u64,
    /// Moves that have come out of it.
    settled: u64,
    /// The last of them, whom someone may still ask for.
    recent: VecDeque<Speed>,
    claims: VecDeque<Claim>,
}

impl Reached {
    /// A move has been handed to the plan; its number.
    pub fn push(&mut self) -> u64 {
        self.pushed += 1;
        self.pushed - 1
    }

    /// The next move has come out of the plan.
    pub fn settle(&mut self, segment: &Segment, planned: &Planned) {
        let ([x, y, _], [to_x, to_y, _]) = (segment.from, segment.to);
        let at = [(x + to_x) / 2.0, (y + to_y) / 2.0];
        self.recent.push_back(Speed { peak: planned.peak, cause: planned.cause, at });
        self.settled += 1;
    }

    /// Puts a claim at the end of the queue.
    pub fn claim(&mut self, claim: Claim) {
        if self.claims.back() != Some(&claim) {
            self.claims.push_back(claim);
        }
    }

    /// Whether the first claim can be met, or let go.
    pub fn is_due(&self) -> bool {
        self.claims.front().is_some_and(|claim| claim.planned < self.settled)
    }

    /// The first claim that can be met. One whose move nobody kept is let go: its stretch stays without a speed.
    pub fn next(&mut self) -> Option<(Claim, Speed)> {
        let first = self.settled - self.recent.len() as u64;
        while self.claims.front().is_some_and(|claim| claim.planned < first) {
            self.claims.pop_front();
        }
        let claim = *self.claims.front()?;
        let speed = *self.recent.get(usize::try_from(claim.planned - first).ok()?)?;
        self.claims.pop_front();
        Some((claim, speed))
    }

    /// Forgets moves nobody can ask for any more: all that have come out, once no move waits to become a cut.
    pub fn forget(&mut self) {
        self.recent.clear();
    }

    /// Whether a cut still waits for moves.
    pub fn owes(&self, cut: u64) -> bool {
        self.claims.front().is_some_and(|claim| claim.cut <= cut)
    }
}
