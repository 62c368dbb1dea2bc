//! A lower bound on any closed tour: minimum 1-trees under node weights (Held and Karp, Operations Research 18, 1970).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Entries of the cost matrix looked at in all, so that the work stays bounded: 2 s or so on one core.
const WORK: usize = 400_000_000;

/// Rounds on the graph of near places: a count, so that every machine finds the same bound.
const ROUNDS: usize = 200;
/// Places up to which all pairs are looked at in every round.
const FEW: usize = 60;

/// A cost that no closed tour through places `0..count` can go below. `upper` is the cost of a known tour.
#[must_use]
pub fn lower_bound(count: usize, cost: &dyn Fn(u32, u32) -> f64, upper: f64) -> f64 {
    if count < 3 {
        return upper;
    }
    let unknown = |_, _| f64::NEG_INFINITY;
    let rounds = (WORK / (count * count)).clamp(8, 400);
    ascend(count, rounds, upper, &|weights| Some(one_tree(count, cost, &unknown, weights))).0.min(upper)
}

/// The same for many places: weights are found on the graph of `near` places, then one tree over all pairs with these
/// weights gives a bound that holds. `least` is quick and never above `cost`, which need not be asked for where even that
/// is too much.
#[must_use]
pub fn lower_bound_near(
    count: usize,
    cost: &dyn Fn(u32, u32) -> f64,
    least: &dyn Fn(u32, u32) -> f64,
    near: &[Vec<u32>],
    upper: f64,
) -> f64 {
    if count <= FEW {
        return lower_bound(count, cost, upper);
    }
    let graph = Graph::of(count, cost, near);
    let (_, weights) = ascend(count, ROUNDS, upper, &|weights| graph.one_tree(weights));
    let bound = one_tree(count, cost, least, &weights).cost - 2.0 * weights.iter().sum::<f64>();
    bound.clamp(0.0, upper)
}

/// The highest bound found by changing weights where the tree's degrees are not 2, with its weights.
fn ascend(count: usize, rounds: usize, upper: f64, tree_of: &dyn Fn(&[f64]) -> Option<Tree>) -> (f64, Vec<f64>) {
    let mut weights = vec![0.0; count];
    let mut best = (f64::NEG_INFINITY, weights.clone());
    let mut step = 2.0;
    let mut stalled = 0;
    for _ in 0..rounds {
        let Some(tree) = tree_of(&weights) else { break };
        let bound = tree.cost - 2.0 * weights.iter().sum::<f64>();
        stalled = if bound > best.0 + 1e-9 * upper { 0 } else { stalled + 1 };
        if bound > best.0 {
            best = (bound, weights.clone());
        }
        if stalled > rounds / 20 + 2 {
            step /= 2.0;
            stalled = 0;
        }
        let uneven: f64 = tree.degree.iter().map(|degree| (degree - 2.0) * (degree - 2.0)).sum();
        if uneven == 0.0 || upper - bound <= 0.0 {
            break;
        }
        let length = step * (upper - bound) / uneven;
        for (weight, degree) in weights.iter_mut().zip(&tree.degree) {
            *weight += length * (degree - 2.0);
        }
    }
    best
}

/// Places with their near ones and the costs between them, both ways.
struct Graph {
    edges: Vec<Vec<(u32, f64)>>,
}

/// A way out of the tree grown so far; the cheapest comes first, of equals the one with the lower numbers.
struct Reach {
    cost: f64,
    from: u32,
    to: u32,
}

impl Graph {
    fn of(count: usize, cost: &dyn Fn(u32, u32) -> f64, near: &[Vec<u32>]) -> Self {
        let mut edges: Vec<Vec<(u32, f64)>> = vec![Vec::new(); count];
        for (from, list) in (0_u32..).zip(near) {
            for &to in list {
                let cost = cost(from, to);
                for (from, to) in [(from, to), (to, from)] {
                    edges.get_mut(from as usize).into_iter().for_each(|list| list.push((to, cost)));
                }
            }
        }
        for list in &mut edges {
            list.sort_by_key(|(to, _)| *to);
            list.dedup_by_key(|(to, _)| *to);
        }
        Self { edges }
    }

