//! Arcs: centre, radius and sweep from what the block says (NISTIR 6556, section 3.5.3).

use super::runner::Runner;
use super::{Arc, ArcForm, Distance, FaultKind, Observer, Plane, Pose};
use std::f64::consts::{PI, TAU};

/// Offset letters of X, Y and Z.
const OFFSET_LETTERS: [u8; 3] = *b"IJK";
/// How far half a chord may exceed the radius in the strict language, as a share (as its interpreter does it).
const REACH: f64 = 1e-12;
/// Angles nearer than this count as a full turn, rad.
const SAME_ANGLE: f64 = 1e-9;

/// The arc in `plane` from `from` to `to` around `centre` (first and second in-plane axis).
pub(super) fn around(plane: Plane, from: [f64; 3], to: [f64; 3], centre: [f64; 2], clockwise: bool) -> Arc {
    let (start, end) = (minus(in_plane(plane, from), centre), minus(in_plane(plane, to), centre));
    let turned = libm::atan2(end[1], end[0]) - libm::atan2(start[1], start[0]);
    let turned = if clockwise { -turned } else { turned };
    let sweep = if turned <= SAME_ANGLE { turned + TAU } else { turned };
    let sweep = if sweep <= SAME_ANGLE { sweep + TAU } else { sweep };
    Arc { plane, centre: on_plane(plane, centre, from), radius: libm::hypot(start[0], start[1]), sweep }
}

/// Centre of the arc of `radius` between two in-plane points; negative for more than half a turn. The radius may be
/// short of half the chord by `slack`, and then the arc is half a turn. `None` when it is shorter.
fn centre_by_radius(from: [f64; 2], to: [f64; 2], radius: f64, clockwise: bool, slack: f64) -> Option<[f64; 2]> {
    let way = minus(to, from);
    let half = libm::hypot(way[0], way[1]) / 2.0;
    if half > radius.abs() + slack {
        return None;
    }
    let height = libm::sqrt((radius * radius - half * half).max(0.0));
    let side = if clockwise == (radius > 0.0) { -height } else { height };
    let (ux, uy) = (way[0] / (2.0 * half), way[1] / (2.0 * half));
    Some([(from[0] + to[0]) / 2.0 - uy * side, (from[1] + to[1]) / 2.0 + ux * side])
}

fn in_plane(plane: Plane, point: [f64; 3]) -> [f64; 2] {
    let (first, second, _) = plane.axes();
    [first, second].map(|axis| point.get(axis).copied().unwrap_or(0.0))
}

/// The point with those in-plane coordinates at the height of `height`.
fn on_plane(plane: Plane, [first, second]: [f64; 2], height: [f64; 3]) -> [f64; 3] {
    let (a, b, _) = plane.axes();
    let mut point = height;
    for (axis, value) in [(a, first), (b, second)] {
        if let Some(slot) = point.get_mut(axis) {
            *slot = value;
        }
    }
    point
}

