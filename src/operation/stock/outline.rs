//! The border of the raw material, sorted into the cells it passes.

use super::cells::{Block, Cells};
use super::front::Front;
use super::view::View;
use crate::job::Workpiece;
use crate::job::contour::points;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use std::ops::Range;

/// How far the chords of an outline's arcs may stray from them, mm; house value.
pub const CHORD_ERROR: f64 = 0.005;
/// Turn between two points of a rounded corner, radians: at 25 mm of margin the chord strays 0.003 mm.
const CORNER_STEP: f64 = 0.0315;

/// A straight edge of the border.
type Edge = ([f64; 2], [f64; 2]);

/// Where a cell lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// All of it in the raw material.
    Inside,
    /// None of it.
    Outside,
    /// The border passes it.
    Across,
}

/// The border of the raw material.
#[derive(Debug, Default)]
pub struct Outline {
    edges: Vec<Edge>,
    /// For each cell where its edges begin in `listed`; one more at the end.
    starts: Vec<u32>,
    listed: Vec<u32>,
    /// Whether the middle of each cell lies inside.
    inside: Vec<bool>,
    /// Where each cell lies.
    lies: Vec<Lies>,
    /// Sines of crossings, kept for their room.
    marks: Vec<f64>,
}

/// The rings of the raw material: the outline grown by its margin, holes in it clockwise.
pub fn raw_rings(workpiece: &Workpiece) -> Vec<Vec<[f64; 2]>> {
    let finished = points(&workpiece.outline, CHORD_ERROR);
    let margin = workpiece.raw_margin.0;
    if finished.len() < 3 || !finished.iter().flatten().all(|value| value.is_finite()) {
        return Vec::new();
    }
    if !(margin.is_finite() && margin > 0.0) {
        return vec![finished];
    }
    let style = OutlineStyle::new(margin).line_join(LineJoin::Round(CORNER_STEP));
    finished.outline(&style).into_iter().flatten().collect()
}

/// Least and most X and Y of rings; `None` when there is no point.
pub fn bounds(rings: &[Vec<[f64; 2]>]) -> Option<([f64; 2], [f64; 2])> {
    let mut points = rings.iter().flatten();
    let first = points.next()?;
    Some(
        points.fold((*first, *first), |([x0, y0], [x1, y1]), [x, y]| {
            ([x0.min(*x), y0.min(*y)], [x1.max(*x), y1.max(*y)])
        }),
    )
}

impl Outline {
    /// The border through those rings.
    pub fn new(rings: &[Vec<[f64; 2]>], cells: &Cells) -> Self {
        let edges: Vec<Edge> = rings
            .iter()
            .flat_map(|ring| ring.iter().zip(ring.iter().skip(1).chain(ring.first())).map(|(from, to)| (*from, *to)))
            .filter(|(from, to)| from != to)
            .collect();
        let (starts, listed) = sort_in(&edges, cells);
        let inside = middles_inside(&edges, cells);
        let ends = starts.iter().zip(starts.iter().skip(1));
        let lies = ends.zip(&inside).map(|((start, end), inside)| match (start == end, inside) {
            (false, _) => Lies::Across,
            (true, true) => Lies::Inside,
            (true, false) => Lies::Outside,
        });
        Self { lies: lies.collect(), edges, starts, listed, inside, marks: Vec::new() }
    }

    /// Where each cell lies.
    pub fn lies(&self) -> &[Lies] {
        &self.lies
    }

    /// Whether all of some cells lie inside.
    pub fn surrounds(&self, cells: Range<usize>) -> bool {
        self.lies.get(cells).unwrap_or_default().iter().all(|lies| *lies == Lies::Inside)
    }

    /// Whether a place lies inside.
    pub fn holds(&self, cells: &Cells, place: [f64; 2]) -> bool {
        let Some(cell) = cells.at(place) else { return false };
        if let Some(plain @ (Lies::Inside | Lies::Outside)) = self.lies.get(cell) {
            return *plain == Lies::Inside;
        }
        let middle = cells.middle(cell);
        let crossed = self.edges_of(cell).filter(|edge| crosses(**edge, place, middle)).count();
        self.inside.get(cell).copied().unwrap_or(false) ^ (crossed % 2 == 1)
    }

