//! Cutter radius compensation in the XY plane: the programmed edge becomes the path of the tool's centre.
//!
//! Method: NISTIR 6556, section 3.5.10 and appendix B. The first move leads onto the path by a tangent, the tool rolls
//! round outer corners, and an inner corner narrower than the tool is a fault.

#[cfg(test)]
mod tests;

use std::f64::consts::PI;

use super::CutterSide;

/// Corners turned less than this either way count as none, rad; house value.
const STRAIGHT_ON: f64 = 0.01;

/// Compensation while it is on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compensation {
    /// 1 with the tool left of the path, -1 right of it.
    side: f64,
    /// Tool radius, mm.
    radius: f64,
    /// Programmed point the tool lies beside; `None` before the first move.
    beside: Option<[f64; 2]>,
}

/// One piece of the tool centre's path, X and Y in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Its end.
    pub to: [f64; 2],
    /// Its centre and whether it turns counterclockwise; `None` for a straight piece.
    pub around: Option<([f64; 2], bool)>,
}

/// The tool's path for one programmed move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Legs {
    /// Arc around the corner before the move, at constant Z.
    pub corner: Option<Leg>,
    /// The move itself.
    pub main: Leg,
}

/// How the block gives an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ArcForm {
    /// Offsets of the centre from the start.
    Centre([f64; 2]),
    /// Radius, negative for more than half a turn.
    Radius(f64),
}

/// Why the tool cannot follow the programmed edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CompensationFault {
    /// A corner on the tool's side, which it cannot get into.
    ConcaveCorner,
    /// The first move ends less than a tool radius away.
    Gouging,
    /// The tool does not fit inside the arc.
    ToolTooLarge,
    /// An entry arc of that radius does not reach the end point.
    EntryArcTooSmall,
    /// The two ends of an entry arc lie at different radii.
    EntryArcUneven,
}

impl Compensation {
    /// Compensation to `side` of the path by `radius`, mm; a negative radius is the other side. `None` for G40.
    #[must_use]
    pub fn new(side: CutterSide, radius: f64) -> Option<Self> {
        let side = match side {
            CutterSide::Off => return None,
            CutterSide::Left => 1.0,
            CutterSide::Right => -1.0,
        };
        let side = if radius < 0.0 { -side } else { side };
        Some(Self { side, radius: radius.abs(), beside: None })
    }

    /// Where the programmed path stands, for a tool centre at `tool`: the start of the next programmed move.
    #[must_use]
    pub fn start(&self, tool: [f64; 2]) -> [f64; 2] {
        self.beside.unwrap_or(tool)
    }

    /// Whether the entry move has been made.
    #[must_use]
    pub fn is_entered(&self) -> bool {
        self.beside.is_some()
    }

    /// A straight move to `to`; rapids take no arc around a corner. After a fault the next move enters anew.
    ///
    /// # Errors
    /// What keeps the tool from following.
    pub fn line(&mut self, tool: [f64; 2], to: [f64; 2], rapid: bool) -> Result<Legs, CompensationFault> {
        let Some(start) = self.beside.take() else {
            let main = straight(self.tangent_point(tool, to)?);
            self.beside = Some(to);
            return Ok(Legs { corner: None, main });
        };
        let along = unit(minus(to, start));
        if along == [0.0, 0.0] {
            self.beside = Some(start);
            return Ok(Legs { corner: None, main: straight(tool) });
        }
        let corner = self.corner(tool, start, along)?.filter(|_| !rapid);
        self.beside = Some(to);
        Ok(Legs { corner, main: straight(self.aside(to, along)) })
    }

    /// An arc to `to` around `centre` after the entry; the caller has checked its two radii.
    ///
    /// # Errors
    /// What keeps the tool from following.
    pub fn arc(
        &mut self,
        tool: [f64; 2],
        to: [f64; 2],
        centre: [f64; 2],
        ccw: bool,
    ) -> Result<Legs, CompensationFault> {
        let start = self.beside.take().unwrap_or(tool);
        if self.is_inside(ccw) && length(minus(centre, to)) <= self.radius {
            return Err(CompensationFault::ToolTooLarge);
        }
        let corner = self.corner(tool, start, tangent(start, centre, ccw))?;
        let end = self.aside(to, tangent(to, centre, ccw));
        self.beside = Some(to);
        Ok(Legs { corner, main: Leg { to: end, around: Some((centre, ccw)) } })
    }

