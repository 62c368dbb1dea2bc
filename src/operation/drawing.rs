//! Which drilled hole is which hole of the drawing, by place.

use super::Survey;
use crate::job::Job;
use std::collections::BTreeMap;

/// A hole of the drawing: its group and its position in the group.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DrawingHole {
    /// Index of the group in the job.
    pub group: usize,
    /// Index of the position in the group.
    pub position: usize,
}

/// Survey holes matched with drawing holes. Empty when the job lists none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    /// For each hole of the survey the drawing's hole at its place.
    pub of_hole: Vec<Option<DrawingHole>>,
    /// For each hole of the drawing that something was made at, the survey's holes in order of making.
    pub made: BTreeMap<DrawingHole, Vec<u32>>,
}

/// Edge of the cells that positions are sorted into, mm; larger than any sensible position tolerance.
const CELL: f64 = 5.0;

impl Drawing {
    /// Matches every hole with the nearest drawing position within its group's tolerance.
    #[must_use]
    pub fn of(survey: &Survey, job: &Job) -> Self {
        let mut drawing = Self::default();
        let cells = cells(job);
        if cells.is_empty() {
            return drawing;
        }
        for (index, hole) in survey.holes.iter().enumerate() {
            let found = nearest(job, &cells, hole.x, hole.y);
            drawing.of_hole.push(found);
            if let Some(found) = found {
                drawing.made.entry(found).or_default().push(u32::try_from(index).unwrap_or(u32::MAX));
            }
        }
        drawing
    }

    /// Names of all survey holes; empty where none matched.
    #[must_use]
    pub fn names(&self, job: &Job) -> Vec<String> {
        let name = |index| self.name(job, u32::try_from(index).unwrap_or(u32::MAX)).unwrap_or_default().to_owned();
        (0..self.of_hole.len()).map(name).collect()
    }

    /// The drawing's name of a survey hole, such as `H19`.
    #[must_use]
    pub fn name<'a>(&self, job: &'a Job, hole: u32) -> Option<&'a str> {
        let found = (*self.of_hole.get(hole as usize)?)?;
        Some(job.holes.get(found.group)?.positions.get(found.position)?.id.as_str())
    }
}

type Cells = BTreeMap<(i64, i64), Vec<DrawingHole>>;

fn cell(x: f64, y: f64) -> (i64, i64) {
    // A cast saturates, so huge coordinates share the border cells instead of overflowing.
    ((x / CELL).floor() as i64, (y / CELL).floor() as i64)
}

fn cells(job: &Job) -> Cells {
    let mut cells = Cells::new();
    for (group, holes) in job.holes.iter().enumerate() {
        for (position, at) in holes.positions.iter().enumerate() {
            cells.entry(cell(at.x.0, at.y.0)).or_default().push(DrawingHole { group, position });
        }
    }
    cells
}

fn nearest(job: &Job, cells: &Cells, x: f64, y: f64) -> Option<DrawingHole> {
    let (column, row) = cell(x, y);
    let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (column.saturating_add(dx), row.saturating_add(dy))));
    around
        .filter_map(|key| cells.get(&key))
        .flatten()
        .filter_map(|&candidate| {
            let group = job.holes.get(candidate.group)?;
            let at = group.positions.get(candidate.position)?;
            let distance = libm::hypot(at.x.0 - x, at.y.0 - y);
            (distance <= group.position_tolerance.0).then_some((distance, candidate))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, candidate)| candidate)
}
