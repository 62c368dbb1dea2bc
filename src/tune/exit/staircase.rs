//! The staircase itself, bare of trade: pieces with a least and a most feed, few stages, least turns. Exact.

use core::ops::Range;

/// A stretch of depth with one window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Its length.
    pub length: f64,
    /// Least feed; 0 for none.
    pub floor: f64,
    /// Most feed.
    pub most: f64,
    /// Feed to stay at or under where the floor allows it: the most less a margin.
    pub kept: f64,
}

/// One feed over neighbouring pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The pieces it covers.
    pub pieces: Range<usize>,
    /// Its feed.
    pub feed: f64,
}

/// The staircase of at most `stages` steps that takes the fewest turns, and of those with as few turns the one with the
/// fewest steps. `None` when some piece has no window or `stages` are too few for windows that do not overlap.
///
/// Dynamic programming over the ends of steps: the best way to reach a depth with one step more is a best way to reach
/// some shallower depth and one step from there. As feeds only change where windows do, no better staircase exists.
/// Takes time in proportion to `stages` times the square of the pieces.
#[must_use]
pub fn fastest(pieces: &[Piece], stages: usize) -> Option<Vec<Step>> {
    let count = pieces.len();
    // `best[n]`: turns down to the end of piece n with the steps so far, and where the last step began.
    let mut table: Vec<Vec<Option<(f64, usize)>>> = Vec::new();
    let mut above: Vec<Option<f64>> = vec![None; count + 1];
    *above.first_mut()? = Some(0.0);
    for _ in 0..stages.min(count) {
        let mut best: Vec<Option<(f64, usize)>> = vec![None; count + 1];
        for (start, turns) in above.iter().enumerate() {
            let Some(turns) = turns else { continue };
            let mut step = Growing::default();
            for (piece, reached) in pieces.iter().zip(best.iter_mut().skip(1)).skip(start) {
                let Some(own) = step.take(piece) else { break };
                let total = turns + own;
                if reached.is_none_or(|(least, _)| total < least) {
                    *reached = Some((total, start));
                }
            }
        }
        above = best.iter().map(|entry| entry.map(|(turns, _)| turns)).collect();
        table.push(best);
    }
    let last = |row: &Vec<Option<(f64, usize)>>| row.last().copied().flatten().map(|(turns, _)| turns);
    let (steps, _) = table
        .iter()
        .enumerate()
        .filter_map(|(index, row)| Some((index, last(row)?)))
        .reduce(|a, b| if b.1 < a.1 { b } else { a })?;
    let mut end = count;
    let mut found = Vec::new();
    for row in table.iter().take(steps + 1).rev() {
        let (_, start) = row.get(end).copied().flatten()?;
        found.push(Step { pieces: start..end, feed: Growing::over(pieces.get(start..end)?)? });
        end = start;
    }
    found.reverse();
    Some(found)
}

/// A step as it takes in one piece after another.
struct Growing {
    length: f64,
    floor: f64,
    most: f64,
    kept: f64,
}

impl Default for Growing {
    fn default() -> Self {
        Self { length: 0.0, floor: 0.0, most: f64::INFINITY, kept: f64::INFINITY }
    }
}

impl Growing {
    /// Turns with this piece taken in; `None` once no feed is right for all.
    fn take(&mut self, piece: &Piece) -> Option<f64> {
        self.length += piece.length;
        self.floor = self.floor.max(piece.floor);
        self.most = self.most.min(piece.most);
        self.kept = self.kept.min(piece.kept);
        Some(self.length / self.feed()?)
    }

    fn feed(&self) -> Option<f64> {
        let feed = self.kept.max(self.floor);
        (feed <= self.most && feed > 0.0).then_some(feed)
    }

    fn over(pieces: &[Piece]) -> Option<f64> {
        let mut step = Self::default();
        pieces.iter().for_each(|piece| {
            step.take(piece);
        });
        step.feed()
    }
}
