//! A lower bound on any closed tour: minimum 1-trees under node weights (Held and Karp, Operations Research 18, 1970).

/// Entries of the cost matrix looked at in all, so that the work stays bounded: 2 s or so on one core.
const WORK: usize = 400_000_000;

/// A cost that no closed tour through places `0..count` can go below. `upper` is the cost of a known tour.
#[must_use]
pub fn lower_bound(count: usize, cost: &dyn Fn(u32, u32) -> f64, upper: f64) -> f64 {
    if count < 3 {
        return upper;
    }
    let rounds = (WORK / (count * count)).clamp(8, 400);
    let mut weights = vec![0.0; count];
    let mut best = f64::NEG_INFINITY;
    let mut step = 2.0;
    let mut stalled = 0;
    for _ in 0..rounds {
        let tree = one_tree(count, cost, &weights);
        let bound = tree.cost - 2.0 * weights.iter().sum::<f64>();
        stalled = if bound > best + 1e-9 * upper { 0 } else { stalled + 1 };
        best = best.max(bound);
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
    best.min(upper)
}

struct Tree {
    cost: f64,
    degree: Vec<f64>,
}

/// The cheapest spanning tree of places 1.. by Prim's method, and the two cheapest edges of place 0.
fn one_tree(count: usize, cost: &dyn Fn(u32, u32) -> f64, weights: &[f64]) -> Tree {
    let weighted = |a: usize, b: usize| {
        let plain = cost(u32::try_from(a).unwrap_or(0), u32::try_from(b).unwrap_or(0));
        plain + weights.get(a).copied().unwrap_or(0.0) + weights.get(b).copied().unwrap_or(0.0)
    };
    let mut tree = Tree { cost: 0.0, degree: vec![0.0; count] };
    let mut reach: Vec<(f64, usize)> = vec![(f64::INFINITY, 0); count];
    let mut open: Vec<usize> = (2..count).collect();
    let mut at = 1;
    while !open.is_empty() {
        let mut nearest = 0;
        let mut least = f64::INFINITY;
        for (index, place) in open.iter().enumerate() {
            let Some(slot) = reach.get_mut(*place) else { continue };
            let distance = weighted(at, *place);
            if distance < slot.0 {
                *slot = (distance, at);
            }
            if slot.0 < least {
                (least, nearest) = (slot.0, index);
            }
        }
        let place = open.swap_remove(nearest);
        let from = reach.get(place).map_or(0, |slot| slot.1);
        tree.join(from, place, least);
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
