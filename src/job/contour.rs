//! Contours of straight edges and arcs: their area and sense, and the points a polygon needs.

use super::Vertex;
use core::f64::consts::PI;

/// The arc an edge runs along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeArc {
    /// Centre, mm.
    pub centre: [f64; 2],
    /// Radius, mm.
    pub radius: f64,
    /// Direction from the centre to the start, radians from X.
    pub start: f64,
    /// Angle turned through, radians, counterclockwise positive.
    pub sweep: f64,
}

impl EdgeArc {
    /// The arc from `from` to `to` with that bulge b; `None` for a straight edge or one without length.
    ///
    /// Plane geometry of a chord c: the arc turns through 4 atan b, and its centre stands c (1 - b^2) / (4 b) to the
    /// left of the middle of the chord.
    #[must_use]
    pub fn of(from: [f64; 2], to: [f64; 2], bulge: f64) -> Option<Self> {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        if bulge == 0.0 || (dx == 0.0 && dy == 0.0) {
            return None;
        }
        let aside = (1.0 - bulge * bulge) / (4.0 * bulge);
        let centre = [(from[0] + to[0]) / 2.0 - dy * aside, (from[1] + to[1]) / 2.0 + dx * aside];
        let out = [from[0] - centre[0], from[1] - centre[1]];
        Some(Self {
            centre,
            radius: libm::hypot(out[0], out[1]),
            start: libm::atan2(out[1], out[0]),
            sweep: 4.0 * libm::atan(bulge),
        })
    }

    /// The point at that share of the arc, 0 at its start and 1 at its end.
    #[must_use]
    pub fn point(&self, share: f64) -> [f64; 2] {
        let angle = self.start + self.sweep * share;
        [self.centre[0] + self.radius * libm::cos(angle), self.centre[1] + self.radius * libm::sin(angle)]
    }
}

/// Every edge of a contour: its start, its end and its bulge.
pub fn edges(contour: &[Vertex]) -> impl Iterator<Item = ([f64; 2], [f64; 2], f64)> + '_ {
    let ends = contour.iter().skip(1).chain(contour.first());
    contour.iter().zip(ends).map(|(start, end)| (start.at, end.at, start.bulge))
}

/// The corners of a contour and points on its arcs, near enough that no chord strays from its arc by more than
/// `chord_error`, mm: a chord of angle a strays by r (1 - cos(a/2)).
#[must_use]
pub fn points(contour: &[Vertex], chord_error: f64) -> Vec<[f64; 2]> {
    let mut points = Vec::with_capacity(contour.len());
    for (from, to, bulge) in edges(contour) {
        points.push(from);
        let Some(arc) = EdgeArc::of(from, to, bulge) else { continue };
        let flat = (1.0 - chord_error / arc.radius).clamp(0.0, 1.0);
        let steps = libm::ceil(arc.sweep.abs() / (2.0 * libm::acos(flat))).clamp(1.0, MOST_CHORDS);
        let mut step = 1.0;
        while step < steps {
            points.push(arc.point(step / steps));
            step += 1.0;
        }
    }
    points
}

/// Most chords for one arc; a radius of kilometres must not fill the memory. House value.
const MOST_CHORDS: f64 = 2_000.0;

/// Area inside a contour, mm2, negative when it runs clockwise: the polygon of its corners (shoelace formula) and the
/// segments r^2 (a - sin a) / 2 between arcs and chords.
#[must_use]
pub fn area(contour: &[Vertex]) -> f64 {
    edges(contour)
        .map(|(from, to, bulge)| {
            let triangle = (from[0] * to[1] - to[0] * from[1]) / 2.0;
            let segment = EdgeArc::of(from, to, bulge)
                .map_or(0.0, |arc| arc.radius * arc.radius * (arc.sweep - libm::sin(arc.sweep)) / 2.0);
            triangle + segment
        })
        .sum()
}

/// The same contour run the other way.
#[must_use]
pub fn reversed(contour: &[Vertex]) -> Vec<Vertex> {
    let entering = contour.last().into_iter().chain(contour).map(|before| before.bulge);
    let mut turned: Vec<Vertex> =
        contour.iter().zip(entering).map(|(vertex, bulge)| Vertex { at: vertex.at, bulge: -bulge }).collect();
    turned.reverse();
    turned
}

/// Least distance of a point from the edges of a closed polygon, mm; without end when it has none.
#[must_use]
pub fn distance(point: [f64; 2], polygon: &[[f64; 2]]) -> f64 {
    let ends = polygon.iter().skip(1).chain(polygon.first());
    polygon.iter().zip(ends).map(|(from, to)| from_segment(point, *from, *to)).fold(f64::INFINITY, f64::min)
}

