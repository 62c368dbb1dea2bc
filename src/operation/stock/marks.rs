//! Where the tool's circle crosses the borders of what is gone, and what lies between two crossings.

use super::front::Front;

/// How far beyond its ends a piece of a border is still followed, in tool radii: no crossing may be missed.
pub const BEYOND: f64 = 1e-6;
/// Most marks of one shape.
const MOST_MARKS: usize = 8;

/// The point of the unit circle's leading half with that sine.
pub fn on_circle(sine: f64) -> [f64; 2] {
    [libm::sqrt((1.0 - sine * sine).max(0.0)), sine]
}

/// Sines at which the circle crosses the border of a shape, as far as they lie within a front.
#[derive(Clone, Debug)]
pub struct Marks {
    sines: [f64; MOST_MARKS],
    count: usize,
    /// Sines between which the front lies.
    between: (f64, f64),
    /// Middle and radius of a circle about it: only a border that passes it is worth roots.
    hull: ([f64; 2], f64),
}

impl Marks {
    /// None yet.
    pub fn of(front: &Front) -> Self {
        Self { sines: [0.0; MOST_MARKS], count: 0, between: front.bounds(), hull: front.hull() }
    }

    /// Crossings with the part of a circle that `holds`.
    pub fn circle(&mut self, [x, y]: [f64; 2], radius: f64, holds: impl Fn([f64; 2]) -> bool) {
        let ([middle_x, middle_y], about) = self.hull;
        let (dx, dy) = (middle_x - x, middle_y - y);
        let (off, inner, outer) = (dx * dx + dy * dy, (radius - about).max(0.0), radius + about);
        if off < inner * inner || off > outer * outer {
            return;
        }
        let square = x * x + y * y;
        let along = (square + 1.0 - radius * radius) / 2.0;
        let aside = square - along * along;
        if square <= 0.0 || aside < 0.0 {
            return;
        }
        let (aside, inverse) = (libm::sqrt(aside), 1.0 / square);
        self.point([(x * along - y * aside) * inverse, (y * along + x * aside) * inverse], &holds);
        self.point([(x * along + y * aside) * inverse, (y * along - x * aside) * inverse], &holds);
    }

    /// Crossings with the part that `holds` of the line of all points whose product with a unit normal is `offset`;
    /// whether it passes the front's hull.
    pub fn line(&mut self, [nx, ny]: [f64; 2], offset: f64, holds: impl Fn([f64; 2]) -> bool) -> bool {
        let ([x, y], about) = self.hull;
        let aside = 1.0 - offset * offset;
        if (nx * x + ny * y - offset).abs() > about || aside < 0.0 {
            return false;
        }
        let aside = libm::sqrt(aside);
        self.point([nx * offset - ny * aside, ny * offset + nx * aside], &holds);
        self.point([nx * offset + ny * aside, ny * offset - nx * aside], &holds);
        true
    }

    fn point(&mut self, [ahead, left]: [f64; 2], holds: impl Fn([f64; 2]) -> bool) {
        let (low, high) = self.between;
        if ahead >= 0.0
            && left > low
            && left < high
            && holds([ahead, left])
            && let Some(slot) = self.sines.get_mut(self.count)
        {
            *slot = left;
            self.count += 1;
        }
    }

    /// In order from right to left.
    pub fn sorted(&mut self) -> &[f64] {
        let sines = self.sines.get_mut(..self.count).unwrap_or_default();
        sines.sort_unstable_by(f64::total_cmp);
        sines
    }
}
