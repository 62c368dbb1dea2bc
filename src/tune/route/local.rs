//! Local search on a tour: chains of reversals after Lin and Kernighan, and kicks that are taken back unless they help.

use super::dice::Dice;
use super::prices::Prices;
use super::tour::{Flip, Tour};
use std::collections::VecDeque;

/// How many candidates are tried at each level of a chain; deeper levels try one.
const BREADTH: [usize; 3] = [5, 3, 1];
/// Longest chain of reversals.
const DEPTH: usize = 12;
/// Gains below this are rounding.
const HAIR: f64 = 1e-9;
/// Stops within which the four cuts of a kick lie.
const WINDOW: usize = 60;

/// Most stops that one reversal turns round once the tour has settled: longer ones take more time than they gain. A house
/// value; on random places it costs 0.1 % at 10 000 and nothing up to twice its number.
const TURNED: usize = 1000;

/// The best few joins of a stop, the best first: kept in place, for a search asks for them by the million.
#[derive(Default)]
struct Candidates {
    best: [(u32, u32, f64); 5],
    count: usize,
}

impl Candidates {
    /// Adds a join unless `breadth` better ones are known; of equals the earlier stays first.
    fn add(&mut self, new: (u32, u32, f64), breadth: usize) {
        let place = self.best.iter().take(self.count).position(|known| known.2 < new.2).unwrap_or(self.count);
        let Some(worse) = self.best.get_mut(place..breadth).filter(|worse| !worse.is_empty()) else { return };
        worse.rotate_right(1);
        if let Some(slot) = worse.first_mut() {
            *slot = new;
            self.count = (self.count + 1).min(breadth);
        }
    }
}

/// A tour being improved.
pub(super) struct Search<'a> {
    tour: Tour,
    cost: Prices<'a>,
    near: &'a [Vec<u32>],
    /// Stops whose surroundings have changed.
    queue: VecDeque<u32>,
    queued: Vec<bool>,
    /// Reversals since the last kick.
    log: Vec<Flip>,
    /// Most stops that one reversal may turn round now.
    longest: usize,
}

impl<'a> Search<'a> {
    pub fn new(tour: Tour, cost: &'a dyn Fn(u32, u32) -> f64, near: &'a [Vec<u32>]) -> Self {
        let queued = vec![false; tour.len()];
        let cost = Prices::new(cost, tour.len());
        Self { tour, cost, near, queue: VecDeque::new(), queued, log: Vec::new(), longest: usize::MAX }
    }

    pub fn into_order(self) -> Vec<u32> {
        self.tour.into_order()
    }

    /// Improves everywhere until no chain helps.
    pub fn settle_all(&mut self) {
        for stop in 0..self.tour.len() {
            let stop = self.tour.stop_around(stop);
            self.push(stop);
        }
        self.settle();
        self.log.clear();
        self.longest = TURNED;
    }

    /// Cuts the tour at four near places, joins it otherwise, improves around the cuts, and takes all of it back unless
    /// the tour has become shorter or stayed as it was.
    pub fn kick(&mut self, dice: &mut Dice) {
        self.log.clear();
        let length = self.tour.len();
        let window = WINDOW.min(length - 1);
        let start = dice.below(length);
        let mut cuts = [dice.below(window), dice.below(window), dice.below(window)];
        cuts.sort_unstable();
        let [p, q, r] = cuts.map(|cut| start + cut);
        if p == q || q == r {
            return;
        }
        let [a, b, c, d] = [p, p + 1, q, q + 1].map(|at| self.tour.stop_around(at));
        let (e, f) = (self.tour.stop_around(r), self.tour.stop_around(r + 1));
        // a [b..c] [d..e] f becomes a [d..e] [b..c] f.
        let before = self.cost.of(a, b) + self.cost.of(c, d) + self.cost.of(e, f);
        let after = self.cost.of(a, d) + self.cost.of(e, b) + self.cost.of(c, f);
        self.swap_ways(a, [b, c], [d, e]);
        for stop in [a, b, c, d, e, f] {
            self.push(stop);
        }
        let gained = before - after + self.settle();
        if gained < -HAIR {
            while let Some(flip) = self.log.pop() {
                self.tour.reverse(flip);
            }
        }
    }

