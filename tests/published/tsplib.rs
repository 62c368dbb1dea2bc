//! Tours against TSPLIB (Reinelt, ORSA Journal on Computing 3, 1991): drilling instances and sequential ordering, with
//! their published optima.
//!
//! The instances are not part of this project. The folder that `LASTPLY_TSPLIB` names must hold `tsp/*.tsp` and
//! `sop/*.sop`; without it these checks say that they did not run, and the exact ones below still do.

use lastply::tune::route::{Precedence, kicks, lower_bound, lower_bound_near, neighbours, sequence, tour, tour_cost};
use std::fs;
use std::path::PathBuf;

/// Drilling instances and their published optima.
const DRILLING: [(&str, f64); 7] = [
    ("u159", 42_080.0),
    ("d198", 15_780.0),
    ("pcb442", 50_778.0),
    ("d493", 35_002.0),
    ("d657", 48_912.0),
    ("u724", 41_910.0),
    ("d1291", 50_801.0),
];

/// Sequential ordering instances and their published optima; the first four must be met.
const ORDERING: [(&str, f64); 7] = [
    ("ESC07", 2125.0),
    ("ESC12", 1675.0),
    ("br17.10", 55.0),
    ("ESC25", 1681.0),
    ("prob.42", 243.0),
    ("ft53.4", 14_425.0),
    ("ESC63", 62.0),
];

fn folder() -> Option<PathBuf> {
    let folder = std::env::var_os("LASTPLY_TSPLIB").map(PathBuf::from).filter(|folder| folder.is_dir());
    if folder.is_none() {
        eprintln!("not run: LASTPLY_TSPLIB names no folder with TSPLIB instances");
    }
    folder
}

fn places(text: &str) -> Vec<[f64; 2]> {
    let rows = text.lines().skip_while(|line| !line.starts_with("NODE_COORD_SECTION")).skip(1);
    rows.take_while(|line| !line.starts_with("EOF"))
        .map(|line| {
            let mut numbers = line.split_whitespace().skip(1).map(|number| number.parse().unwrap());
            [numbers.next().unwrap(), numbers.next().unwrap()]
        })
        .collect()
}

/// EUC_2D: the distance to the nearest whole number.
fn euclid(places: &[[f64; 2]]) -> impl Fn(u32, u32) -> f64 + '_ {
    |a, b| {
        let ([ax, ay], [bx, by]) = (places[a as usize], places[b as usize]);
        ((ax - bx).hypot(ay - by) + 0.5).floor()
    }
}

#[test]
fn tours_come_near_the_published_optima() {
    let Some(folder) = folder() else { return };
    let mut sum = 0.0;
    for (name, optimum) in DRILLING {
        let places = places(&fs::read_to_string(folder.join(format!("tsp/{name}.tsp"))).unwrap());
        let cost = euclid(&places);
        let near = neighbours(&places, 8, &cost);
        let order = tour(places.len(), &cost, &near, kicks(places.len()));
        let mut seen = order.clone();
        seen.sort_unstable();
        assert!(seen.iter().copied().eq(0..places.len() as u32), "{name}: not a tour");
        let length = tour_cost(&order, &cost);
        let bound = lower_bound_near(places.len(), &cost, &|_, _| 0.0, &near, length);
        let gap = 100.0 * (length / optimum - 1.0);
        eprintln!("{name}: {length} against {optimum}, {gap:.2} % above; lower bound {bound:.0}");
        assert!(length >= optimum && bound <= optimum, "{name}: better than the published optimum");
        assert!(gap <= 3.0, "{name}: {gap:.2} % above");
        sum += gap;
    }
    let average = sum / DRILLING.len() as f64;
    eprintln!("on average {average:.2} % above");
    assert!(average <= 1.0);
}

