//! A cheap sequence from a first to a last place under precedences; costs may differ with direction.

use super::dice::Dice;

/// Which places must come before which, closed over chains.
#[derive(Clone, Debug)]
pub struct Precedence {
    /// For each place a set of those that must come before it, 64 to a word.
    before: Vec<Vec<u64>>,
}

impl Precedence {
    /// Precedences among `count` places from pairs (earlier, later).
    ///
    /// # Errors
    /// A place that would have to come before itself.
    pub fn new(count: usize, pairs: &[(usize, usize)]) -> Result<Self, usize> {
        let words = count.div_ceil(64);
        let mut before = vec![vec![0_u64; words]; count];
        for &(earlier, later) in pairs {
            if let Some(set) = before.get_mut(later) {
                insert(set, earlier);
            }
        }
        // Warshall's closure.
        for middle in 0..count {
            let through = before.get(middle).cloned().unwrap_or_default();
            for set in before.iter_mut().filter(|set| contains(set, middle)) {
                set.iter_mut().zip(&through).for_each(|(word, more)| *word |= more);
            }
        }
        match before.iter().enumerate().find(|(place, set)| contains(set, *place)) {
            Some((place, _)) => Err(place),
            None => Ok(Self { before }),
        }
    }

    fn of(&self, place: usize) -> &[u64] {
        self.before.get(place).map_or(&[], Vec::as_slice)
    }
}

fn insert(set: &mut [u64], place: usize) {
    if let Some(word) = set.get_mut(place / 64) {
        *word |= 1 << (place % 64);
    }
}

fn contains(set: &[u64], place: usize) -> bool {
    set.get(place / 64).is_some_and(|word| word & (1 << (place % 64)) != 0)
}

fn meet(a: &[u64], b: &[u64]) -> bool {
    a.iter().zip(b).any(|(a, b)| a & b != 0)
}

/// Random swaps tried in one cooling for each round asked for.
const SWAPS_PER_ROUND: usize = 400;
/// Coolings; each starts from the best sequence so far.
const COOLINGS: usize = 10;

/// A cheap sequence of all places that keeps every precedence.
///
/// `rounds` sets the effort: a count, so that every machine finds the same sequence. Method: swaps of neighbouring
/// segments, which keep the direction of both, after Gambardella and Dorigo (INFORMS Journal on Computing 12, 2000), taken
/// at random under a falling temperature (Kirkpatrick, Gelatt and Vecchi, Science 220, 1983) and then as long as they help.
#[must_use]
pub fn sequence(count: usize, cost: &dyn Fn(usize, usize) -> f64, order: &Precedence, rounds: usize) -> Vec<usize> {
    let mut search = Search { cost, order, stops: greedy(count, cost, order) };
    search.improve();
    let mut best = search.stops.clone();
    let mut least = search.total();
    let mut dice = Dice::new(count as u64 + 1);
    let hot = least / count.max(1) as f64;
    for _ in 0..COOLINGS {
        let moves = rounds * SWAPS_PER_ROUND / COOLINGS;
        for done in 0..moves {
            // From hot to a thousandth of it, by the same factor each time.
            search.shake(&mut dice, hot * libm::exp2(-10.0 * done as f64 / moves as f64));
        }
        search.improve();
        let total = search.total();
        if total < least - 1e-9 {
            least = total;
            best.clone_from(&search.stops);
        } else {
            search.stops.clone_from(&best);
        }
    }
    search.stops.clone_from(&best);
    for round in 0..rounds {
        let (kept, before) = (search.stops.clone(), search.total());
        for _ in 0..6 + round % 12 {
            search.shake(&mut dice, f64::INFINITY);
        }
        search.improve();
        if search.total() > before {
            search.stops = kept;
        }
    }
    search.stops
}

