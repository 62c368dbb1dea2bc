//! The order of one row: a short path from where the tool comes from to where it goes next.

use super::stops::Row;
use super::travel::{Spot, Travel};
use crate::tune::route::{Precedence, kicks, lower_bound_near, neighbours, sequence, tour};
use crate::units::trimmed;
use std::collections::BTreeMap;

/// Nearest places looked at from each place.
const NEAREST: usize = 8;
/// More than the longest way takes, s: joins the two ends of a path into a tour that no better one avoids.
const JOINED: f64 = 1e5;
/// Most holes of a row in which some come before others: a place visited twice, or what the job pins.
const MOST_BOUND: usize = 150;
/// Effort of such a row.
const ROUNDS: usize = 400;

/// A row in order.
pub(super) struct Solved {
    /// Indices of the row's stops.
    pub order: Vec<usize>,
    /// Seconds of travel before and after; as [`solve`] leaves them only those to the first stop and from the last.
    pub seconds: (f64, f64),
    /// Seconds that no order can go below; none where some stops must come before others.
    pub bound: Option<f64>,
}

impl Solved {
    /// How far the order can be from the best, in per cent of the bound.
    pub fn within(&self) -> Option<String> {
        let bound = self.bound?;
        let gap = if bound > 0.0 { 100.0 * (self.seconds.1 / bound - 1.0) } else { 0.0 };
        Some(format!("{} %", trimmed(gap.max(0.0), 1)))
    }

    /// Why the row stays as it is.
    pub fn stays(&self, pinned: bool) -> String {
        let keeping = if pinned { " that keeps what the job pins" } else { "" };
        let within = self.within().map(|gap| format!("; by the 1-tree bound this one is within {gap} of the best"));
        format!("no quicker one{keeping} was found{}", within.unwrap_or_default())
    }
}

/// The path through a row's spots, with its two ends.
struct Path<'a> {
    spots: &'a [Spot],
    travel: &'a Travel<'a>,
    from: Spot,
    to: Option<Spot>,
}

/// The quickest order found that keeps the pairs of `pins`, the first before the second; `last_stays` keeps the last stop
/// last.
///
/// # Errors
/// With the reason, when the row cannot be ordered.
pub(super) fn solve(
    row: &Row,
    spots: &[Spot],
    travel: &Travel<'_>,
    pins: &[(usize, usize)],
    last_stays: bool,
) -> Result<Solved, String> {
    let (Some(first), Some(last)) = (spots.first(), spots.last()) else { return Err("nothing to order".to_owned()) };
    let from = row.from.map_or(*first, |[x, y, _]| Spot { at: row.placed([x, y]), ..*first });
    let to = row.next.map(|at| Spot { at: row.placed(at), ..*last });
    let free = if last_stays { spots.len() - 1 } else { spots.len() };
    let inner = spots.get(..free).unwrap_or_default();
    let path = Path { spots: inner, travel, from, to: if last_stays { Some(*last) } else { to } };
    let as_it_is: Vec<usize> = (0..free).collect();
    if pins.iter().any(|(first, second)| *first >= free || *second >= spots.len()) {
        return Err("the job pins what stands last in it before others".to_owned());
    }
    let pinned = pins.iter().copied().filter(|(_, second)| *second < free);
    let before: Vec<(usize, usize)> = twice(inner).into_iter().chain(pinned).collect();
    let (mut order, bound) = if before.is_empty() {
        let near = path.near();
        let order = path.shortest(&near);
        let bound = path.bound(&order, &near);
        (order, Some(bound))
    } else if free <= MOST_BOUND {
        (path.sequence(&before)?, None)
    } else {
        return Err("places visited twice or pinned are too many there to order with that in mind".to_owned());
    };
    let kept = before.iter().all(|(first, second)| first < second);
    if kept && path.seconds(&order) >= path.seconds(&as_it_is) {
        order.clone_from(&as_it_is);
    }
    let seconds = (path.ends(&as_it_is, !last_stays), path.ends(&order, !last_stays));
    if last_stays {
        order.push(spots.len() - 1);
    }
    Ok(Solved { order, seconds, bound })
}

/// Pairs of stops at one place, the earlier first.
fn twice(spots: &[Spot]) -> Vec<(usize, usize)> {
    let mut seen: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    let mut pairs = Vec::new();
    for (index, spot) in spots.iter().enumerate() {
        let [x, y] = spot.at.map(|value| libm::round(value * 100.0) as i64);
        if let Some(earlier) = seen.insert((x, y), index) {
            pairs.push((earlier, index));
        }
    }
    pairs
}

impl<'a> Path<'a> {
    fn spot(&self, index: usize) -> Option<&Spot> {
        self.spots.get(index)
    }