/// Whether a point lies inside a closed polygon: a ray from it crosses the edges an odd number of times.
#[must_use]
pub fn inside([x, y]: [f64; 2], polygon: &[[f64; 2]]) -> bool {
    let ends = polygon.iter().skip(1).chain(polygon.first());
    let crosses = |(from, to): &(&[f64; 2], &[f64; 2])| {
        (from[1] > y) != (to[1] > y) && x < from[0] + (y - from[1]) / (to[1] - from[1]) * (to[0] - from[0])
    };
    polygon.iter().zip(ends).filter(crosses).count() % 2 == 1
}

/// Distance of a point from a line segment.
#[must_use]
pub fn from_segment([px, py]: [f64; 2], [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    let (dx, dy) = (bx - ax, by - ay);
    let length = dx * dx + dy * dy;
    let along = if length > 0.0 { (((px - ax) * dx + (py - ay) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(px - ax - along * dx, py - ay - along * dy)
}

/// A place where a closed polygon crosses or touches itself.
///
/// Edges are taken by their least X, so that only those abreast of each other are compared; the first fault ends it.
#[must_use]
pub fn crossing(polygon: &[[f64; 2]]) -> Option<[f64; 2]> {
    let ends = polygon.iter().skip(1).chain(polygon.first());
    let mut sides: Vec<(usize, [f64; 2], [f64; 2])> =
        polygon.iter().zip(ends).enumerate().map(|(index, (from, to))| (index, *from, *to)).collect();
    let least = |(_, from, to): &(usize, [f64; 2], [f64; 2])| from[0].min(to[0]);
    sides.sort_by(|one, other| least(one).total_cmp(&least(other)));
    let mut abreast: Vec<(usize, [f64; 2], [f64; 2])> = Vec::new();
    for side in sides {
        abreast.retain(|(_, from, to)| from[0].max(to[0]) >= least(&side));
        for other in &abreast {
            let gap = side.0.abs_diff(other.0);
            let neighbours = gap == 1 || gap == polygon.len() - 1;
            let met = if neighbours { None } else { meeting((side.1, side.2), (other.1, other.2)) };
            if met.is_some() {
                return met;
            }
        }
        abreast.push(side);
    }
    None
}

/// Twice the area of a triangle, positive when it runs counterclockwise.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// A point two segments share.
fn meeting((a, b): ([f64; 2], [f64; 2]), (c, d): ([f64; 2], [f64; 2])) -> Option<[f64; 2]> {
    let apart = |axis: fn(&[f64; 2]) -> f64| {
        let (one, other) = ((axis(&a), axis(&b)), (axis(&c), axis(&d)));
        one.0.max(one.1) < other.0.min(other.1) || other.0.max(other.1) < one.0.min(one.1)
    };
    if apart(|point| point[0]) || apart(|point| point[1]) {
        return None;
    }
    let (c_side, d_side) = (turn(a, b, c), turn(a, b, d));
    if c_side * d_side > 0.0 || turn(c, d, a) * turn(c, d, b) > 0.0 {
        return None;
    }
    let share = if c_side == d_side { 0.0 } else { c_side / (c_side - d_side) };
    Some([c[0] + share * (d[0] - c[0]), c[1] + share * (d[1] - c[1])])
}

/// The bulge of an arc with that chord and radius, at most a half turn; `None` when the radius is too small.
///
/// Half the angle has the sine s = c / 2r, and the tangent of a quarter of the angle is s / (1 + sqrt(1 - s^2)).
#[must_use]
pub fn bulge_of(chord: f64, radius: f64, counterclockwise: bool) -> Option<f64> {
    let sine = chord / (2.0 * radius);
    // A half turn written to a thousandth of a millimetre may come out a little over its diameter.
    if !sine.is_finite() || sine > 1.0 + 0.001 / radius {
        return None;
    }
    let sine = sine.min(1.0);
    let bulge = sine / (1.0 + libm::sqrt(1.0 - sine * sine));
    Some(if counterclockwise { bulge } else { -bulge })
}

/// An axis-parallel rectangle, counterclockwise, its corners rounded with that radius; 0 leaves them sharp.
#[must_use]
pub fn rectangle((x0, x1): (f64, f64), (y0, y1): (f64, f64), corner: f64) -> Vec<Vertex> {
    if corner <= 0.0 {
        return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map(|at| Vertex { at, bulge: 0.0 }).to_vec();
    }
    let quarter = libm::tan(PI / 8.0);
    let rounded = [
        ([x0 + corner, y0], 0.0),
        ([x1 - corner, y0], quarter),
        ([x1, y0 + corner], 0.0),
        ([x1, y1 - corner], quarter),
        ([x1 - corner, y1], 0.0),
        ([x0 + corner, y1], quarter),
        ([x0, y1 - corner], 0.0),
        ([x0, y0 + corner], quarter),
    ];
    let mut contour: Vec<Vertex> = rounded.map(|(at, bulge)| Vertex { at, bulge }).to_vec();
    // Where the corners meet, the straight edge between them has no length.
    let long = |(from, to, _): ([f64; 2], [f64; 2], f64)| libm::hypot(to[0] - from[0], to[1] - from[1]) > 1e-9;
    let kept: Vec<bool> = edges(&contour).map(long).collect();
    let mut kept = kept.into_iter();
    contour.retain(|_| kept.next().unwrap_or(true));
    contour
}

/// A circle, counterclockwise, as four quarters.
#[must_use]
pub fn circle([x, y]: [f64; 2], radius: f64) -> Vec<Vertex> {
    let bulge = libm::tan(PI / 8.0);
    [[x + radius, y], [x, y + radius], [x - radius, y], [x, y - radius]].map(|at| Vertex { at, bulge }).to_vec()
}

/// A slot with round ends, counterclockwise; its length is the whole length, along `angle` degrees from X.
#[must_use]
pub fn slot([x, y]: [f64; 2], length: f64, width: f64, angle: f64) -> Vec<Vertex> {
    let (half, radius) = ((length - width) / 2.0, width / 2.0);
    let (sin, cos) = (libm::sin(angle.to_radians()), libm::cos(angle.to_radians()));
    let corner = |along: f64, across: f64, bulge| Vertex {
        at: [x + along * cos - across * sin, y + along * sin + across * cos],
        bulge,
    };
    vec![corner(-half, -radius, 0.0), corner(half, -radius, 1.0), corner(half, radius, 0.0), corner(-half, radius, 1.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-9, "{found} against {wanted}");
    }

    /// A rectangle a x b with corners r encloses a b - (4 - pi) r^2, a circle pi r^2, a slot its rectangle and a circle.
    #[test]
    fn areas_agree_with_closed_forms() {
        close(area(&rectangle((-575.0, 575.0), (-410.0, 410.0), 60.0)), 1150.0 * 820.0 - (4.0 - PI) * 3600.0);
        close(area(&rectangle((0.0, 20.0), (0.0, 20.0), 10.0)), PI * 100.0);
        close(area(&circle([3.0, -4.0], 10.0)), PI * 100.0);
        close(area(&slot([5.0, 5.0], 90.0, 22.0, 30.0)), 68.0 * 22.0 + PI * 121.0);
        close(area(&reversed(&slot([5.0, 5.0], 90.0, 22.0, 30.0))), -(68.0 * 22.0 + PI * 121.0));
    }

    #[test]
    fn turned_twice_a_contour_is_itself() {
        let contour = rectangle((0.0, 30.0), (0.0, 20.0), 4.0);
        assert_eq!(reversed(&reversed(&contour)), contour);
    }

    #[test]
    fn chords_stay_within_their_error() {
        let polygon = points(&circle([0.0, 0.0], 50.0), 0.01);
        for (from, to) in polygon.iter().zip(polygon.iter().skip(1)) {
            let middle = libm::hypot((from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0);
            assert!((50.0 - 0.01..=50.0).contains(&middle), "{middle}");
        }
        assert!((150..170).contains(&polygon.len()), "{}", polygon.len());
    }

    #[test]
    fn a_bulge_gives_its_radius_back() {
        let bulge = bulge_of(10.0, 7.0, false).unwrap();
        let arc = EdgeArc::of([1.0, 2.0], [11.0, 2.0], bulge).unwrap();
        close(arc.radius, 7.0);
        close(arc.centre[1], 2.0 - libm::sqrt(49.0 - 25.0));
        assert!(arc.sweep < 0.0);
        assert_eq!(bulge_of(10.0, 5.0, true), Some(1.0));
        assert_eq!(bulge_of(10.0, 4.9, true), None);
        assert_eq!(bulge_of(10.0, 0.0, true), None);
    }

    #[test]
    fn a_crossing_is_found_where_it_is() {
        let bow = [[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0]];
        assert_eq!(crossing(&bow), Some([5.0, 5.0]));
        let pinched = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [5.0, 0.0], [0.0, 10.0]];
        assert_eq!(crossing(&pinched), Some([5.0, 0.0]));
        let spike = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [10.0, 5.0], [0.0, 5.0]];
        assert_eq!(crossing(&spike), Some([10.0, 5.0]));
        assert_eq!(crossing(&points(&slot([0.0, 0.0], 90.0, 22.0, 33.0), 0.01)), None);
        assert_eq!(crossing(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]), None);
    }

    #[test]
    fn points_lie_inside_or_away() {
        let polygon = points(&slot([0.0, 0.0], 90.0, 22.0, 0.0), 0.001);
        assert!(inside([44.0, 0.0], &polygon) && !inside([44.0, 6.0], &polygon));
        close(distance([0.0, 15.0], &polygon), 4.0);
    }
}