/// Always on to the cheapest place whose predecessors have all been visited.
fn greedy(count: usize, cost: &dyn Fn(usize, usize) -> f64, order: &Precedence) -> Vec<usize> {
    let mut seen = vec![0_u64; count.div_ceil(64)];
    let mut stops: Vec<usize> = Vec::with_capacity(count);
    while stops.len() < count {
        let ready = |place: &usize| {
            !contains(&seen, *place) && order.of(*place).iter().zip(&seen).all(|(before, seen)| before & !seen == 0)
        };
        let from = stops.last().copied();
        let price = |place: usize| from.map_or(0.0, |from| cost(from, place));
        let next = (0..count).filter(ready).min_by(|a, b| price(*a).total_cmp(&price(*b)).then(a.cmp(b)));
        let Some(next) = next else { break };
        insert(&mut seen, next);
        stops.push(next);
    }
    stops
}

struct Search<'a> {
    cost: &'a dyn Fn(usize, usize) -> f64,
    order: &'a Precedence,
    stops: Vec<usize>,
}

impl Search<'_> {
    fn total(&self) -> f64 {
        self.stops.windows(2).map(|pair| if let [a, b] = pair { (self.cost)(*a, *b) } else { 0.0 }).sum()
    }

    fn stop(&self, at: usize) -> usize {
        self.stops.get(at).copied().unwrap_or(0)
    }

    /// Swaps neighbouring segments as long as it helps.
    fn improve(&mut self) {
        while let Some((from, middle, to)) = self.best_swap() {
            self.swap(from, middle, to);
        }
    }

    /// The swap of `from..middle` and `middle..to` that gains most.
    fn best_swap(&self) -> Option<(usize, usize, usize)> {
        let mut best: Option<(f64, (usize, usize, usize))> = None;
        for from in 1..self.stops.len() {
            let mut left = vec![0_u64; self.stops.len().div_ceil(64)];
            for middle in from + 1..self.stops.len() {
                insert(&mut left, self.stop(middle - 1));
                for to in middle + 1..=self.stops.len() {
                    if meet(self.order.of(self.stop(to - 1)), &left) {
                        break;
                    }
                    let gain = self.gain(from, middle, to);
                    if gain > 1e-9 && best.is_none_or(|(most, _)| gain > most) {
                        best = Some((gain, (from, middle, to)));
                    }
                }
            }
        }
        best.map(|(_, swap)| swap)
    }

    fn gain(&self, from: usize, middle: usize, to: usize) -> f64 {
        let price = |a: usize, b: usize| (self.cost)(self.stop(a), self.stop(b));
        let (mut old, mut new) =
            (price(from - 1, from) + price(middle - 1, middle), price(from - 1, middle) + price(to - 1, from));
        if to < self.stops.len() {
            old += price(to - 1, to);
            new += price(middle - 1, to);
        }
        old - new
    }

    fn swap(&mut self, from: usize, middle: usize, to: usize) {
        if let Some(part) = self.stops.get_mut(from..to) {
            part.rotate_left(middle - from);
        }
    }

    /// One random swap, taken when it is allowed and its loss is one the temperature permits.
    fn shake(&mut self, dice: &mut Dice, temperature: f64) {
        let length = self.stops.len();
        if length < 4 {
            return;
        }
        let from = 1 + dice.below(length - 2);
        let middle = from + 1 + dice.below((length - from - 1).min(LONGEST));
        if middle >= length {
            return;
        }
        let to = middle + 1 + dice.below((length - middle).min(LONGEST));
        let loss = -self.gain(from, middle, to);
        let chance = dice.below(1 << 20) as f64 / f64::from(1 << 20);
        if loss > 0.0 && chance >= libm::exp(-loss / temperature.max(1e-9)) {
            return;
        }
        let later = self.stops.get(middle..to).unwrap_or_default();
        let earlier = self.stops.get(from..middle).unwrap_or_default();
        if later.iter().all(|place| earlier.iter().all(|other| !contains(self.order.of(*place), *other))) {
            self.swap(from, middle, to);
        }
    }
}

/// Longest segment of a random swap.
const LONGEST: usize = 10;
