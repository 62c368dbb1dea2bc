//! What the job pins: holes that must come before others, whatever the rapid time.

use super::stops::Row;
use crate::job::{Job, Pinned};
use crate::tune::Run;
use std::collections::BTreeSet;

/// Pinned orders as sets of holes, by index into the survey, the earlier first.
pub(super) struct Pins {
    pairs: Vec<(BTreeSet<u32>, BTreeSet<u32>)>,
}

impl Pins {
    pub fn of(run: &Run, job: &Job) -> Self {
        let mut pairs = Vec::new();
        for (first, second) in pinned_pairs(job) {
            pairs.push((holes(first, run, job), holes(second, run, job)));
        }
        Self { pairs }
    }

    /// Stops of a row, by their place in it, the first of each pair before the second. A hole of both sets is the first.
    pub fn within(&self, row: &Row) -> Vec<(usize, usize)> {
        let among = |set: &BTreeSet<u32>| -> Vec<usize> {
            let stops = row.stops.iter().enumerate();
            stops.filter(|(_, stop)| set.contains(&stop.hole)).map(|(index, _)| index).collect()
        };
        let mut within = BTreeSet::new();
        for (first, second) in &self.pairs {
            let (first, second) = (among(first), among(second));
            let rest: Vec<usize> = second.into_iter().filter(|stop| !first.contains(stop)).collect();
            within.extend(first.iter().flat_map(|first| rest.iter().map(move |second| (*first, *second))));
        }
        within.into_iter().collect()
    }
}

/// Every two entries of an order that the job pins, the earlier first.
pub(super) fn pinned_pairs(job: &Job) -> impl Iterator<Item = (&Pinned, &Pinned)> {
    job.tuning.pins.iter().flat_map(|pins| {
        pins.iter()
            .enumerate()
            .flat_map(move |(index, first)| pins.iter().skip(index + 1).map(move |second| (first, second)))
    })
}

/// The holes of the survey that an entry means; tools and edges mean none, for a row has one tool.
pub(super) fn holes(pin: &Pinned, run: &Run, job: &Job) -> BTreeSet<u32> {
    let drawing = &run.survey.drawing;
    match pin {
        Pinned::Group(id) => {
            let of_group = drawing
                .made
                .iter()
                .filter(|(drawn, _)| job.holes.get(drawn.group).is_some_and(|group| group.id == *id));
            of_group.flat_map(|(_, made)| made.iter().copied()).collect()
        }
        Pinned::Hole(id) => {
            let names = drawing.names(job);
            (0..).zip(&names).filter(|(_, name)| *name == id).map(|(hole, _)| hole).collect()
        }
        Pinned::Tool(_) | Pinned::Edge(_) => BTreeSet::new(),
    }
}
