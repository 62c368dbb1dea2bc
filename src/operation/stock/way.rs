//! The way a tool's centre went, straight or round, and how far places lie off it.

/// A way with the radius about it.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    course: Course,
    radius: f64,
}

#[derive(Clone, Copy, Debug)]
enum Course {
    Straight(Segment),
    Round(Bow),
}

/// Distance of a place from a shape's border, negative inside, and how it grows there.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// Distance, mm.
    pub distance: f64,
    /// Unit vector along which it grows; zero on the way itself.
    pub gradient: [f64; 2],
    /// Whether the plane that touches the distance there lies below it everywhere, as it does off all that bends away.
    pub convex: bool,
}

impl Way {
    /// A way from one place to another that turns by four times the arc tangent of `bulge`, counterclockwise positive
    /// and at most half a turn.
    pub fn new(from: [f64; 2], to: [f64; 2], bulge: f64, radius: f64) -> Self {
        let straight = bulge == 0.0 || from == to;
        let course =
            if straight { Course::Straight(Segment::new(from, to)) } else { Course::Round(Bow::new(from, to, bulge)) };
        Self { course, radius }
    }

    /// From its nearest point to a place.
    fn away(&self, place: [f64; 2]) -> [f64; 2] {
        match &self.course {
            Course::Straight(line) => line.away(place),
            Course::Round(bow) => bow.away(place),
        }
    }

    /// How far a place lies from the border, and which way it lies off.
    pub fn reach(&self, place: [f64; 2]) -> Reach {
        let [x, y] = self.away(place);
        let distance = libm::sqrt(x * x + y * y);
        let gradient = if distance > 0.0 { [x / distance, y / distance] } else { [0.0, 0.0] };
        let convex = match &self.course {
            Course::Straight(_) => true,
            Course::Round(bow) => bow.is_outside(place),
        };
        Reach { distance: distance - self.radius, gradient, convex }
    }

    /// Square of how far a place lies from the way itself.
    pub fn square(&self, place: [f64; 2]) -> f64 {
        let [x, y] = self.away(place);
        x * x + y * y
    }

    /// How far a place lies from the border.
    pub fn distance(&self, place: [f64; 2]) -> f64 {
        libm::sqrt(self.square(place)) - self.radius
    }

    /// Radius about the way.
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// The circle a round way lies on.
    pub fn circle(&self) -> Option<([f64; 2], f64)> {
        match &self.course {
            Course::Straight(_) => None,
            Course::Round(bow) => Some((bow.centre, bow.about)),
        }
    }

    /// Most X of the way itself: seen from a tool, how far ahead it goes.
    pub fn most_ahead(&self) -> f64 {
        match &self.course {
            Course::Straight(line) => line.from[0].max(line.to[0]),
            Course::Round(bow) if bow.faces([1.0, 0.0]) => bow.centre[0] + bow.about,
            Course::Round(bow) => bow.from[0].max(bow.to[0]),
        }
    }

    /// Least and most X and Y within the radius about the way.
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        let (from, to) = match &self.course {
            Course::Straight(line) => (line.from, line.to),
            Course::Round(bow) => (bow.from, bow.to),
        };
        let (mut least, mut most) =
            ([from[0].min(to[0]), from[1].min(to[1])], [from[0].max(to[0]), from[1].max(to[1])]);
        if let Course::Round(bow) = &self.course {
            let ([x, y], about) = (bow.centre, bow.about);
            least[0] = if bow.faces([-1.0, 0.0]) { x - about } else { least[0] };
            least[1] = if bow.faces([0.0, -1.0]) { y - about } else { least[1] };
            most[0] = if bow.faces([1.0, 0.0]) { x + about } else { most[0] };
            most[1] = if bow.faces([0.0, 1.0]) { y + about } else { most[1] };
        }
        (least.map(|low| low - self.radius), most.map(|high| high + self.radius))
    }
}

/// A line segment, with what measuring from it needs.
#[derive(Clone, Copy, Debug)]
struct Segment {
    from: [f64; 2],
    to: [f64; 2],
    along: [f64; 2],
    /// One over the square of its length; 0 for a point.
    inverse: f64,
}

impl Segment {
    fn new([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> Self {
        let (dx, dy) = (bx - ax, by - ay);
        let square = dx * dx + dy * dy;
        Self { from: [ax, ay], to: [bx, by], along: [dx, dy], inverse: if square > 0.0 { 1.0 / square } else { 0.0 } }
    }

    /// The way from its nearest point to a place.
    fn away(&self, [px, py]: [f64; 2]) -> [f64; 2] {
        let ([ax, ay], [dx, dy]) = (self.from, self.along);
        let (x, y) = (px - ax, py - ay);
        let share = ((x * dx + y * dy) * self.inverse).clamp(0.0, 1.0);
        [x - share * dx, y - share * dy]
    }
}

/// An arc of half a turn or less.
#[derive(Clone, Copy, Debug)]
struct Bow {
    from: [f64; 2],
    to: [f64; 2],
    centre: [f64; 2],
    /// Its radius.
    about: f64,
    /// From the centre to the end on the right of the sector, and to the one on its left.
    sector: ([f64; 2], [f64; 2]),
}

impl Bow {
    /// Plane geometry of a chord c: the centre stands c (1 - b^2) / (4 b) to the left of its middle.
    fn new(from: [f64; 2], to: [f64; 2], bulge: f64) -> Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let aside = (1.0 - bulge * bulge) / (4.0 * bulge);
        let centre = [(from[0] + to[0]) / 2.0 - dy * aside, (from[1] + to[1]) / 2.0 + dx * aside];
        let out = |[x, y]: [f64; 2]| [x - centre[0], y - centre[1]];
        let ([x, y], end) = (out(from), out(to));
        let sector = if bulge > 0.0 { ([x, y], end) } else { (end, [x, y]) };
        Self { from, to, centre, about: libm::sqrt(x * x + y * y), sector }
    }

    /// Whether a direction from the centre lies in its sector.
    fn faces(&self, out: [f64; 2]) -> bool {
        cross(self.sector.0, out) >= 0.0 && cross(out, self.sector.1) >= 0.0
    }

    /// Whether a place lies beyond the arc, seen from the centre.
    fn is_outside(&self, [px, py]: [f64; 2]) -> bool {
        let (x, y) = (px - self.centre[0], py - self.centre[1]);
        self.faces([x, y]) && x * x + y * y >= self.about * self.about
    }

    /// The way from its nearest point to a place.
    fn away(&self, [px, py]: [f64; 2]) -> [f64; 2] {
        let (x, y) = (px - self.centre[0], py - self.centre[1]);
        let far = libm::sqrt(x * x + y * y);
        if far > 0.0 && self.faces([x, y]) {
            let share = 1.0 - self.about / far;
            return [x * share, y * share];
        }
        let from = |[ax, ay]: [f64; 2]| [px - ax, py - ay];
        let (one, other) = (from(self.from), from(self.to));
        let square = |[x, y]: [f64; 2]| x * x + y * y;
        if square(one) <= square(other) { one } else { other }
    }
}

fn cross([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    ax * by - ay * bx
}