    /// The cheapest spanning tree of places 1.. by Prim's method, and the two cheapest edges of place 0; `None` where the
    /// graph does not hang together.
    fn one_tree(&self, weights: &[f64]) -> Option<Tree> {
        let count = self.edges.len();
        let weight = |place: u32| weights.get(place as usize).copied().unwrap_or(0.0);
        let mut tree = Tree { cost: 0.0, degree: vec![0.0; count] };
        let mut inside = vec![false; count];
        let mut open = BinaryHeap::new();
        let mut left = count - 1;
        let mut next = Some(1_u32);
        while let Some(at) = next {
            *inside.get_mut(at as usize)? = true;
            left -= 1;
            for (to, cost) in self.edges.get(at as usize)? {
                if *to != 0 && inside.get(*to as usize) == Some(&false) {
                    open.push(Reach { cost: cost + weight(at) + weight(*to), from: at, to: *to });
                }
            }
            next = None;
            while let Some(reach) = open.pop() {
                if inside.get(reach.to as usize) == Some(&false) {
                    tree.join(reach.from as usize, reach.to as usize, reach.cost);
                    next = Some(reach.to);
                    break;
                }
            }
        }
        let mut own: Vec<(f64, u32)> =
            self.edges.first()?.iter().map(|(to, cost)| (cost + weight(0) + weight(*to), *to)).collect();
        own.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (cost, place) in own.into_iter().take(2) {
            tree.join(0, place as usize, cost);
        }
        (left == 0).then_some(tree)
    }
}

impl Ord for Reach {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_cost = other.cost.total_cmp(&self.cost);
        by_cost.then_with(|| (other.from, other.to).cmp(&(self.from, self.to)))
    }
}

impl PartialOrd for Reach {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Reach {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Reach {}

struct Tree {
    cost: f64,
    degree: Vec<f64>,
}

/// The cheapest spanning tree of places 1.. by Prim's method, and the two cheapest edges of place 0.
fn one_tree(count: usize, cost: &dyn Fn(u32, u32) -> f64, least: &dyn Fn(u32, u32) -> f64, weights: &[f64]) -> Tree {
    let place = |index: usize| u32::try_from(index).unwrap_or(0);
    let weight = |index: usize| weights.get(index).copied().unwrap_or(0.0);
    let weighted = |a: usize, b: usize| cost(place(a), place(b)) + weight(a) + weight(b);
    let least = |a: usize, b: usize| least(place(a), place(b)) + weight(a) + weight(b);
    let mut tree = Tree { cost: 0.0, degree: vec![0.0; count] };
    let mut reach: Vec<(f64, usize)> = vec![(f64::INFINITY, 0); count];
    let mut open: Vec<usize> = (2..count).collect();
    let mut at = 1;
    while !open.is_empty() {
        let mut nearest = 0;
        let mut cheapest = f64::INFINITY;
        for (index, place) in open.iter().enumerate() {
            let Some(slot) = reach.get_mut(*place) else { continue };
            if least(at, *place) < slot.0 {
                let distance = weighted(at, *place);
                if distance < slot.0 {
                    *slot = (distance, at);
                }
            }
            if slot.0 < cheapest {
                (cheapest, nearest) = (slot.0, index);
            }
        }
        let place = open.swap_remove(nearest);
        let from = reach.get(place).map_or(0, |slot| slot.1);
        tree.join(from, place, cheapest);
        at = place;
    }
    let mut edges: Vec<(f64, usize)> = (1..count).map(|place| (weighted(0, place), place)).collect();
    edges.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (distance, place) in edges.into_iter().take(2) {
        tree.join(0, place, distance);
    }
    tree
}

impl Tree {
    fn join(&mut self, a: usize, b: usize, cost: f64) {
        self.cost += cost;
        for place in [a, b] {
            if let Some(degree) = self.degree.get_mut(place) {
                *degree += 1.0;
            }
        }
    }
}
