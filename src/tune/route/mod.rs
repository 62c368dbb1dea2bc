//! The order of visits: a short closed tour through many places, or a short sequence under precedences.

mod bound;
mod dice;
mod local;
mod near;
mod prices;
mod sequence;
mod tour;

pub use bound::{lower_bound, lower_bound_near};
pub use near::neighbours;
pub use sequence::{Precedence, sequence};

use dice::Dice;
use local::Search;
use tour::Tour;

/// Kicks that `tune` spends on so many places: a count, not a clock, so that every machine finds the same order. Small
/// tours get more for each place, as there a few bad ones are a large share; house values, tried on published instances.
#[must_use]
pub fn kicks(count: usize) -> usize {
    (12 * count).min(3000 + 3 * count)
}

/// A short closed tour through places `0..count`, starting at place 0.
///
/// `cost` is symmetric and not negative; `near` lists likely successors of each place, see [`neighbours`]. `kicks` is the
/// number of random changes tried. The same arguments give the same tour. Method: greedy start, then the chained local
/// search of Martin, Otto and Felten (Complex Systems 5, 1991) over the moves of Lin and Kernighan (Operations Research
/// 21, 1973).
#[must_use]
pub fn tour(count: usize, cost: &dyn Fn(u32, u32) -> f64, near: &[Vec<u32>], kicks: usize) -> Vec<u32> {
    let start = nearest_first(count, cost, near);
    if count < 5 {
        return start;
    }
    let mut numbers = vec![0; count];
    for (number, place) in (0_u32..).zip(&start) {
        numbers.get_mut(*place as usize).into_iter().for_each(|slot| *slot = number);
    }
    // Numbered as the first tour runs, places that lie near each other lie near each other in memory too.
    let number = |place: u32| numbers.get(place as usize).copied().unwrap_or(0);
    let listed = |place: &u32| near.get(*place as usize).into_iter().flatten().map(|place| number(*place)).collect();
    let near: Vec<Vec<u32>> = start.iter().map(listed).collect();
    let place = |number: u32| start.get(number as usize).copied().unwrap_or(0);
    let cost = |a: u32, b: u32| cost(place(a), place(b));
    let mut search = Search::new(Tour::new((0_u32..).take(count).collect()), &cost, &near);
    search.settle_all();
    let mut dice = Dice::new(count as u64);
    for _ in 0..kicks {
        search.kick(&mut dice);
    }
    search.into_order().into_iter().map(place).collect()
}

/// Cost of a closed tour.
#[must_use]
pub fn tour_cost(order: &[u32], cost: &dyn Fn(u32, u32) -> f64) -> f64 {
    let back = order.last().zip(order.first()).map_or(0.0, |(last, first)| cost(*last, *first));
    order.windows(2).map(|pair| if let [a, b] = pair { cost(*a, *b) } else { 0.0 }).sum::<f64>() + back
}

/// A first tour: always on to the nearest place not yet visited, by the neighbour lists where they help.
fn nearest_first(count: usize, cost: &dyn Fn(u32, u32) -> f64, near: &[Vec<u32>]) -> Vec<u32> {
    let mut left: Vec<bool> = vec![true; count];
    let mut order = Vec::with_capacity(count);
    let mut at = 0_u32;
    let mut first_left = 0_usize;
    while order.len() < count {
        order.push(at);
        if let Some(slot) = left.get_mut(at as usize) {
            *slot = false;
        }
        let open = |place: &u32| left.get(*place as usize) == Some(&true);
        let best = |places: &mut dyn Iterator<Item = u32>| {
            places
                .filter(open)
                .map(|place| (cost(at, place), place))
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        };
        let close = best(&mut near.get(at as usize).into_iter().flatten().copied());
        while left.get(first_left) == Some(&false) {
            first_left += 1;
        }
        let all = first_left..count;
        let far = || best(&mut all.map(|place| u32::try_from(place).unwrap_or(u32::MAX)));
        match close.or_else(far) {
            Some((_, next)) => at = next,
            None => break,
        }
    }
    order
}
