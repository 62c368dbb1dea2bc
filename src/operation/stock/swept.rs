//! What one straight move of a tool has taken away: all within its radius of the way its centre went.

use super::front::Front;
use super::marks::{BEYOND, Marks, on_circle};
use super::view::View;

/// A way of the tool's centre, its radius and the height down to which it took everything. Kept in single precision:
/// a metre comes out right to 0.06 micrometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swept {
    from: [f32; 2],
    to: [f32; 2],
    radius: f32,
    z: f32,
}

/// Distance of a place from a shape's border, negative inside, and how it grows there.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// Distance, mm.
    pub distance: f64,
    /// Unit vector along which it grows; zero on the way itself.
    pub gradient: [f64; 2],
}

impl Swept {
    /// A shape.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    pub fn new(from: [f64; 2], to: [f64; 2], radius: f64, z: f64) -> Self {
        let single = |[x, y]: [f64; 2]| [x as f32, y as f32];
        Self { from: single(from), to: single(to), radius: radius as f32, z: z as f32 }
    }

    /// Height down to which everything is gone.
    pub fn z(&self) -> f64 {
        f64::from(self.z)
    }

    /// Least and most X and Y.
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        let (from, to, radius) = self.wide();
        let span = |one: f64, other: f64| (one.min(other) - radius, one.max(other) + radius);
        let ((x0, x1), (y0, y1)) = (span(from[0], to[0]), span(from[1], to[1]));
        ([x0, y0], [x1, y1])
    }

    fn wide(&self) -> ([f64; 2], [f64; 2], f64) {
        (self.from.map(f64::from), self.to.map(f64::from), f64::from(self.radius))
    }

    /// Height down to which everything is gone, as it is kept.
    pub fn z_single(&self) -> f32 {
        self.z
    }

    /// Its way, to measure from.
    pub fn way(&self) -> Way {
        let (from, to, radius) = self.wide();
        Way { line: Segment::new(from, to), radius }
    }

    /// Takes what it took out of the tool's front; whether that changed it.
    pub fn carve(&self, view: &View, front: &mut Front) -> bool {
        let (from, to, radius) = self.wide();
        let (from, to, radius) = (view.local(from), view.local(to), view.in_radii(radius));
        let (middle, about) = front.hull();
        let line = Segment::new(from, to);
        let [x, y] = line.away(middle);
        let near = x * x + y * y;
        if near >= (radius + about) * (radius + about) {
            return false;
        }
        if radius >= about && near <= (radius - about) * (radius - about) {
            front.clear();
            return true;
        }
        let reaches = |place: [f64; 2]| {
            let [x, y] = line.away(place);
            x * x + y * y <= radius * radius
        };
        // What lies behind the tool covers its leading half from an end inwards, or not at all.
        if from[0] <= 0.0 && to[0] <= 0.0 && !reaches([0.0, 1.0]) && !reaches([0.0, -1.0]) {
            return false;
        }
        let mut marks = Marks::of(front);
        let [along_x, along_y] = [to[0] - from[0], to[1] - from[1]];
        let length = libm::sqrt(along_x * along_x + along_y * along_y);
        if length > 0.0 {
            let [ux, uy] = [along_x / length, along_y / length];
            let offset = ux * from[1] - uy * from[0];
            // Only crossings on the border itself: its ends are half circles, its sides as long as the way.
            let along = |[x, y]: [f64; 2]| (x - from[0]) * ux + (y - from[1]) * uy;
            let beside = |place| (-BEYOND..=length + BEYOND).contains(&along(place));
            marks.circle(from, radius, |place| along(place) <= BEYOND);
            marks.circle(to, radius, |place| along(place) >= length - BEYOND);
            marks.line([-uy, ux], offset + radius, beside);
            marks.line([-uy, ux], offset - radius, beside);
        } else {
            marks.circle(from, radius, |_| true);
        }
        front.carve(marks.sorted(), |sine| reaches(on_circle(sine)))
    }
}

/// The way of a shape's centre with the radius about it.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    line: Segment,
    radius: f64,
}

impl Way {
    /// How far a place lies from the border, and which way it lies off.
    pub fn reach(&self, place: [f64; 2]) -> Reach {
        let [x, y] = self.line.away(place);
        let distance = libm::sqrt(x * x + y * y);
        let gradient = if distance > 0.0 { [x / distance, y / distance] } else { [0.0, 0.0] };
        Reach { distance: distance - self.radius, gradient }
    }

    /// Square of how far a place lies from the way itself.
    pub fn square(&self, place: [f64; 2]) -> f64 {
        let [x, y] = self.line.away(place);
        x * x + y * y
    }

    /// Radius about the way, mm.
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// How far a place lies from the border.
    pub fn distance(&self, place: [f64; 2]) -> f64 {
        libm::sqrt(self.square(place)) - self.radius
    }
}

/// A line segment, with what measuring from it needs.
#[derive(Clone, Copy, Debug)]
struct Segment {
    from: [f64; 2],
    along: [f64; 2],
    /// One over the square of its length; 0 for a point.
    inverse: f64,
}

impl Segment {
    fn new([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> Self {
        let (dx, dy) = (bx - ax, by - ay);
        let square = dx * dx + dy * dy;
        Self { from: [ax, ay], along: [dx, dy], inverse: if square > 0.0 { 1.0 / square } else { 0.0 } }
    }

    /// The way from its nearest point to a place.
    fn away(&self, [px, py]: [f64; 2]) -> [f64; 2] {
        let ([ax, ay], [dx, dy]) = (self.from, self.along);
        let (x, y) = (px - ax, py - ay);
        let share = ((x * dx + y * dy) * self.inverse).clamp(0.0, 1.0);
        [x - share * dx, y - share * dy]
    }
}
