//! The way a tool goes just now: moves that stay on one straight line are one shape.

use super::removed::SAME_HEIGHT;
use super::swept::Swept;

/// How far places on the way may lie off the straight line, mm; house value.
const OFF_LINE: f64 = 0.001;

/// A straight way in the making.
#[derive(Clone, Copy, Debug, Default)]
pub struct Chain {
    line: Option<Line>,
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
        self.line.map(|line| line.shape())
    }

    /// Goes on from `from` to `to`; hands back the shape that is finished when the way turns.
    pub fn draw(&mut self, from: [f64; 2], to: [f64; 2], radius: f64, z: f64) -> Option<Swept> {
        let goes_on = self.line.filter(|line| line.to == from);
        if let Some(longer) = goes_on.and_then(|line| line.drawn_to(to, radius, z)) {
            self.line = Some(longer);
            return None;
        }
        let finished = self.line.map(|line| line.shape());
        let start = Line { from, to: from, radius, z, sector: None, reach: 0.0 };
        self.line = start.drawn_to(to, radius, z);
        finished
    }

    /// Ends the way.
    pub fn end(&mut self) -> Option<Swept> {
        self.line.take().map(|line| line.shape())
    }
}

fn cross([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    ax * by - ay * bx
}
