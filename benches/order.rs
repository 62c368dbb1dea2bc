//! What the order of holes costs: time and gap to the lower bound as the number of holes grows.
//!
//! `cargo bench --bench order`; the machine is the one of the constants below, the places are random on a plate that
//! grows with their number, so that holes stand about 20 mm apart.

#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]

use lastply::job::{Machine, RapidStyle};
use lastply::motion::Limits;
use lastply::tune::route::{kicks, lower_bound_near, neighbours, tour, tour_cost};
use lastply::units::MmPerMin;
use std::time::Instant;

/// Numbers of holes.
const SIZES: [usize; 5] = [100, 300, 1000, 3000, 10_000];
/// Rapid rate of each axis, mm/s.
const RAPID: f64 = 400.0;
/// Area for each hole, mm2.
const ROOM: f64 = 400.0;

fn places(count: usize) -> Vec<[f64; 2]> {
    let side = (count as f64 * ROOM).sqrt();
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut random = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % 1_000_000) as f64 / 1e6 * side
    };
    (0..count).map(|_| [random(), random()]).collect()
}

fn main() {
    let machine = Machine {
        rapid: [Some(MmPerMin(60.0 * RAPID)); 3],
        acceleration: [Some(1.5); 3],
        rapid_style: Some(RapidStyle::Interpolated),
        ..Machine::default()
    };
    let Some(limits) = Limits::of(&machine) else { return };
    println!("{:>8}{:>12}{:>14}{:>14}{:>10}{:>12}", "holes", "order", "rapid time", "no less than", "gap", "bound");
    for count in SIZES {
        let places = places(count);
        let cost = |a: u32, b: u32| {
            let [[ax, ay], [bx, by]] = [a, b].map(|place| places.get(place as usize).copied().unwrap_or_default());
            limits.rapid_seconds([bx - ax, by - ay, 0.0]).unwrap_or(0.0)
        };
        let least = |a: u32, b: u32| {
            let [[ax, ay], [bx, by]] = [a, b].map(|place| places.get(place as usize).copied().unwrap_or_default());
            (bx - ax).abs().max((by - ay).abs()) / RAPID
        };
        let start = Instant::now();
        let near = neighbours(&places, 8, &cost);
        let order = tour(count, &cost, &near, kicks(count));
        let ordered = start.elapsed();
        let total = tour_cost(&order, &cost);
        let start = Instant::now();
        let bound = lower_bound_near(count, &cost, &least, &near, total);
        println!(
            "{count:>8}{:>10.2} s{total:>12.1} s{bound:>12.1} s{:>8.2} %{:>10.2} s",
            ordered.as_secs_f64(),
            100.0 * (total / bound - 1.0),
            start.elapsed().as_secs_f64()
        );
    }
}
