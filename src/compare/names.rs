//! What features are called: by the drawing's holes and edges, else by number, else by their block.

use super::passage::{Kind, Passage};
use crate::job::Job;
use crate::motion::TraceId;
use crate::operation::Survey;
use crate::source::SourceId;
use std::collections::BTreeMap;

/// How near a drawing's hole must lie to the middle of a cut to be milled by it, mm: house value, as wide as a grid cell.
const CELL: f64 = 0.1;

/// Names of a revision's holes and edges by the blocks that make them, and of the drawing's holes by place.
#[derive(Clone, Debug, Default)]
pub struct Names {
    entries: Vec<Entry>,
    /// Entries with the drawing's names by the cells around their places.
    places: BTreeMap<(i64, i64), usize>,
}

#[derive(Clone, Debug)]
struct Entry {
    key: (SourceId, TraceId, u32),
    place: [f64; 2],
    name: String,
    hole: bool,
}

/// What a feature is called.
pub(super) struct Named<'a> {
    pub name: &'a str,
    /// Whether it is a hole: one milled by circling is a cut by its path.
    pub hole: bool,
}

fn cell([x, y]: [f64; 2]) -> (i64, i64) {
    // A cast saturates, so huge coordinates share the border cells instead of overflowing.
    (libm::floor(x / CELL) as i64, libm::floor(y / CELL) as i64)
}

impl Names {
    /// Names of a survey's holes, `hole_names` by their index, and of the job's edges.
    #[must_use]
    pub fn new(survey: &Survey, hole_names: &[String], job: Option<&Job>) -> Self {
        let drawn = |index: usize| hole_names.get(index).filter(|name| !name.is_empty());
        let holes = survey.holes.iter().enumerate().map(|(index, hole)| Entry {
            key: (hole.source, hole.trace, hole.block),
            place: [hole.x, hole.y],
            name: drawn(index).cloned().unwrap_or_else(|| format!("#{}", index + 1)),
            hole: true,
        });
        let edge = |index: usize| job.and_then(|job| job.edges.get(index));
        let cuts = survey.cuts.iter().filter_map(|cut| {
            let at = cut.stretches.first().map_or([f64::NAN; 2], |stretch| stretch.at);
            let name = edge(cut.edge?)?.id.clone();
            let key = (cut.first.source, cut.first.trace, cut.first.span.start);
            Some(Entry { key, place: at, name, hole: false })
        });
        let mut entries: Vec<Entry> = holes.chain(cuts).collect();
        entries.sort_by_key(|entry| entry.key);
        let mut places = BTreeMap::new();
        let named = entries.iter().enumerate().filter(|(_, entry)| entry.hole && !entry.name.starts_with('#'));
        for (index, entry) in named {
            let (column, row) = cell(entry.place);
            for around in (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy))) {
                places.entry((column.saturating_add(around.0), row.saturating_add(around.1))).or_insert(index);
            }
        }
        Self { entries, places }
    }

    /// The name of what a passage makes: by its blocks, of several in one block that nearest to it; else by its middle,
    /// for a hole that is milled in a subprogram.
    pub(super) fn of(&self, passage: &Passage) -> Option<Named<'_>> {
        let by_place = || self.entries.get(*self.places.get(&cell(passage.middle))?);
        let entry = self.by_block(passage).or_else(|| by_place().filter(|_| passage.kind != Kind::Link))?;
        Some(Named { name: &entry.name, hole: entry.hole })
    }

    fn by_block(&self, passage: &Passage) -> Option<&Entry> {
        let key = |at: super::act::At| (at.source, at.trace, at.span.start);
        let (first, last) = (key(passage.first), key(passage.last));
        let from = self.entries.partition_point(|entry| entry.key < first);
        let inside = self.entries.get(from..)?.iter().take_while(|entry| entry.key <= last);
        let [x, y] = passage.middle;
        let distance = |entry: &&Entry| {
            let [at_x, at_y] = entry.place;
            let distance = libm::hypot(at_x - x, at_y - y);
            if distance.is_nan() { f64::MAX } else { distance }
        };
        inside.min_by(|a, b| distance(a).total_cmp(&distance(b)))
    }
}
