//! Features that lost their place, assigned to the nearest ones that came up, so that all ways together are shortest.

use super::passage::{Kind, Passage};
use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;
use petgraph::unionfind::UnionFind;
use rstar::RTree;
use rstar::primitives::GeomWithData;
use std::collections::BTreeMap;

/// A feature further away is another one: house value, mm.
const REACH: f64 = 50.0;
/// Features left over that are looked at; more are another program rather than moved holes.
const MOST: usize = 4000;
/// Features within reach of each other that are assigned at best; the time grows with the third power.
const MOST_TOGETHER: usize = 200;
/// Weight of what is out of reach, in micrometres, as those within.
const OUT_OF_REACH: i64 = 1_000_000_000;

type Spot = GeomWithData<[f64; 2], usize>;
/// A feature's index and place.
type Placed = (u32, [f64; 2]);
/// Features of OLD and of NEW.
type Sides = [Vec<Placed>; 2];

/// Pairs of OLD and NEW within reach.
pub(super) fn assign(old: &[u32], new: &[u32], old_all: &[Passage], new_all: &[Passage]) -> Vec<(u32, u32)> {
    if old.is_empty() || new.is_empty() || old.len().max(new.len()) > MOST {
        return Vec::new();
    }
    let mut sorts: BTreeMap<(Kind, u32, u64), Sides> = BTreeMap::new();
    for (side, (list, all)) in [(old, old_all), (new, new_all)].into_iter().enumerate() {
        for at in list {
            let Some(passage) = all.get(*at as usize) else { continue };
            let sort = sorts.entry((passage.kind, passage.tool, passage.attitude)).or_default();
            if let Some(sort) = sort.get_mut(side) {
                sort.push((*at, passage.place));
            }
        }
    }
    sorts.values().flat_map(|[old, new]| assign_alike(old, new)).collect()
}

/// The same among features of one kind and tool.
fn assign_alike(old: &[Placed], new: &[Placed]) -> Vec<(u32, u32)> {
    let spots = new.iter().enumerate().map(|(at, (_, place))| Spot::new(*place, at)).collect();
    let tree: RTree<Spot> = RTree::bulk_load(spots);
    let mut groups: UnionFind<usize> = UnionFind::new(old.len() + new.len());
    for (at, (_, place)) in old.iter().enumerate() {
        for near in tree.locate_within_distance(*place, REACH * REACH) {
            groups.union(at, old.len() + near.data);
        }
    }
    let mut together: BTreeMap<usize, Sides> = BTreeMap::new();
    for (at, member) in old.iter().chain(new).enumerate() {
        let [olds, news] = together.entry(groups.find(at)).or_default();
        if at < old.len() { olds.push(*member) } else { news.push(*member) }
    }
    together.values().flat_map(|[old, new]| best(old, new)).collect()
}

/// The assignment with the shortest ways (H. W. Kuhn, The Hungarian method for the assignment problem, 1955).
fn best(old: &[Placed], new: &[Placed]) -> Vec<(u32, u32)> {
    if old.is_empty() || new.is_empty() || old.len().max(new.len()) > MOST_TOGETHER {
        return Vec::new();
    }
    let swapped = old.len() > new.len();
    let (rows, columns) = if swapped { (new, old) } else { (old, new) };
    let Ok(weights) = Matrix::from_rows(rows.iter().map(|(_, from)| columns.iter().map(|(_, to)| weight(*from, *to))))
    else {
        return Vec::new();
    };
    let (_, chosen) = kuhn_munkres_min(&weights);
    let pairs = rows.iter().zip(chosen).filter_map(|((row, from), column)| {
        let (column, to) = columns.get(column)?;
        let pair = if swapped { (*column, *row) } else { (*row, *column) };
        (weight(*from, *to) < OUT_OF_REACH).then_some(pair)
    });
    pairs.collect()
}

fn weight([x, y]: [f64; 2], [to_x, to_y]: [f64; 2]) -> i64 {
    let distance = libm::hypot(to_x - x, to_y - y);
    if distance <= REACH { libm::round(distance * 1000.0) as i64 } else { OUT_OF_REACH }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_moved_by_more_than_half_its_pitch_stays_in_order() {
        let at = |index: u32, x: f64| (index, [x, 0.0]);
        let old = [at(0, 0.0), at(1, 10.0), at(2, 20.0)];
        let new = [at(7, 26.0), at(8, 16.0), at(9, 6.0)];
        let mut pairs = assign_alike(&old, &new);
        pairs.sort_unstable();
        let way: f64 = pairs
            .iter()
            .map(|(old_at, new_at)| {
                let place = |list: &[Placed], at: &u32| list.iter().find(|(id, _)| id == at).unwrap().1[0];
                (place(&new, new_at) - place(&old, old_at)).abs()
            })
            .sum();
        assert_eq!((pairs.len(), way), (3, 18.0));
    }

    #[test]
    fn what_is_out_of_reach_is_another_hole() {
        assert!(assign_alike(&[(0, [0.0, 0.0])], &[(0, [0.0, 51.0])]).is_empty());
        let pairs = assign_alike(&[(0, [0.0, 0.0]), (1, [40.0, 0.0])], &[(5, [41.0, 0.0])]);
        assert_eq!(pairs, [(1, 5)]);
    }
}
