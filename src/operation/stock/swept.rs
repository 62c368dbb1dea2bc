//! What one move of a tool has taken away: all within its radius of the way its centre went.

use super::front::Front;
use super::marks::{BEYOND, Marks, on_circle};
use super::view::View;
use super::way::Way;

/// A way of the tool's centre, its radius and the height down to which it took everything. Kept in single precision:
/// a metre comes out right to 0.06 micrometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swept {
    from: [f32; 2],
    to: [f32; 2],
    /// Tangent of a quarter of the turn, counterclockwise positive; 0 when the way is straight.
    bulge: f32,
    radius: f32,
    z: f32,
}

impl Swept {
    /// A shape about a straight way.
    pub fn new(from: [f64; 2], to: [f64; 2], radius: f64, z: f64) -> Self {
        Self::round((from, to), 0.0, radius, z)
    }

    /// A shape about an arc of half a turn or less, told by the tangent of a quarter of its turn.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    pub fn round((from, to): ([f64; 2], [f64; 2]), bulge: f64, radius: f64, z: f64) -> Self {
        let single = |[x, y]: [f64; 2]| [x as f32, y as f32];
        Self { from: single(from), to: single(to), bulge: bulge as f32, radius: radius as f32, z: z as f32 }
    }

    /// Height down to which everything is gone.
    pub fn z(&self) -> f64 {
        f64::from(self.z)
    }

    /// Height down to which everything is gone, as it is kept.
    pub fn z_single(&self) -> f32 {
        self.z
    }

    fn wide(&self) -> ([f64; 2], [f64; 2], f64) {
        (self.from.map(f64::from), self.to.map(f64::from), f64::from(self.radius))
    }

    /// Its way, to measure from.
    pub fn way(&self) -> Way {
        let (from, to, radius) = self.wide();
        Way::new(from, to, f64::from(self.bulge), radius)
    }

    /// Takes what it took out of the tool's front; whether that changed it.
    pub fn carve(&self, view: &View, front: &mut Front) -> bool {
        let (from, to, radius) = self.wide();
        let (from, to, radius) = (view.local(from), view.local(to), view.in_radii(radius));
        let way = Way::new(from, to, f64::from(self.bulge), radius);
        let (middle, about) = front.hull();
        let near = way.square(middle);
        if near >= (radius + about) * (radius + about) {
            return false;
        }
        if radius >= about && near <= (radius - about) * (radius - about) {
            front.clear();
            return true;
        }
        let reaches = |place: [f64; 2]| way.square(place) <= radius * radius;
        // What lies behind the tool covers its leading half from an end inwards, or not at all.
        if way.most_ahead() <= 0.0 && !reaches([0.0, 1.0]) && !reaches([0.0, -1.0]) {
            return false;
        }
        let mut marks = Marks::of(front);
        match way.circle() {
            Some((centre, about)) => {
                marks.circle(centre, about + radius, |_| true);
                if about > radius {
                    marks.circle(centre, about - radius, |_| true);
                }
                marks.circle(from, radius, |_| true);
                marks.circle(to, radius, |_| true);
            }
            None => mark_straight(&mut marks, (from, to), radius),
        }
        front.carve(marks.sorted(), |sine| reaches(on_circle(sine)))
    }
}

/// Marks the border about a straight way: half circles at its ends, and sides as long as the way.
fn mark_straight(marks: &mut Marks, (from, to): ([f64; 2], [f64; 2]), radius: f64) {
    let [along_x, along_y] = [to[0] - from[0], to[1] - from[1]];
    let length = libm::sqrt(along_x * along_x + along_y * along_y);
    if length <= 0.0 {
        return marks.circle(from, radius, |_| true);
    }
    let [ux, uy] = [along_x / length, along_y / length];
    let offset = ux * from[1] - uy * from[0];
    let along = |[x, y]: [f64; 2]| (x - from[0]) * ux + (y - from[1]) * uy;
    let beside = |place| (-BEYOND..=length + BEYOND).contains(&along(place));
    marks.circle(from, radius, |place| along(place) <= BEYOND);
    marks.circle(to, radius, |place| along(place) >= length - BEYOND);
    marks.line([-uy, ux], offset + radius, beside);
    marks.line([-uy, ux], offset - radius, beside);
}