fn minus([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> [f64; 2] {
    [ax - bx, ay - by]
}

impl<O: Observer> Runner<'_, O> {
    /// G2 and G3.
    pub(super) fn arc(&mut self, clockwise: bool) {
        let to = self.target(false);
        match self.arc_between(clockwise, &to) {
            Ok((arc, form)) => {
                let rise = to.axis(arc.plane.axes().2).zip(self.pose.axis(arc.plane.axes().2));
                let length = rise.map(|(to, from)| libm::hypot(arc.radius * arc.sweep, to - from));
                if let Ok(feed) = self.path_feed(length, &to) {
                    self.restate(self.words.axes());
                    self.arc_step(clockwise, arc, to, form, feed);
                }
            }
            Err(kind) => {
                self.report(kind, self.block.span);
                if !self.settings.dialect.strict {
                    self.pose = to;
                }
            }
        }
    }

    /// Difference of radii that is reported and that no arc is made of, mm.
    pub(super) fn arc_tolerance(&self) -> (f64, f64) {
        let (units, dialect) = (self.state.units.value, self.settings.dialect);
        let (warn, limit) = match units {
            crate::units::UnitSystem::Metric => (dialect.arc_warn_mm, dialect.arc_limit_mm),
            crate::units::UnitSystem::Inch => (dialect.arc_warn_inch, dialect.arc_limit_inch),
        };
        (warn * units.mm(), limit * units.mm())
    }

    fn arc_between(&mut self, clockwise: bool, to: &Pose) -> Result<(Arc, ArcForm), FaultKind> {
        let plane = self.state.plane.value;
        let (first, second, _) = plane.axes();
        let offset = self.arc_offset(plane)?;
        let named = self.words.axes();
        let bare = !named.has(first) && !named.has(second);
        if bare && !(offset.is_some() && self.settings.dialect.bare_circle) {
            return Err(FaultKind::ArcWithoutEnd(plane));
        }
        let known = [first, second].iter().all(|axis| self.pose.known.has(*axis) && to.known.has(*axis));
        if !known {
            let lost = self.missing.filter(|_| self.state.lost.has(first) || self.state.lost.has(second));
            return Err(lost.map_or(FaultKind::ArcStartUnknown, FaultKind::ArcStartMissing));
        }
        let start = match &self.compensation {
            Some(compensation) => {
                let [x, y, z] = self.pose.xyz;
                let [x, y] = compensation.start([x, y]);
                [x, y, z]
            }
            None => self.pose.xyz,
        };
        match offset {
            Some(offset) => self.by_centre(clockwise, start, to, offset),
            None => self.by_radius(clockwise, start, to),
        }
    }

    /// I, J, K of the plane in mm; `None` when the block gives R.
    fn arc_offset(&self, plane: Plane) -> Result<Option<[f64; 2]>, FaultKind> {
        let (first, second, normal) = plane.axes();
        let letter = |axis: usize| OFFSET_LETTERS.get(axis).copied().unwrap_or(b'I');
        let stray = letter(normal);
        if self.words.has(stray) && (self.settings.dialect.strict || self.words.get(stray) != Some(0.0)) {
            return Err(FaultKind::ArcLetter(char::from(stray), plane));
        }
        let any = self.words.has(letter(first)) || self.words.has(letter(second));
        match (any, self.words.has(b'R')) {
            (true, true) => Err(FaultKind::ArcMixed),
            (false, true) => Ok(None),
            (false, false) => Err(FaultKind::ArcWithoutCentre),
            (true, false) => {
                let unit = self.state.units.value.mm();
                Ok(Some([first, second].map(|axis| self.words.get(letter(axis)).unwrap_or(0.0) * unit)))
            }
        }
    }

    fn by_centre(
        &mut self,
        clockwise: bool,
        start: [f64; 3],
        to: &Pose,
        offset: [f64; 2],
    ) -> Result<(Arc, ArcForm), FaultKind> {
        let plane = self.state.plane.value;
        let from = in_plane(plane, start);
        let centre = match self.arc_centre {
            Distance::Incremental => [from[0] + offset[0], from[1] + offset[1]],
            Distance::Absolute => offset,
        };
        let [start_radius, end_radius] =
            [from, in_plane(plane, to.xyz)].map(|end| libm::hypot(end[0] - centre[0], end[1] - centre[1]));
        if start_radius == 0.0 {
            return Err(FaultKind::ArcZeroRadius);
        }
        // The radii of an entry under compensation differ by the tool's own; compensation checks them.
        let entering = self.compensation.is_some_and(|compensation| !compensation.is_entered());
        let (warn, limit) = self.arc_tolerance();
        let apart = (start_radius - end_radius).abs();
        let unit = self.state.units.value.mm();
        if apart > limit && !entering {
            return Err(FaultKind::ArcRadii(start_radius / unit, end_radius / unit));
        }
        if apart > warn && !entering {
            self.report(FaultKind::ArcUneven(start_radius / unit, end_radius / unit), self.block.span);
        }
        Ok((around(plane, start, to.xyz, centre, clockwise), ArcForm::Centre(minus(centre, from))))
    }

    fn by_radius(&mut self, clockwise: bool, start: [f64; 3], to: &Pose) -> Result<(Arc, ArcForm), FaultKind> {
        let plane = self.state.plane.value;
        let unit = self.state.units.value.mm();
        let radius = self.words.get(b'R').ok_or(FaultKind::ArcWithoutCentre)? * unit;
        let (from, end) = (in_plane(plane, start), in_plane(plane, to.xyz));
        let half = libm::hypot(end[0] - from[0], end[1] - from[1]) / 2.0;
        if half == 0.0 {
            return Err(FaultKind::ArcSamePoint);
        }
        let (warn, limit) = self.arc_tolerance();
        let strict = self.settings.dialect.strict;
        let slack = if strict { radius.abs() * REACH } else { limit };
        let centre = centre_by_radius(from, end, radius, clockwise, slack)
            .ok_or(FaultKind::ArcOutOfReach(half / unit, radius.abs() / unit))?;
        if half > radius.abs() + warn {
            self.report(FaultKind::ArcUneven(radius.abs() / unit, half / unit), self.block.span);
        }
        let mut arc = around(plane, start, to.xyz, centre, clockwise);
        if half >= radius.abs() {
            arc.sweep = PI;
        }
        Ok((arc, ArcForm::Radius(radius)))
    }
}
