//! The leading half of the tool's circle and which parts of it still meet material.
//!
//! A point of it is told by its sine: how far it lies to the left of the path, in tool radii, from -1 on the right to 1 on
//! the left. So intervals are cut with nothing but square roots, and an angle is needed once, at the end.

use super::ahead::Ahead;
use super::marks::on_circle;
use crate::operation::Side;

/// Spans narrower than this across the path are no chips but what flattening and rounding leave, mm; house value.
pub const FILM: f64 = 0.005;
/// Most spans kept apart; a removal that would make more is left out, so that engagement comes out too large.
const MOST_SPANS: usize = 8;

/// Parts of the leading half that meet material, from right to left, as sines.
#[derive(Clone, Debug)]
pub struct Front {
    spans: [(f64, f64); MOST_SPANS],
    count: usize,
    /// Width of a film, in tool radii.
    film: f64,
    /// Middle and radius of a circle about all parts.
    hull: ([f64; 2], f64),
}

impl Front {
    /// The parts of a tool of that radius, mm, that may meet material; `None` when no part does.
    pub fn of(ahead: Ahead, radius: f64) -> Option<Self> {
        let (mut spans, mut count) = ([(0.0, 0.0); MOST_SPANS], 0);
        for (from, to) in ahead.spans() {
            match spans.get_mut(count) {
                Some(span) => (*span, count) = ((from, to), count + 1),
                None => spans[MOST_SPANS - 1].1 = to,
            }
        }
        let mut front = Self { spans, count, film: FILM / radius, hull: ([0.0, 0.0], 1.0) };
        (count > 0).then(|| {
            front.tighten();
            front
        })
    }

    /// The parts.
    pub fn spans(&self) -> &[(f64, f64)] {
        self.spans.get(..self.count).unwrap_or_default()
    }

    /// Middle and radius of a circle about all parts, seen from the tool.
    pub fn hull(&self) -> ([f64; 2], f64) {
        self.hull
    }

    /// Sines between which all parts lie.
    pub fn bounds(&self) -> (f64, f64) {
        let (first, last) = (self.spans().first(), self.spans().last());
        (first.map_or(0.0, |(low, _)| *low), last.map_or(0.0, |(_, high)| *high))
    }

    /// Drops films, which no cut makes wider again, and draws the hull anew: an arc of half a turn or less lies in the
    /// circle over its chord.
    fn tighten(&mut self) {
        self.drop_films();
        let (low, high) = self.bounds();
        let ([ax, ay], [bx, by]) = (on_circle(low), on_circle(high));
        let (dx, dy) = (bx - ax, by - ay);
        self.hull = ([(ax + bx) / 2.0, (ay + by) / 2.0], libm::sqrt(dx * dx + dy * dy) / 2.0);
    }

    /// Takes everything away.
    pub fn clear(&mut self) {
        self.count = 0;
    }

    /// Whether nothing meets material.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Takes away what lies between marks and is gone, told by the middle of each interval; whether anything was.
    pub fn carve(&mut self, marks: &[f64], gone: impl Fn(f64) -> bool) -> bool {
        let (mut low, last) = self.bounds();
        let mut changed = false;
        for high in marks.iter().copied().filter(|mark| *mark < last).chain([last]) {
            if high > low {
                if self.meets(low, high) && gone((low + high) / 2.0) {
                    self.remove(low, high);
                    changed = true;
                }
                low = high;
            }
        }
        if changed {
            self.tighten();
        }
        changed
    }

    /// Whether some part lies between two sines.
    fn meets(&self, from: f64, to: f64) -> bool {
        self.spans().iter().any(|(low, high)| *low < to && *high > from)
    }

    /// Takes one interval away.
    fn remove(&mut self, from: f64, to: f64) {
        let mut index = 0;
        while let Some(span) = self.spans.get_mut(index).filter(|_| index < self.count) {
            let (low, high) = *span;
            index += 1;
            match (low < from, to < high) {
                _ if high <= from || to <= low => {}
                (true, false) => *span = (low, from),
                (false, true) => *span = (to, high),
                (false, false) => {
                    index -= 1;
                    self.spans.copy_within(index + 1..self.count, index);
                    self.count -= 1;
                }
                (true, true) if self.count < MOST_SPANS => {
                    *span = (low, from);
                    self.spans.copy_within(index..self.count, index + 1);
                    self.count += 1;
                    if let Some(next) = self.spans.get_mut(index) {
                        *next = (to, high);
                    }
                }
                (true, true) => {}
            }
        }
    }

    /// Drops parts thinner than a film.
    fn drop_films(&mut self) {
        let least = self.film;
        let film = |(low, high): &(f64, f64)| high - low <= least;
        let mut index = 0;
        while index < self.count {
            if self.spans.get(index).is_some_and(film) {
                self.spans.copy_within(index + 1..self.count, index);
                self.count -= 1;
            } else {
                index += 1;
            }
        }
    }

    /// Angle of all parts, degrees.
    pub fn sweep(&self) -> f64 {
        self.spans().iter().map(|(low, high)| libm::asin(*high) - libm::asin(*low)).sum::<f64>().to_degrees()
    }

    /// Side the material beside the path stands on; `None` when on both or on neither.
    pub fn side(&self) -> Option<Side> {
        let right = self.spans().first().is_some_and(|(low, _)| *low <= self.film - 1.0);
        let left = self.spans().last().is_some_and(|(_, high)| *high >= 1.0 - self.film);
        match (left, right) {
            (true, false) => Some(Side::Left),
            (false, true) => Some(Side::Right),
            _ => None,
        }
    }

    /// Middle of the widest part, as a sine.
    pub fn middle(&self) -> f64 {
        let width = |(low, high): &(f64, f64)| high - low;
        let widest = self.spans().iter().max_by(|one, other| width(one).total_cmp(&width(other)));
        widest.map_or(0.0, |(low, high)| (low + high) / 2.0)
    }
}
