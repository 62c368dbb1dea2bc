//! The edges the drawing wants and the thickness zones, found by place.

use super::cells::Cells;
use super::outline::{CHORD_ERROR, bounds};
use crate::job::Job;
use crate::job::contour::{inside, points};
use crate::operation::Side;

/// Share of its distance by which a contour must lie sideways to be the wall a cut leaves: within 60 degrees of square.
const SIDEWAYS: f64 = 0.5;

/// Edges and zones of a job.
#[derive(Debug, Default)]
pub(crate) struct Wanted {
    cells: Cells,
    /// Straight pieces of contours with the index of their edge, sorted by the cell they pass.
    pieces: Vec<(usize, Piece)>,
    /// How far beyond the tool's radius each edge still reaches, mm.
    tolerances: Vec<f64>,
    zones: Vec<Zone>,
}

#[derive(Clone, Copy, Debug)]
struct Piece {
    edge: usize,
    from: [f64; 2],
    to: [f64; 2],
}

#[derive(Debug)]
struct Zone {
    bounds: ([f64; 2], [f64; 2]),
    outline: Vec<[f64; 2]>,
}

impl Wanted {
    /// What a job wants.
    pub fn of(job: &Job) -> Self {
        let rings: Vec<Vec<[f64; 2]>> = job.edges.iter().map(|edge| points(&edge.contour, CHORD_ERROR)).collect();
        let tolerances: Vec<f64> = job.edges.iter().map(|edge| edge.tolerance.0.max(0.0)).collect();
        let zones = job.workpiece.iter().flat_map(|workpiece| &workpiece.zones);
        let zones = zones.map(|zone| Zone::new(points(&zone.outline, CHORD_ERROR))).collect();
        let Some(bounds) = bounds(&rings) else { return Self { zones, ..Self::default() } };
        let radius = job.tools.values().map(|tool| tool.diameter.0 / 2.0).fold(1.0, f64::max);
        let cells = Cells::over(bounds, radius + tolerances.iter().copied().fold(0.0, f64::max));
        let mut pieces = Vec::new();
        for (edge, ring) in rings.iter().enumerate() {
            for (from, to) in ring.iter().zip(ring.iter().skip(1).chain(ring.first())) {
                let piece = Piece { edge, from: *from, to: *to };
                cells.along(*from, *to, |cell| pieces.push((cell, piece)));
            }
        }
        pieces.sort_by_key(|(cell, _)| *cell);
        Self { cells, pieces, tolerances, zones }
    }

    /// The edge a tool works on, and the side it lies on when that is plain.
    pub fn edge_near(&self, place: [f64; 2], heading: [f64; 2], radius: f64) -> Option<(usize, Option<Side>)> {
        if self.pieces.is_empty() {
            return None;
        }
        let [x, y] = place;
        let reach = self.cells.side().max(radius);
        let (mut edge, mut nearest, mut way) = (None, f64::INFINITY, [0.0, 0.0]);
        for cell in self.cells.block(([x - reach, y - reach], [x + reach, y + reach])).rows().flatten() {
            let first = self.pieces.partition_point(|(of, _)| *of < cell);
            for (_, piece) in self.pieces.iter().skip(first).take_while(|(of, _)| *of == cell) {
                let to = piece.way_from(place);
                let distance = libm::sqrt(to[0] * to[0] + to[1] * to[1]);
                let allowed = radius + self.tolerances.get(piece.edge).copied().unwrap_or(0.0);
                if distance <= allowed && distance < nearest {
                    (edge, nearest, way) = (Some(piece.edge), distance, to);
                }
            }
        }
        let aside = heading[0] * way[1] - heading[1] * way[0];
        let side = if aside > 0.0 { Side::Left } else { Side::Right };
        edge.map(|edge| (edge, (aside.abs() > SIDEWAYS * nearest).then_some(side)))
    }

    /// The zone a place lies in.
    pub fn zone_at(&self, place: [f64; 2]) -> Option<usize> {
        self.zones.iter().position(|zone| zone.holds(place))
    }
}

impl Piece {
    /// From a place to its nearest point.
    fn way_from(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let ([ax, ay], [bx, by]) = (self.from, self.to);
        let (dx, dy) = (bx - ax, by - ay);
        let length = dx * dx + dy * dy;
        let along = if length > 0.0 { (((x - ax) * dx + (y - ay) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
        [ax + along * dx - x, ay + along * dy - y]
    }
}

impl Zone {
    fn new(outline: Vec<[f64; 2]>) -> Self {
        let rings = [outline];
        let bounds = bounds(&rings).unwrap_or_default();
        let [outline] = rings;
        Self { bounds, outline }
    }

    fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let ([x0, y0], [x1, y1]) = self.bounds;
        (x0..=x1).contains(&x) && (y0..=y1).contains(&y) && inside([x, y], &self.outline)
    }
}