    /// Cost between two places of the tour: the stops, then the start, then the end. Ways between an end and a stop cost
    /// `joined` more.
    fn cost(&self, a: u32, b: u32, joined: f64) -> f64 {
        let count = self.spots.len() as u32;
        let plain = self.plain(a.min(b) as usize, a.max(b) as usize);
        if (a < count) == (b < count) { plain } else { plain + joined }
    }

    /// Cost between two places, the lower number first.
    fn plain(&self, a: usize, b: usize) -> f64 {
        match (self.spot(a), self.spot(b)) {
            (Some(a), Some(b)) => self.travel.either_way(a, b),
            (Some(a), None) if b == self.spots.len() => self.travel.cost(&self.from, a),
            (Some(a), None) => self.to.as_ref().map_or(0.0, |to| self.travel.cost(a, to)),
            _ => 0.0,
        }
    }

    /// What the way between two stops takes at least; 0 at the ends.
    fn least(&self, a: u32, b: u32) -> f64 {
        let ends = self.spot(a as usize).zip(self.spot(b as usize));
        ends.map_or(0.0, |(a, b)| self.travel.least(a, b))
    }

    fn seconds(&self, order: &[usize]) -> f64 {
        let mut at = self.from;
        let mut sum = 0.0;
        for spot in order.iter().filter_map(|index| self.spot(*index)) {
            sum += self.travel.cost(&at, spot);
            at = *spot;
        }
        sum + self.to.as_ref().map_or(0.0, |to| self.travel.cost(&at, to))
    }

    /// Seconds to the first stop, and from the last on where `on` says so.
    fn ends(&self, order: &[usize], on: bool) -> f64 {
        let [first, last] = [order.first(), order.last()].map(|index| index.and_then(|index| self.spot(*index)));
        let to = self.to.as_ref().filter(|_| on);
        first.map_or(0.0, |first| self.travel.cost(&self.from, first))
            + last.zip(to).map_or(0.0, |(last, to)| self.travel.cost(last, to))
    }

    /// Likely successors of each place; the two ends know each other first.
    fn near(&self) -> Vec<Vec<u32>> {
        let count = self.spots.len() as u32;
        let mut places: Vec<[f64; 2]> = self.spots.iter().map(|spot| spot.at).collect();
        places.push(self.from.at);
        places.push(self.to.as_ref().map_or(self.from.at, |to| to.at));
        let mut near = neighbours(&places, NEAREST, &|a, b| self.cost(a, b, JOINED));
        for (place, other) in [(count, count + 1), (count + 1, count)] {
            near.get_mut(place as usize).into_iter().for_each(|list| {
                list.retain(|known| *known != other);
                list.insert(0, other);
            });
        }
        near
    }

    fn shortest(&self, near: &[Vec<u32>]) -> Vec<usize> {
        let count = self.spots.len();
        let (start, end) = (count as u32, count as u32 + 1);
        let cost = |a: u32, b: u32| self.cost(a, b, JOINED);
        let mut order = tour(count + 2, &cost, near, kicks(count));
        let at = order.iter().position(|place| *place == start).unwrap_or(0);
        order.rotate_left(at);
        if order.get(1) == Some(&end) {
            order.reverse();
            order.rotate_right(1);
        }
        order.into_iter().map(|place| place as usize).filter(|place| *place < count).collect()
    }

    fn bound(&self, order: &[usize], near: &[Vec<u32>]) -> f64 {
        let cost = |a: u32, b: u32| self.cost(a, b, 0.0);
        let least = |a: u32, b: u32| self.least(a, b);
        lower_bound_near(self.spots.len() + 2, &cost, &least, near, self.seconds(order))
    }

    fn sequence(&self, before: &[(usize, usize)]) -> Result<Vec<usize>, String> {
        let count = self.spots.len();
        let size = count + 2;
        // The start comes before all, the end behind all.
        let mut pairs: Vec<(usize, usize)> = before.to_vec();
        pairs.extend((0..count).flat_map(|stop| [(count, stop), (stop, count + 1)]));
        let order =
            Precedence::new(size, &pairs).map_err(|_| "what must come first there contradicts itself".to_owned())?;
        let pairs = (0..size).flat_map(|a| (0..size).map(move |b| (a, b)));
        let table: Vec<f64> = pairs.map(|(a, b)| self.cost(a as u32, b as u32, 0.0)).collect();
        let cost = |a: usize, b: usize| table.get(a * size + b).copied().unwrap_or(0.0);
        let found = sequence(size, &cost, &order, ROUNDS);
        Ok(found.into_iter().filter(|place| *place < count).collect())
    }
}