    fn push(&mut self, stop: u32) {
        if let Some(queued) = self.queued.get_mut(stop as usize).filter(|queued| !**queued) {
            *queued = true;
            self.queue.push_back(stop);
        }
    }

    fn flip(&mut self, a: u32, b: u32) {
        let flip = self.tour.flip(a, b);
        self.log.push(flip);
    }

    /// Improves around queued stops until none is left; returns what was gained.
    fn settle(&mut self) -> f64 {
        let mut gained = 0.0;
        while let Some(stop) = self.queue.pop_front() {
            if let Some(queued) = self.queued.get_mut(stop as usize) {
                *queued = false;
            }
            loop {
                let gain = self.improve(stop);
                if gain <= HAIR {
                    break;
                }
                gained += gain;
            }
        }
        gained
    }

    /// One chain, or one moved segment, from `stop`; returns what it gained, 0 when nothing helped.
    fn improve(&mut self, stop: u32) -> f64 {
        for backwards in [false, true] {
            let gain = self.chain(stop, backwards);
            if gain > HAIR {
                return gain;
            }
        }
        self.move_segment(stop)
    }

    /// The stop after `stop` in the direction of a chain.
    fn ahead(&self, stop: u32, backwards: bool) -> u32 {
        if backwards { self.tour.previous(stop) } else { self.tour.next(stop) }
    }

    /// Reverses the way between two stops in the direction of a chain.
    fn turn(&mut self, from: u32, to: u32, backwards: bool) {
        if backwards { self.flip(to, from) } else { self.flip(from, to) }
    }

    /// A chain of reversals that all keep `base`: each joins its successor to a nearer stop and opens the edge beyond.
    fn chain(&mut self, base: u32, backwards: bool) -> f64 {
        let mark = self.log.len();
        let mut touched = vec![base];
        let best = self.deepen(base, backwards, 0, 0.0, &mut touched);
        if best <= HAIR {
            while self.log.len() > mark {
                if let Some(flip) = self.log.pop() {
                    self.tour.reverse(flip);
                }
            }
            return 0.0;
        }
        for stop in touched {
            self.push(stop);
        }
        best
    }

    /// One level of a chain, with `gained` so far by closing the tour; leaves the tour at the best level found below and
    /// returns the gain there, or leaves it unchanged and returns 0.
    fn deepen(&mut self, base: u32, backwards: bool, level: usize, gained: f64, touched: &mut Vec<u32>) -> f64 {
        if level >= DEPTH {
            return 0.0;
        }
        let end = self.ahead(base, backwards);
        let opened = gained + self.cost.of(base, end);
        let breadth = BREADTH.get(level).copied().unwrap_or(1);
        let candidates = self.candidates(base, end, backwards, opened, breadth);
        for &(next, beyond, rest) in candidates.best.iter().take(candidates.count) {
            let mark = self.log.len();
            self.turn(end, beyond, backwards);
            touched.extend([end, next, beyond]);
            let closed = rest - self.cost.of(base, beyond);
            if closed > HAIR {
                let more = self.deepen_from(base, backwards, level + 1, closed, touched);
                return more.max(closed);
            }
            let deeper = self.deepen(base, backwards, level + 1, closed, touched);
            if deeper > HAIR {
                return deeper;
            }
            while self.log.len() > mark {
                if let Some(flip) = self.log.pop() {
                    self.tour.reverse(flip);
                }
            }
            touched.truncate(touched.len() - 3);
        }
        0.0
    }

    /// Goes on from a tour already better by `gained`; returns the best gain and leaves the tour there.
    fn deepen_from(&mut self, base: u32, backwards: bool, level: usize, gained: f64, touched: &mut Vec<u32>) -> f64 {
        let (mark, stops) = (self.log.len(), touched.len());
        let more = self.deepen(base, backwards, level, gained, touched);
        if more > gained + HAIR {
            return more;
        }
        while self.log.len() > mark {
            if let Some(flip) = self.log.pop() {
                self.tour.reverse(flip);
            }
        }
        touched.truncate(stops);
        gained
    }

