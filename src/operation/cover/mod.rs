//! How far round each edge of the drawing has been cut: how deep, by which tool, and in which order.

mod edge;
#[cfg(test)]
mod tests;

pub use edge::{Arrival, EdgeCover, Mark};

use super::point_length;
use super::track::{FeedMove, Line};
use crate::job::{Job, Tool, contour};
use edge::{CHORD, SAME, SPACING, distance, uncut};
use std::collections::HashMap;

/// The edges of a job while a run cuts them.
#[derive(Default)]
pub(super) struct Covers {
    edges: Vec<EdgeCover>,
    tolerances: Vec<f64>,
    /// Marks by cells of this size; looked up only, never walked.
    cells: HashMap<(i64, i64), Vec<(u32, u32)>>,
    cell: f64,
    order: u32,
    /// The mark last found, and whether the tool was cutting the edge there.
    hint: Option<(usize, usize)>,
    along: bool,
    /// Last place looked at, with its height.
    last: Option<([f64; 2], f64)>,
    /// A place and how far round it no mark can be touched.
    clear: Option<([f64; 2], f64)>,
    /// Where marks were last looked up by cells.
    searched: Option<[f64; 2]>,
}

impl Covers {
    /// The edges of a job, uncut.
    pub fn of(job: Option<&Job>) -> Self {
        let Some(job) = job.filter(|job| !job.edges.is_empty()) else { return Self::default() };
        let radius = job.tools.values().map(|tool| tool.diameter.0 / 2.0).fold(1.0, f64::max);
        let tolerance = job.edges.iter().map(|edge| edge.tolerance.0).fold(0.0, f64::max);
        let mut covers = Self { cell: 2.0 * (radius + tolerance + SPACING), ..Self::default() };
        let zones = zones_of(job);
        let own = job.laminate.as_ref().map_or(f64::NEG_INFINITY, |own| job.head.entry_z.0 - own.thickness().0);
        for edge in &job.edges {
            covers.tolerances.push(edge.tolerance.0);
            covers.edges.push(uncut(edge, &zones, own));
        }
        for (number, edge) in covers.edges.iter().enumerate() {
            for (index, mark) in edge.marks.iter().enumerate() {
                let cell = cell_of(mark.at, covers.cell);
                let (number, index) = (u32::try_from(number).unwrap_or(0), u32::try_from(index).unwrap_or(0));
                covers.cells.entry(cell).or_default().push((number, index));
            }
        }
        covers
    }

    /// The edges as the run leaves them.
    pub fn finish(self) -> Vec<EdgeCover> {
        self.edges
    }

    /// Takes a feed move below the entry face.
    pub fn take(&mut self, feed_move: &FeedMove, tool: Option<&Tool>) {
        let Some(tool) = tool.filter(|_| !self.edges.is_empty()) else { return };
        self.order = self.order.saturating_add(1);
        let way = feed_move.sideways;
        if !way.is_finite() {
            return;
        }
        let steps = libm::ceil(way / SPACING).clamp(1.0, 100_000.0);
        let lift = point_length(tool).map_or(0.0, |length| length.0);
        let goes_on = self.goes_on(feed_move);
        self.along &= goes_on;
        let mut step = if goes_on { 1.0 } else { 0.0 };
        while step <= steps {
            let place = feed_move.place(step / steps);
            let at = [place.at[0] + feed_move.shift[0], place.at[1] + feed_move.shift[1]];
            let look = Look { at, z: place.z + lift, heading: place.heading, radius: tool.diameter.0 / 2.0 };
            if !self.seen(&look, step == steps) {
                self.touch(&look, feed_move);
            }
            step += 1.0;
        }
    }

    /// Whether a move begins where the last look was.
    fn goes_on(&self, feed_move: &FeedMove) -> bool {
        let [x, y, _] = feed_move.from;
        let [dx, dy] = feed_move.shift;
        self.last.is_some_and(|(at, _)| distance(at, [x + dx, y + dy]) < SPACING)
    }

    /// Whether so near a place at the same height was looked at just now, or nothing can be touched here.
    fn seen(&mut self, look: &Look, ends: bool) -> bool {
        let away = |from: [f64; 2]| distance(look.at, from);
        if self.clear.is_some_and(|(from, reach)| away(from) < reach) {
            (self.along, self.last) = (false, None);
            return true;
        }
        let same = |(at, z): ([f64; 2], f64)| away(at) < SPACING / 2.0 && (z - look.z).abs() <= SAME;
        !ends && self.last.is_some_and(same) || self.last.is_some_and(|(at, z)| away(at) < SAME && z <= look.z)
    }

    fn touch(&mut self, look: &Look, feed_move: &FeedMove) {
        self.last = Some((look.at, look.z));
        let Some((edge, index, away)) = self.nearest(look) else {
            self.along = false;
            return;
        };
        let tolerance =
            self.tolerances.get(edge).copied().unwrap_or_default() + SPACING * SPACING / (4.0 * look.radius);
        let was = self.hint.filter(|(before, _)| self.along && *before == edge).map(|(_, index)| index);
        self.hint = Some((edge, index));
        self.along = (away - look.radius).abs() <= tolerance + CHORD;
        let Some(cover) = self.edges.get_mut(edge).filter(|_| self.along) else { return };
        if was.is_none() && feed_move.line == Line::Straight {
            cover.arrive(index, look, (feed_move.block, feed_move.tool));
        }
        cover.mark(was.unwrap_or(index), index, look, feed_move, self.order);
    }

    /// The mark nearest to a place among those it could touch: downhill from the last one, else by cells, which are
    /// searched once a mark's way at most.
    fn nearest(&mut self, look: &Look) -> Option<(usize, usize, f64)> {
        let at = look.at;
        if let Some((edge, index)) = self.hint
            && let Some((index, away)) = self.edges.get(edge).and_then(|cover| cover.downhill(index, at))
            && away <= look.radius + SPACING / 4.0
        {
            return Some((edge, index, away));
        }
        if self.searched.is_some_and(|searched| distance(searched, at) < SPACING) {
            return None;
        }
        self.searched = Some(at);
        let found = self.by_cells(at);
        if found.is_none() {
            self.clear = Some((at, self.cell / 2.0));
        }
        found
    }

    fn by_cells(&self, at: [f64; 2]) -> Option<(usize, usize, f64)> {
        let (column, row) = cell_of(at, self.cell);
        let cells = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (column.saturating_add(dx), row.saturating_add(dy))));
        let near = cells.filter_map(|cell| self.cells.get(&cell)).flatten();
        near.filter_map(|(edge, index)| {
            let (edge, index) = (*edge as usize, *index as usize);
            let mark = self.edges.get(edge)?.marks.get(index)?;
            Some((edge, index, distance(mark.at, at)))
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))
    }
}

/// A place looked at.
struct Look {
    at: [f64; 2],
    /// Height of the full diameter.
    z: f64,
    heading: [f64; 2],
    radius: f64,
}

/// Cell of a place; places beyond counting share the outermost cells.
fn cell_of(at: [f64; 2], size: f64) -> (i64, i64) {
    (libm::floor(at[0] / size) as i64, libm::floor(at[1] / size) as i64)
}

/// Outlines of the thickness zones as polygons, with the height of their exit face.
fn zones_of(job: &Job) -> Vec<(Vec<[f64; 2]>, f64)> {
    let zones = job.workpiece.iter().flat_map(|workpiece| &workpiece.zones);
    let exit = |thickness: f64| job.head.entry_z.0 - thickness;
    zones.map(|zone| (contour::points(&zone.outline, CHORD), exit(zone.laminate.thickness().0))).collect()
}
