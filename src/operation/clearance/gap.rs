//! How far a part of the tool, swept along a straight line, stays from a solid; negative where it runs into it.

use super::TALL;
use super::body::Frustum;
use super::solid::Solid;
use parry3d_f64::math::{Pose, Vector};
use parry3d_f64::query::epa::EPA;
use parry3d_f64::query::gjk::{CsoPoint, GJKResult, VoronoiSimplex, closest_points};
use parry3d_f64::shape::SupportMap;

/// Distance between two convex solids and the axis it lies along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gap {
    /// Least distance, mm; below zero the shortest way out of the solid.
    pub value: f64,
    /// Axis it lies along most: X 0, Y 1, Z 2.
    pub axis: usize,
}

/// A part of the tool swept along a straight line: the Minkowski sum of the part and the line, which is convex, so that
/// distances to it are those of the whole move at once.
pub(super) struct Sweep<'a> {
    /// The part.
    pub part: &'a Frustum,
    /// Tip at the start of the line, mm.
    pub from: [f64; 3],
    /// Tip at its end, mm.
    pub to: [f64; 3],
}

/// The point farthest along `dir` of a horizontal circle.
pub(super) fn rim(x: f64, y: f64, radius: f64, z: f64, dir: Vector) -> Vector {
    let along = libm::sqrt(dir.x * dir.x + dir.y * dir.y);
    if along <= f64::MIN_POSITIVE {
        return Vector::new(x, y, z);
    }
    Vector::new(x + radius * dir.x / along, y + radius * dir.y / along, z)
}

impl SupportMap for Sweep<'_> {
    fn local_support_point(&self, dir: Vector) -> Vector {
        let Frustum { height: (low, high), radius: (lower, upper), .. } = *self.part;
        let ([x0, y0, z0], [x1, y1, z1]) = (self.from, self.to);
        let ahead = (x1 - x0) * dir.x + (y1 - y0) * dir.y + (z1 - z0) * dir.z > 0.0;
        let (x, y, z) = if ahead { (x1, y1, z1) } else { (x0, y0, z0) };
        let bottom = rim(x, y, lower, z + low, dir);
        let top = rim(x, y, upper, z + high, dir);
        if top.dot(dir) > bottom.dot(dir) { top } else { bottom }
    }
}

impl Sweep<'_> {
    /// Whether its numbers are such as a machine could reach; the search for a distance takes no others.
    fn is_sound(&self) -> bool {
        self.from.iter().chain(&self.to).all(|at| at.abs() < 1000.0 * TALL)
    }

    /// Heights the part passes through, mm.
    fn heights(&self) -> (f64, f64) {
        let ((low, high), [_, _, z0], [_, _, z1]) = (self.part.height, self.from, self.to);
        (z0.min(z1) + low, z0.max(z1) + high)
    }

    /// A distance the sweep certainly keeps from a solid `aside` mm away from its line in X and Y, mm: exact for a
    /// cylinder on a level or an upright move, less than the truth for others.
    pub fn at_least(&self, solid: &Solid<'_>, aside: f64) -> f64 {
        let ([_, _, bottom], [_, _, top]) = (solid.least, solid.most);
        let (low, high) = self.heights();
        let level = (aside - self.part.widest()).max(0.0);
        let upright = (low - top).max(bottom - high).max(0.0);
        if level == 0.0 {
            upright
        } else if upright == 0.0 {
            level
        } else {
            libm::hypot(level, upright)
        }
    }

    /// Most that a move along one axis would need to part the two bounding boxes, mm, and that axis.
    fn at_most_inside(&self, solid: &Solid<'_>) -> Gap {
        let widest = self.part.widest();
        let (low, high) = self.heights();
        let ([x0, y0, _], [x1, y1, _]) = (self.from, self.to);
        let own = [(x0.min(x1) - widest, x0.max(x1) + widest), (y0.min(y1) - widest, y0.max(y1) + widest), (low, high)];
        let bounds = solid.least.into_iter().zip(solid.most);
        let ways = own.into_iter().zip(bounds).map(|((low, high), (least, most))| (high - least).min(most - low));
        let shortest = ways.enumerate().min_by(|(_, one), (_, other)| one.total_cmp(other));
        shortest.map_or(Gap { value: 0.0, axis: 2 }, |(axis, value)| Gap { value: -value, axis })
    }
}

/// Measures gaps; keeps what the measuring needs from one to the next.
pub(super) struct Gauge {
    simplex: VoronoiSimplex,
    inside: EPA,
}

impl Gauge {
    /// A gauge at rest.
    pub fn new() -> Self {
        Self { simplex: VoronoiSimplex::new(), inside: EPA::new() }
    }

    /// The gap between a sweep and a solid that is `sure` mm away at least. How deep a hit goes is only looked into when
    /// it may be deeper than `deepest` mm; else it is told as touching.
    pub fn measure(&mut self, sweep: &Sweep<'_>, solid: &Solid<'_>, sure: f64, deepest: f64) -> Gap {
        if !sweep.is_sound() {
            return Gap { value: sure, axis: 2 };
        }
        let here = Pose::IDENTITY;
        let [x, y, z] = sweep.from;
        let way = Vector::new(x, y, z + sweep.part.height.0) - solid.middle();
        let dir = if way.length_squared() > 0.0 { way.normalize() } else { Vector::Z };
        self.simplex.reset(CsoPoint::from_shapes(&here, sweep, solid, -dir));
        match closest_points(&here, sweep, solid, f64::MAX, true, &mut self.simplex) {
            GJKResult::ClosestPoints(own, other, _) => {
                let way = other - own;
                Gap { value: way.length(), axis: longest(way) }
            }
            GJKResult::Intersection => self.depth(sweep, solid, deepest),
            // The search did not settle: what is sure without it holds.
            GJKResult::Proximity(way) | GJKResult::NoIntersection(way) => Gap { value: sure, axis: longest(way) },
        }
    }

    /// How deep a hit goes.
    fn depth(&mut self, sweep: &Sweep<'_>, solid: &Solid<'_>, deepest: f64) -> Gap {
        let bound = sweep.at_most_inside(solid);
        if -bound.value <= deepest {
            return Gap { value: 0.0, axis: bound.axis };
        }
        let found = self.inside.closest_points(&Pose::IDENTITY, sweep, solid, &self.simplex);
        let aside = solid.middle() - Vector::from(sweep.from);
        let level = Vector::new(aside.x, aside.y, 0.0).try_normalize();
        // The depth along any direction is enough to part the two, so the least of those known is nearest to the truth.
        let known = found.map(|(_, _, normal)| normal).into_iter().chain(level).map(|dir| along(sweep, solid, dir));
        known
            .filter(|gap| gap.value.is_finite())
            .fold(bound, |best, gap| if gap.value > best.value { gap } else { best })
    }
}

/// How far the sweep would have to move against `dir`, a unit vector, to leave the solid.
fn along(sweep: &Sweep<'_>, solid: &Solid<'_>, dir: Vector) -> Gap {
    let far = CsoPoint::from_shapes(&Pose::IDENTITY, sweep, solid, dir).point.dot(dir);
    Gap { value: -far.max(0.0), axis: longest(dir) }
}

/// Axis of the largest component.
fn longest(way: Vector) -> usize {
    let parts = [way.x.abs(), way.y.abs(), way.z.abs()];
    parts.iter().enumerate().fold((2, -1.0), |best, (axis, part)| if *part > best.1 { (axis, *part) } else { best }).0
}