    fn edges_of(&self, cell: usize) -> impl Iterator<Item = &Edge> {
        let place = |at: usize| self.starts.get(at).copied().unwrap_or(0) as usize;
        let listed = self.listed.get(place(cell)..place(cell + 1)).unwrap_or_default();
        listed.iter().filter_map(|edge| self.edges.get(*edge as usize))
    }

    /// Takes what lies outside out of the tool's front.
    pub fn carve(&mut self, (cells, block): (&Cells, &Block), view: &View, front: &mut Front) {
        let mut marks = std::mem::take(&mut self.marks);
        marks.clear();
        for cell in block.rows().flatten() {
            for (from, to) in self.edges_of(cell) {
                cross_circle(view.local(*from), view.local(*to), &mut marks);
            }
        }
        marks.sort_unstable_by(f64::total_cmp);
        front.carve(&marks, |sine| !self.holds(cells, view.point(sine)));
        self.marks = marks;
    }
}

/// Edges by cell: where each cell's begin, and the edges themselves.
fn sort_in(edges: &[Edge], cells: &Cells) -> (Vec<u32>, Vec<u32>) {
    let mut pairs: Vec<(u32, u32)> = Vec::new();
    for (number, (from, to)) in edges.iter().enumerate() {
        let number = u32::try_from(number).unwrap_or(u32::MAX);
        cells.along(*from, *to, |cell| pairs.push((u32::try_from(cell).unwrap_or(u32::MAX), number)));
    }
    pairs.sort_unstable();
    pairs.dedup();
    let mut starts = vec![0_u32; cells.count() + 1];
    for (cell, _) in &pairs {
        if let Some(start) = starts.get_mut(*cell as usize + 1) {
            *start += 1;
        }
    }
    let mut sum = 0;
    for start in &mut starts {
        sum += *start;
        *start = sum;
    }
    (starts, pairs.into_iter().map(|(_, edge)| edge).collect())
}

/// For each cell whether its middle lies inside: row by row, the middle has an odd number of edges to its left.
fn middles_inside(edges: &[Edge], cells: &Cells) -> Vec<bool> {
    let mut crossings: Vec<(u32, f64)> = Vec::new();
    for &([x, y], [to_x, to_y]) in edges {
        for row in cells.rows_between(y.min(to_y), y.max(to_y)) {
            let height = cells.row_middle(row);
            if (y > height) != (to_y > height) {
                let row = u32::try_from(row).unwrap_or(u32::MAX);
                crossings.push((row, x + (height - y) / (to_y - y) * (to_x - x)));
            }
        }
    }
    crossings.sort_unstable_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let mut next = crossings.into_iter().peekable();
    let mut inside = false;
    (0..cells.count())
        .map(|cell| {
            let (row, column) = cells.row_and_column(cell);
            if column == 0 {
                inside = false;
            }
            let [x, _] = cells.middle(cell);
            while let Some((of_row, crossing)) = next.peek().copied() {
                if of_row as usize > row || (of_row as usize == row && crossing > x) {
                    break;
                }
                inside ^= of_row as usize == row;
                next.next();
            }
            inside
        })
        .collect()
}

/// Whether an edge crosses the way between two places.
fn crosses((from, to): Edge, place: [f64; 2], other: [f64; 2]) -> bool {
    let left_of =
        |[ax, ay]: [f64; 2], [bx, by]: [f64; 2], [x, y]: [f64; 2]| (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0;
    left_of(place, other, from) != left_of(place, other, to) && left_of(from, to, place) != left_of(from, to, other)
}

/// Sines at which an edge, seen from the tool, crosses the leading half.
fn cross_circle([ax, ay]: [f64; 2], [bx, by]: [f64; 2], marks: &mut Vec<f64>) {
    let (dx, dy) = (bx - ax, by - ay);
    let (square, half, rest) = (dx * dx + dy * dy, ax * dx + ay * dy, ax * ax + ay * ay - 1.0);
    let root = half * half - square * rest;
    if root < 0.0 || square <= 0.0 {
        return;
    }
    for share in [(-half - libm::sqrt(root)) / square, (-half + libm::sqrt(root)) / square] {
        let (ahead, left) = (ax + dx * share, ay + dy * share);
        if (0.0..=1.0).contains(&share) && ahead >= 0.0 && left.abs() < 1.0 {
            marks.push(left);
        }
    }
}
