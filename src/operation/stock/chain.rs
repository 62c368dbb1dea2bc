//! The way a tool goes just now: moves that stay on one straight line, or on one circle for half a turn, are one shape.

use super::removed::SAME_HEIGHT;
use super::swept::Swept;

/// How far places on the way may lie off the straight line, mm; house value.
const OFF_LINE: f64 = 0.001;

/// A way in the making.
#[derive(Clone, Copy, Debug, Default)]
pub struct Chain {
    way: Option<Making>,
}

#[derive(Clone, Copy, Debug)]
enum Making {
    Straight(Line),
    Round(Bow),
}

impl Making {
    fn shape(&self) -> Swept {
        match self {
            Self::Straight(line) => line.shape(),
            Self::Round(bow) => bow.shape,
        }
    }
}

/// An arc in the making.
#[derive(Clone, Copy, Debug)]
struct Bow {
    from: [f64; 2],
    to: [f64; 2],
    centre: [f64; 2],
    /// Radians, counterclockwise positive.
    turn: f64,
    radius: f64,
    z: f64,
    shape: Swept,
}

impl Bow {
    fn new((from, to): ([f64; 2], [f64; 2]), (centre, turn): ([f64; 2], f64), radius: f64, z: f64) -> Self {
        let shape = Swept::round((from, to), libm::tan(turn / 4.0), radius, z);
        Self { from, to, centre, turn, radius, z, shape }
    }

    /// The arc drawn on to a place by a turn about a centre, if it stays one arc of half a turn or less.
    fn drawn_to(&self, to: [f64; 2], (centre, turn): ([f64; 2], f64), radius: f64, z: f64) -> Option<Self> {
        let same = centre == self.centre && radius == self.radius && (z - self.z).abs() <= SAME_HEIGHT;
        let whole = self.turn + turn;
        let goes_on = same && (self.turn > 0.0) == (turn > 0.0) && whole.abs() <= std::f64::consts::PI;
        goes_on.then(|| Self::new((self.from, to), (centre, whole), radius, self.z.max(z)))
    }
}

#[derive(Clone, Copy, Debug)]
struct Line {
    from: [f64; 2],
    to: [f64; 2],
    radius: f64,
    z: f64,
    /// Directions from the start, right and left, that pass every place so far.
    sector: Option<([f64; 2], [f64; 2])>,
    /// Square of the distance from the start.
    reach: f64,
}

impl Line {
    fn shape(&self) -> Swept {
        Swept::new(self.from, self.to, self.radius, self.z)
    }

    /// The line drawn on to a place, if all before it stays within bounds.
    fn drawn_to(&self, [x, y]: [f64; 2], radius: f64, z: f64) -> Option<Self> {
        let [from_x, from_y] = self.from;
        let (dx, dy) = (x - from_x, y - from_y);
        let reach = dx * dx + dy * dy;
        let same = radius == self.radius && (z - self.z).abs() <= SAME_HEIGHT;
        let inside =
            self.sector.is_none_or(|(right, left)| cross(right, [dx, dy]) >= 0.0 && cross([dx, dy], left) >= 0.0);
        if !same || !inside || reach < self.reach {
            return None;
        }
        let aside = if reach > 0.0 { OFF_LINE / libm::sqrt(reach) } else { 0.0 };
        let (mut right, mut left) = ([dx + dy * aside, dy - dx * aside], [dx - dy * aside, dy + dx * aside]);
        if let Some((narrow_right, narrow_left)) = self.sector {
            right = if cross(right, narrow_right) > 0.0 { narrow_right } else { right };
            left = if cross(narrow_left, left) > 0.0 { narrow_left } else { left };
        }
        let sector = if reach > 0.0 { Some((right, left)) } else { None };
        Some(Self { to: [x, y], z: self.z.max(z), sector, reach, ..*self })
    }
}

impl Chain {
    /// The shape so far.
    pub fn shape(&self) -> Option<Swept> {
        self.way.map(|way| way.shape())
    }

    /// Goes straight on from `from` to `to`; hands back the shape that is finished when the way turns.
    pub fn draw(&mut self, from: [f64; 2], to: [f64; 2], radius: f64, z: f64) -> Option<Swept> {
        if let Some(Making::Straight(line)) = &mut self.way
            && line.to == from
            && let Some(longer) = line.drawn_to(to, radius, z)
        {
            *line = longer;
            return None;
        }
        let start = Line { from, to: from, radius, z, sector: None, reach: 0.0 };
        let finished = self.end();
        self.way = start.drawn_to(to, radius, z).map(Making::Straight);
        finished
    }

    /// Goes on round part of an arc, at most half a turn; hands back the shape that is finished when the way leaves it.
    pub fn bend(
        &mut self,
        (from, to): ([f64; 2], [f64; 2]),
        arc: ([f64; 2], f64),
        radius: f64,
        z: f64,
    ) -> Option<Swept> {
        if let Some(Making::Round(bow)) = &mut self.way
            && bow.to == from
            && let Some(longer) = bow.drawn_to(to, arc, radius, z)
        {
            *bow = longer;
            return None;
        }
        let finished = self.end();
        self.way = Some(Making::Round(Bow::new((from, to), arc, radius, z)));
        finished
    }

    /// Ends the way.
    pub fn end(&mut self) -> Option<Swept> {
        self.way.take().map(|way| way.shape())
    }
}

fn cross([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    ax * by - ay * bx
}
