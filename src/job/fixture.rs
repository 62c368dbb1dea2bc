//! What stands around the part: clamps, backing, table, and zones the tool must keep out of.

use super::contour::from_segment;
use crate::units::Millimetres;
use schemars::JsonSchema;
use serde::Deserialize;

/// `[fixture]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fixture {
    /// Everything with a shape.
    pub zones: Vec<Zone>,
    /// Whether zones are listed at all: an empty list says that nothing stands there.
    pub listed: bool,
    /// Height of the table's face in program coordinates.
    pub table_z: Option<Millimetres>,
    /// Thickness of a backing pressed against the exit face.
    pub backing: Option<Millimetres>,
}

/// One clamp, post or zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Id in reports, such as `C4`.
    pub id: String,
    /// What it is.
    pub kind: ZoneKind,
    /// Outline in X and Y.
    pub shape: ZoneShape,
    /// Bottom and top in program coordinates; `None` reaches without end.
    pub z: (Option<Millimetres>, Option<Millimetres>),
    /// How far it may stand from where it is drawn.
    pub tolerance: Millimetres,
}

/// What a zone is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneKind {
    /// Clamp or bolt: the tool must not touch it.
    Clamp,
    /// Vacuum pod or support post.
    Post,
    /// Any other volume to keep out of.
    KeepOut,
    /// Material to be kept for test coupons: no cut may enter.
    Coupon,
}

impl ZoneKind {
    /// The word for people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Clamp => "clamp",
            Self::Post => "post",
            Self::KeepOut => "keep-out",
            Self::Coupon => "coupon",
        }
    }
}

/// Outline of a zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ZoneShape {
    /// Axis-parallel rectangle: least and most X, least and most Y.
    Box {
        /// Least and most X.
        x: (Millimetres, Millimetres),
        /// Least and most Y.
        y: (Millimetres, Millimetres),
    },
    /// Cylinder.
    Cylinder {
        /// Centre.
        at: (Millimetres, Millimetres),
        /// Diameter.
        diameter: Millimetres,
    },
}

impl Zone {
    /// Whether the straight line from `a` to `b` comes nearer to the zone as drawn than `reach`, mm.
    #[must_use]
    pub fn is_within(&self, a: [f64; 2], b: [f64; 2], reach: f64) -> bool {
        // Most moves are nowhere near: their boxes tell.
        self.is_beside(a, b, reach) && self.clearance_to(a, b) < reach
    }

    /// Whether the box of `a` and `b` comes as near as `reach`, mm, to that of the zone along X and along Y.
    #[must_use]
    pub fn is_beside(&self, a: [f64; 2], b: [f64; 2], reach: f64) -> bool {
        let (x, y) = match self.shape {
            ZoneShape::Box { x, y } => ((x.0.0, x.1.0), (y.0.0, y.1.0)),
            ZoneShape::Cylinder { at, diameter } => {
                let radius = diameter.0 / 2.0;
                ((at.0.0 - radius, at.0.0 + radius), (at.1.0 - radius, at.1.0 + radius))
            }
        };
        let apart = |(least, most): (f64, f64), a: f64, b: f64| a.min(b) > most + reach || a.max(b) < least - reach;
        let ([ax, ay], [bx, by]) = (a, b);
        !apart(x, ax, bx) && !apart(y, ay, by)
    }

    /// Least distance in X and Y between the zone as drawn and the straight line from `a` to `b`, mm; 0 inside.
    #[must_use]
    pub fn clearance_to(&self, a: [f64; 2], b: [f64; 2]) -> f64 {
        match self.shape {
            ZoneShape::Box { x, y } => box_distance((x.0.0, x.1.0), (y.0.0, y.1.0), a, b),
            ZoneShape::Cylinder { at, diameter } => (from_segment([at.0.0, at.1.0], a, b) - diameter.0 / 2.0).max(0.0),
        }
    }
}

/// Distance of a rectangle from a line segment; 0 when they touch.
fn box_distance((x0, x1): (f64, f64), (y0, y1): (f64, f64), a: [f64; 2], b: [f64; 2]) -> f64 {
    if crosses_box((x0, x1), (y0, y1), a, b) {
        return 0.0;
    }
    let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]].map(|corner| from_segment(corner, a, b));
    let ends = [a, b].map(|[x, y]| libm::hypot((x0 - x).max(x - x1).max(0.0), (y0 - y).max(y - y1).max(0.0)));
    corners.into_iter().chain(ends).fold(f64::INFINITY, f64::min)
}

/// Whether a segment enters a rectangle, by clipping it against the two slabs.
fn crosses_box(x: (f64, f64), y: (f64, f64), [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> bool {
    let mut from = 0.0_f64;
    let mut to = 1.0_f64;
    for ((least, most), start, step) in [(x, ax, bx - ax), (y, ay, by - ay)] {
        if step == 0.0 {
            if start < least || start > most {
                return false;
            }
            continue;
        }
        let (first, second) = ((least - start) / step, (most - start) / step);
        from = from.max(first.min(second));
        to = to.min(first.max(second));
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zone(shape: ZoneShape) -> Zone {
        let id = "C1".to_owned();
        Zone { id, kind: ZoneKind::Clamp, shape, z: (None, None), tolerance: Millimetres(0.0) }
    }

    #[test]
    fn distances_agree_with_closed_forms() {
        let clamp = zone(ZoneShape::Box {
            x: (Millimetres(40.0), Millimetres(60.0)),
            y: (Millimetres(-10.0), Millimetres(10.0)),
        });
        assert_eq!(clamp.clearance_to([0.0, 0.0], [100.0, 0.0]), 0.0);
        assert_eq!(clamp.clearance_to([0.0, 13.0], [100.0, 13.0]), 3.0);
        assert_eq!(clamp.clearance_to([63.0, 14.0], [63.0, 14.0]), 5.0);
        assert_eq!(clamp.clearance_to([50.0, 0.0], [50.0, 0.0]), 0.0);
        let at = (Millimetres(0.0), Millimetres(100.0));
        let post = zone(ZoneShape::Cylinder { at, diameter: Millimetres(30.0) });
        assert_eq!(post.clearance_to([-50.0, 80.0], [50.0, 80.0]), 5.0);
    }
}