    /// An arc as the first move: the tool's own path has the programmed form, and ends beside `to`.
    ///
    /// # Errors
    /// What keeps the tool from getting there.
    pub fn enter_arc(
        &mut self,
        tool: [f64; 2],
        to: [f64; 2],
        form: ArcForm,
        ccw: bool,
        tolerance: f64,
    ) -> Result<Legs, CompensationFault> {
        if length(minus(to, tool)) <= self.radius {
            return Err(CompensationFault::Gouging);
        }
        let inside = self.is_inside(ccw);
        let edge_radius = |path: f64| if inside { path + self.radius } else { path - self.radius };
        let centre = match form {
            ArcForm::Centre(offset) => {
                let centre = plus(tool, offset);
                let uneven = edge_radius(length(offset)) - length(minus(centre, to));
                if uneven.abs() > tolerance {
                    return Err(CompensationFault::EntryArcUneven);
                }
                centre
            }
            ArcForm::Radius(radius) => {
                let left = ccw == (radius > 0.0);
                centre_between(tool, radius.abs(), to, edge_radius(radius.abs()), left)
                    .ok_or(CompensationFault::EntryArcTooSmall)?
            }
        };
        let end = self.aside(to, tangent(to, centre, ccw));
        self.beside = Some(to);
        Ok(Legs { corner: None, main: Leg { to: end, around: Some((centre, ccw)) } })
    }

    /// Whether the tool runs inside an arc of that turn.
    fn is_inside(&self, ccw: bool) -> bool {
        ccw == (self.side > 0.0)
    }

    /// The tool centre beside `point` when the path runs along `along` there.
    fn aside(&self, point: [f64; 2], [x, y]: [f64; 2]) -> [f64; 2] {
        let reach = self.side * self.radius;
        plus(point, [-y * reach, x * reach])
    }

    /// End of a straight entry: the line from `tool` touches the circle of the tool's radius around `to` there.
    fn tangent_point(&self, tool: [f64; 2], to: [f64; 2]) -> Result<[f64; 2], CompensationFault> {
        let back = minus(tool, to);
        let distance = length(back);
        if distance < self.radius {
            return Err(CompensationFault::Gouging);
        }
        if distance == 0.0 {
            return Ok(to);
        }
        let [x, y] = unit(back);
        let cosine = self.radius / distance;
        let sine = -self.side * libm::sqrt(1.0 - cosine * cosine);
        Ok(plus(to, [self.radius * (x * cosine - y * sine), self.radius * (x * sine + y * cosine)]))
    }

    /// The arc around `corner` for a path that leaves it along `along`.
    fn corner(&self, tool: [f64; 2], corner: [f64; 2], along: [f64; 2]) -> Result<Option<Leg>, CompensationFault> {
        let to = self.aside(corner, along);
        let ([x0, y0], [x1, y1]) = (minus(tool, corner), minus(to, corner));
        let turn = -self.side * libm::atan2(x0 * y1 - y0 * x1, x0 * x1 + y0 * y1);
        let reversal = turn < STRAIGHT_ON - PI;
        if turn < -STRAIGHT_ON && !reversal {
            return Err(CompensationFault::ConcaveCorner);
        }
        let needed = turn > STRAIGHT_ON || reversal;
        Ok(needed.then_some(Leg { to, around: Some((corner, self.side < 0.0)) }))
    }
}

fn straight(to: [f64; 2]) -> Leg {
    Leg { to, around: None }
}

/// Direction of an arc at `point`.
fn tangent(point: [f64; 2], centre: [f64; 2], ccw: bool) -> [f64; 2] {
    let [x, y] = unit(minus(centre, point));
    if ccw { [y, -x] } else { [-y, x] }
}

/// The point `from_a` away from `a` and `from_b` away from `b`, to the left of the way from `a` to `b` or to the right.
fn centre_between(a: [f64; 2], from_a: f64, b: [f64; 2], from_b: f64, left: bool) -> Option<[f64; 2]> {
    let way = minus(b, a);
    let distance = length(way);
    let along = (from_a * from_a - from_b * from_b + distance * distance) / (2.0 * distance);
    let square = from_a * from_a - along * along;
    if from_b <= 0.0 || square.is_nan() || square < 0.0 {
        return None;
    }
    let [x, y] = unit(way);
    let across = if left { libm::sqrt(square) } else { -libm::sqrt(square) };
    Some(plus(a, [x * along - y * across, y * along + x * across]))
}

fn plus([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> [f64; 2] {
    [ax + bx, ay + by]
}

fn minus([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> [f64; 2] {
    [ax - bx, ay - by]
}

fn length([x, y]: [f64; 2]) -> f64 {
    libm::hypot(x, y)
}

/// The vector at length one; zero stays zero.
fn unit([x, y]: [f64; 2]) -> [f64; 2] {
    let length = libm::hypot(x, y);
    if length > 0.0 { [x / length, y / length] } else { [0.0, 0.0] }
}