#[test]
fn sequences_come_near_the_published_optima() {
    let Some(folder) = folder() else { return };
    for (index, (name, optimum)) in ORDERING.into_iter().enumerate() {
        let text = fs::read_to_string(folder.join(format!("sop/{name}.sop"))).unwrap();
        let mut numbers = text.lines().skip_while(|line| !line.starts_with("EDGE_WEIGHT_SECTION")).skip(1);
        let numbers = numbers.by_ref().take_while(|line| !line.starts_with("EOF")).flat_map(str::split_whitespace);
        let mut numbers = numbers.map(|number| number.parse::<f64>().unwrap());
        let count = numbers.next().unwrap() as usize;
        let matrix: Vec<f64> = numbers.collect();
        assert_eq!(matrix.len(), count * count, "{name}");
        // An entry of -1 says that the row's place comes after the column's.
        let pairs: Vec<(usize, usize)> =
            (0..count * count).filter(|at| matrix[*at] < 0.0).map(|at| (at % count, at / count)).collect();
        let order = Precedence::new(count, &pairs).unwrap();
        let found = sequence(count, &|a, b| matrix[a * count + b], &order, 4000);
        assert!(
            pairs.iter().all(|(a, b)| {
                found.iter().position(|place| place == a) < found.iter().position(|place| place == b)
            })
        );
        let total: f64 = found.windows(2).map(|pair| matrix[pair[0] * count + pair[1]]).sum();
        let gap = 100.0 * (total / optimum - 1.0);
        eprintln!("{name}: {total} against {optimum}, {gap:.2} % above");
        assert!(total >= optimum, "{name}: better than the published optimum");
        assert!(gap <= if index < 4 { 0.0 } else { 2.0 }, "{name}: {gap:.2} % above");
    }
}

/// On a square grid of an even number of places the shortest tour takes one step a place.
#[test]
fn a_bound_from_near_places_holds_for_many() {
    let places: Vec<[f64; 2]> = (0..144).map(|place| [f64::from(place % 12), f64::from(place / 12)]).collect();
    let cost = |a: u32, b: u32| {
        let ([ax, ay], [bx, by]) = (places[a as usize], places[b as usize]);
        (ax - bx).hypot(ay - by)
    };
    let near = neighbours(&places, 8, &cost);
    let order = tour(places.len(), &cost, &near, kicks(places.len()));
    let bound = lower_bound_near(places.len(), &cost, &|_, _| 0.0, &near, tour_cost(&order, &cost));
    assert!((143.0..=144.0 + 1e-6).contains(&bound), "{bound}");
}

/// The shortest closed tour by dynamic programming over subsets (Held and Karp, 1962).
fn exact(count: usize, cost: &dyn Fn(u32, u32) -> f64) -> f64 {
    let sets = 1 << (count - 1);
    let mut best = vec![vec![f64::INFINITY; count]; sets];
    for last in 1..count {
        best[1 << (last - 1)][last] = cost(0, last as u32);
    }
    for set in 1..sets {
        for last in (1..count).filter(|last| set & (1 << (last - 1)) != 0) {
            let so_far = best[set][last];
            for next in (1..count).filter(|next| set & (1 << (next - 1)) == 0) {
                let slot = &mut best[set | 1 << (next - 1)][next];
                *slot = slot.min(so_far + cost(last as u32, next as u32));
            }
        }
    }
    (1..count).map(|last| best[sets - 1][last] + cost(last as u32, 0)).fold(f64::INFINITY, f64::min)
}

/// Small invented plates, solved exactly: the tour must be the shortest.
#[test]
fn small_tours_are_the_shortest() {
    for seed in 1..8_u64 {
        let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        let mut random = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state % 1000) as f64
        };
        let places: Vec<[f64; 2]> = (0..11).map(|_| [random(), random()]).collect();
        let cost = |a: u32, b: u32| {
            let ([ax, ay], [bx, by]) = (places[a as usize], places[b as usize]);
            // Rapid time of two axes that move at once: the slower one counts.
            (ax - bx).abs().max(1.5 * (ay - by).abs())
        };
        let near = neighbours(&places, 8, &cost);
        let order = tour(places.len(), &cost, &near, kicks(places.len()));
        let (found, shortest) = (tour_cost(&order, &cost), exact(places.len(), &cost));
        assert!((found - shortest).abs() < 1e-6, "seed {seed}: {found} instead of {shortest}");
        assert!(lower_bound(places.len(), &cost, found) <= shortest + 1e-6);
    }
}
