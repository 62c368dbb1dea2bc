//! The leading half of the tool's circle and which parts of it still meet material.
//!
//! A point of it is told by its sine: how far it lies to the left of the path, in tool radii, from -1 on the right to 1 on
//! the left. So intervals are cut with nothing but square roots, and an angle is needed once, at the end.

use crate::operation::Side;

/// Spans narrower than this across the path are no chips but what flattening and rounding leave, mm; house value.
pub const FILM: f64 = 0.005;
/// How far cells that are gone overlap, mm; less than a film.
const HAIR: f64 = 1e-4;
/// Most spans kept apart; a removal that would make more is left out, so that engagement comes out too large.
const MOST_SPANS: usize = 8;
/// How far beyond its ends a piece of a border is still followed, in tool radii: no crossing may be missed.
pub const BEYOND: f64 = 1e-6;
/// Most marks of one shape.
const MOST_MARKS: usize = 8;

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
        let (middle, about) = front.hull;
        (self.place(middle), about * self.radius)
    }

    /// Takes a box that is gone out of the tool's front.
    pub fn carve_box(&self, ([x0, y0], [x1, y1]): ([f64; 2], [f64; 2]), front: &mut Front) {
        let ([cx, cy], [hx, hy], inverse) = (self.centre, self.heading, self.inverse);
        // Neighbours overlap by a hair, so that no sliver stays between them.
        let span = |low: f64, high: f64, at: f64| ((low - at - HAIR) * inverse, (high - at + HAIR) * inverse);
        let sides = [([hx, -hy], span(x0, x1, cx)), ([hy, hx], span(y0, y1, cy))];
        let ([ahead, left], about) = front.hull();
        let seen = |[nx, ny]: [f64; 2]| (ahead * nx + left * ny - about, ahead * nx + left * ny + about);
        if sides.iter().any(|(normal, (low, high))| seen(*normal).1 <= *low || seen(*normal).0 >= *high) {
            return;
        }
        let (low, high) = front.bounds();
        let (mut marks, mut inside) = (Marks::between(low, high), true);
        for (normal, (low, high)) in sides {
            let (least, most) = seen(normal);
            for side in [low, high] {
                if (least..most).contains(&side) {
                    marks.line(normal, side, |_| true);
                    inside = false;
                }
            }
        }
        if inside {
            return front.clear();
        }
        carve(front, marks.sorted(), |sine| {
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

/// The point of the unit circle's leading half with that sine.
pub fn on_circle(sine: f64) -> [f64; 2] {
    [libm::sqrt((1.0 - sine * sine).max(0.0)), sine]
}

/// Parts of the leading half that meet material, from right to left, as sines.
#[derive(Clone, Debug)]
pub struct Front {
    spans: [(f64, f64); MOST_SPANS],
    count: usize,
    /// Width of a film, in tool radii.
    film: f64,
    /// Middle and radius of a circle about all parts.
    hull: ([f64; 2], f64),
}

impl Front {
    /// All of it, of a tool of that radius, mm.
    pub fn whole(radius: f64) -> Self {
        let mut spans = [(0.0, 0.0); MOST_SPANS];
        spans[0] = (-1.0, 1.0);
        Self { spans, count: 1, film: FILM / radius, hull: ([0.0, 0.0], 1.0) }
    }

    /// The parts.
    pub fn spans(&self) -> &[(f64, f64)] {
        self.spans.get(..self.count).unwrap_or_default()
    }

    /// Middle and radius of a circle about all parts, seen from the tool.
    pub fn hull(&self) -> ([f64; 2], f64) {
        self.hull
    }

    /// Sines between which all parts lie.
    pub fn bounds(&self) -> (f64, f64) {
        let (first, last) = (self.spans().first(), self.spans().last());
        (first.map_or(0.0, |(low, _)| *low), last.map_or(0.0, |(_, high)| *high))
    }

    /// Drops films, which no cut makes wider again, and draws the hull anew: an arc of half a turn or less lies in the
    /// circle over its chord.
    fn tighten(&mut self) {
        self.drop_films();
        let (low, high) = self.bounds();
        let ([ax, ay], [bx, by]) = (on_circle(low), on_circle(high));
        let (dx, dy) = (bx - ax, by - ay);
        self.hull = ([(ax + bx) / 2.0, (ay + by) / 2.0], libm::sqrt(dx * dx + dy * dy) / 2.0);
    }

    /// Takes everything away.
    pub fn clear(&mut self) {
        self.count = 0;
    }

    /// Whether nothing meets material.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Whether some part lies between two sines.
    fn meets(&self, from: f64, to: f64) -> bool {
        self.spans().iter().any(|(low, high)| *low < to && *high > from)
    }

    /// Takes one interval away.
    fn remove(&mut self, from: f64, to: f64) {
        let mut index = 0;
        while let Some(span) = self.spans.get_mut(index).filter(|_| index < self.count) {
            let (low, high) = *span;
            index += 1;
            match (low < from, to < high) {
                _ if high <= from || to <= low => {}
                (true, false) => *span = (low, from),
                (false, true) => *span = (to, high),
                (false, false) => {
                    index -= 1;
                    self.spans.copy_within(index + 1..self.count, index);
                    self.count -= 1;
                }
                (true, true) if self.count < MOST_SPANS => {
                    *span = (low, from);
                    self.spans.copy_within(index..self.count, index + 1);
                    self.count += 1;
                    if let Some(next) = self.spans.get_mut(index) {
                        *next = (to, high);
                    }
                }
                (true, true) => {}
            }
        }
    }

    /// Drops parts thinner than a film.
    fn drop_films(&mut self) {
        let least = self.film;
        let film = |(low, high): &(f64, f64)| high - low <= least;
        let mut index = 0;
        while index < self.count {
            if self.spans.get(index).is_some_and(film) {
                self.spans.copy_within(index + 1..self.count, index);
                self.count -= 1;
            } else {
                index += 1;
            }
        }
    }

    /// Angle of all parts, degrees.
    pub fn sweep(&self) -> f64 {
        self.spans().iter().map(|(low, high)| libm::asin(*high) - libm::asin(*low)).sum::<f64>().to_degrees()
    }

    /// Side the material beside the path stands on; `None` when on both or on neither.
    pub fn side(&self) -> Option<Side> {
        let right = self.spans().first().is_some_and(|(low, _)| *low <= self.film - 1.0);
        let left = self.spans().last().is_some_and(|(_, high)| *high >= 1.0 - self.film);
        match (left, right) {
            (true, false) => Some(Side::Left),
            (false, true) => Some(Side::Right),
            _ => None,
        }
    }

    /// Middle of the widest part, as a sine.
    pub fn middle(&self) -> f64 {
        let width = |(low, high): &(f64, f64)| high - low;
        let widest = self.spans().iter().max_by(|one, other| width(one).total_cmp(&width(other)));
        widest.map_or(0.0, |(low, high)| (low + high) / 2.0)
    }
}

/// Sines at which the circle crosses the border of a shape, as far as they lie between two sines.
#[derive(Clone, Debug)]
pub struct Marks {
    sines: [f64; MOST_MARKS],
    count: usize,
    between: (f64, f64),
}

impl Marks {
    /// None yet.
    pub fn between(low: f64, high: f64) -> Self {
        Self { sines: [0.0; MOST_MARKS], count: 0, between: (low, high) }
    }

    /// Crossings with the part of a circle that `holds`.
    pub fn circle(&mut self, [x, y]: [f64; 2], radius: f64, holds: impl Fn([f64; 2]) -> bool) {
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

    /// Crossings with the part that `holds` of the line of all points whose product with a unit normal is `offset`.
    pub fn line(&mut self, [nx, ny]: [f64; 2], offset: f64, holds: impl Fn([f64; 2]) -> bool) {
        let aside = 1.0 - offset * offset;
        if aside < 0.0 {
            return;
        }
        let aside = libm::sqrt(aside);
        self.point([nx * offset - ny * aside, ny * offset + nx * aside], &holds);
        self.point([nx * offset + ny * aside, ny * offset - nx * aside], &holds);
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

/// Takes away what lies between marks and is gone, told by the middle of each interval; whether anything was.
pub fn carve(front: &mut Front, marks: &[f64], gone: impl Fn(f64) -> bool) -> bool {
    let (mut low, last) = front.bounds();
    let mut changed = false;
    for high in marks.iter().copied().filter(|mark| *mark < last).chain([last]) {
        if high > low {
            if front.meets(low, high) && gone((low + high) / 2.0) {
                front.remove(low, high);
                changed = true;
            }
            low = high;
        }
    }
    if changed {
        front.tighten();
    }
    changed
}
