//! The tool at one place, looking along its way: places seen from it, in tool radii, ahead and to the left.

use super::front::Front;
use super::marks::{Marks, on_circle};

/// How far cells that are gone overlap, mm; less than a film.
const HAIR: f64 = 1e-4;

/// The tool where it looks ahead.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Centre of the tool.
    centre: [f64; 2],
    /// Unit vector of the way.
    heading: [f64; 2],
    /// Radius of the tool, mm.
    radius: f64,
    /// One over it.
    inverse: f64,
}

impl View {
    /// A tool of that radius, mm, as it goes along a unit vector.
    pub fn new(centre: [f64; 2], heading: [f64; 2], radius: f64) -> Self {
        Self { centre, heading, radius, inverse: 1.0 / radius }
    }

    /// So many mm, in tool radii.
    pub fn in_radii(&self, length: f64) -> f64 {
        length * self.inverse
    }

    /// Steps of so many mm along X and Y, seen from the tool.
    pub fn axes(&self, length: f64) -> [[f64; 2]; 2] {
        let [hx, hy] = self.heading.map(|part| self.in_radii(part * length));
        [[hx, -hy], [hy, hx]]
    }

    /// A place seen from the tool: ahead and to the left, in tool radii.
    pub fn local(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let ([cx, cy], [hx, hy]) = (self.centre, self.heading);
        let (dx, dy) = (x - cx, y - cy);
        [(dx * hx + dy * hy) * self.inverse, (hx * dy - hy * dx) * self.inverse]
    }

    /// The place that is seen so from the tool.
    fn place(&self, [ahead, left]: [f64; 2]) -> [f64; 2] {
        let ([cx, cy], [hx, hy]) = (self.centre, self.heading);
        let (ahead, left) = (ahead * self.radius, left * self.radius);
        [cx + ahead * hx - left * hy, cy + ahead * hy + left * hx]
    }

    /// The point of the leading half with that sine.
    pub fn point(&self, sine: f64) -> [f64; 2] {
        self.place(on_circle(sine))
    }

    /// Middle and radius of a circle about all parts of the front, mm.
    pub fn hull(&self, front: &Front) -> ([f64; 2], f64) {
        let (middle, about) = front.hull();
        (self.place(middle), about * self.radius)
    }

    /// Takes a box that is gone out of the tool's front.
    pub fn carve_box(&self, ([x0, y0], [x1, y1]): ([f64; 2], [f64; 2]), front: &mut Front) {
        let ([cx, cy], [hx, hy], inverse) = (self.centre, self.heading, self.inverse);
        // Neighbours overlap by a hair, so that no sliver stays between them.
        let span = |low: f64, high: f64, at: f64| ((low - at - HAIR) * inverse, (high - at + HAIR) * inverse);
        let sides = [([hx, -hy], span(x0, x1, cx)), ([hy, hx], span(y0, y1, cy))];
        let ([ahead, left], about) = front.hull();
        let beside = |([nx, ny], (low, high)): &([f64; 2], (f64, f64))| {
            let at = ahead * nx + left * ny;
            at + about <= *low || at - about >= *high
        };
        if sides.iter().any(beside) {
            return;
        }
        let (mut marks, mut passed) = (Marks::of(front), false);
        for (normal, (low, high)) in sides {
            passed |= marks.line(normal, low, |_| true);
            passed |= marks.line(normal, high, |_| true);
        }
        if !passed {
            return front.clear();
        }
        front.carve(marks.sorted(), |sine| {
            let [ahead, left] = on_circle(sine);
            sides.iter().all(|([nx, ny], (low, high))| (*low..=*high).contains(&(ahead * nx + left * ny)))
        });
    }

    /// Least and most X and Y of the leading half.
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        let ([cx, cy], [hx, hy], radius) = (self.centre, self.heading, self.radius);
        let most = |along: f64, across: f64| if along >= 0.0 { radius } else { radius * across.abs() };
        ([cx - most(-hx, hy), cy - most(-hy, hx)], [cx + most(hx, hy), cy + most(hy, hx)])
    }
}