    /// The most promising next joins of `end`, at most `breadth`: stop joined to, stop opened beyond it, and what is left
    /// after both.
    fn candidates(&self, base: u32, end: u32, backwards: bool, opened: f64, breadth: usize) -> Candidates {
        let mut found = Candidates::default();
        for &next in self.near.get(end as usize).into_iter().flatten() {
            let joined = opened - self.cost.of(end, next);
            if joined <= HAIR {
                break;
            }
            if next == base || next == self.ahead(end, backwards) {
                continue;
            }
            let beyond = self.ahead(next, !backwards);
            if self.tour.turned(end, beyond, backwards) > self.longest {
                continue;
            }
            found.add((next, beyond, joined + self.cost.of(next, beyond)), breadth);
        }
        found
    }

    /// Moves a segment of up to three stops that begins or ends at `stop` to where it is nearer, either way round.
    fn move_segment(&mut self, stop: u32) -> f64 {
        let (mut first, mut last) = (stop, stop);
        for _ in 0..3 {
            for (from, to, end) in [(stop, last, stop), (first, stop, stop)] {
                let gain = self.move_from(from, to, end);
                if gain > HAIR {
                    return gain;
                }
            }
            first = self.tour.previous(first);
            last = self.tour.next(last);
        }
        0.0
    }

    /// Moves the segment from `first` on to `last` into a gap beside a neighbour of `end`, which is one of the two.
    fn move_from(&mut self, first: u32, last: u32, end: u32) -> f64 {
        let (before, after) = (self.tour.previous(first), self.tour.next(last));
        if before == after || before == last || after == first {
            return 0.0;
        }
        let freed = self.cost.of(before, first) + self.cost.of(last, after) - self.cost.of(before, after);
        let other_end = if end == first { last } else { first };
        for &next in self.near.get(end as usize).into_iter().flatten() {
            let joined = self.cost.of(end, next);
            if joined >= freed - HAIR {
                break;
            }
            if self.tour.between(first, next, last) {
                continue;
            }
            // The gap beside `next`, on either side, as (left, right) in the tour's own direction.
            for (left, right) in [(self.tour.previous(next), next), (next, self.tour.next(next))] {
                if left == before || right == after || left == last || right == first {
                    continue;
                }
                if self.tour.turned(after, left, false) > self.longest {
                    continue;
                }
                let far = if next == left { right } else { left };
                let gain = freed + self.cost.of(left, right) - joined - self.cost.of(other_end, far);
                if gain > HAIR {
                    let turned = (next == left) == (end == last);
                    self.carry([before, first, last, after], [left, right], turned);
                    return gain;
                }
            }
        }
        0.0
    }

    /// Carries the segment into the gap; `turned` puts `last` beside the left of it.
    fn carry(&mut self, [before, first, last, after]: [u32; 4], [left, right]: [u32; 2], turned: bool) {
        self.swap_ways(before, [first, last], [after, left]);
        if turned {
            self.reverse_way(first, last, left);
        }
        for stop in [before, first, last, after, left, right] {
            self.push(stop);
        }
    }

    /// Swaps two ways that follow each other behind `before`, each given by its ends; both keep their direction.
    fn swap_ways(&mut self, before: u32, one: [u32; 2], other: [u32; 2]) {
        let ([first, last], [start, end]) = (one, other);
        self.reverse_way(first, end, before);
        self.reverse_way(end, start, before);
        self.reverse_way(last, first, end);
    }

    /// Reverses the way between two stops; `outside` stands beside `first`, off the way.
    fn reverse_way(&mut self, first: u32, last: u32, outside: u32) {
        if self.tour.next(outside) == first { self.flip(first, last) } else { self.flip(last, first) }
    }
}
