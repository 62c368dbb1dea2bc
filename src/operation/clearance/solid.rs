//! What stands still: clamps, posts, keep-outs and coupons as convex solids.

use super::TALL;
use crate::job::{Zone, ZoneKind, ZoneShape};
use parry3d_f64::math::Vector;
use parry3d_f64::shape::SupportMap;

/// One zone of the fixture with an end above and below.
#[derive(Clone, Copy)]
pub(super) struct Solid<'a> {
    /// The zone as the job draws it.
    pub zone: &'a Zone,
    /// Its index in the fixture.
    pub index: usize,
    /// Least corner of its bounding box, mm.
    pub least: [f64; 3],
    /// Most corner of its bounding box, mm.
    pub most: [f64; 3],
}

impl<'a> Solid<'a> {
    /// The solid of a zone; a coupon ends at the entry face, above which nothing is cut. `None` for a shape with no
    /// place or no size.
    pub fn of(zone: &'a Zone, index: usize, entry: f64) -> Option<Self> {
        let ceiling = if zone.kind == ZoneKind::Coupon { entry } else { TALL };
        let bottom = zone.z.0.map_or(-TALL, |z| z.0);
        let top = zone.z.1.map_or(ceiling, |z| z.0).min(ceiling);
        let ([x0, y0], [x1, y1]) = match zone.shape {
            ZoneShape::Box { x, y } => ([x.0.0, y.0.0], [x.1.0, y.1.0]),
            ZoneShape::Cylinder { at: (x, y), diameter } => {
                let radius = diameter.0 / 2.0;
                ([x.0 - radius, y.0 - radius], [x.0 + radius, y.0 + radius])
            }
        };
        let solid = Self { zone, index, least: [x0, y0, bottom], most: [x1, y1, top] };
        let sized = solid.least.iter().zip(solid.most).all(|(least, most)| *least <= most && most - least < 4.0 * TALL);
        sized.then_some(solid)
    }

    /// Middle of its bounding box, mm.
    pub fn middle(&self) -> Vector {
        let ([x0, y0, z0], [x1, y1, z1]) = (self.least, self.most);
        Vector::new((x0 + x1) / 2.0, (y0 + y1) / 2.0, (z0 + z1) / 2.0)
    }
}

impl SupportMap for Solid<'_> {
    fn local_support_point(&self, dir: Vector) -> Vector {
        let ([x0, y0, z0], [x1, y1, z1]) = (self.least, self.most);
        let z = if dir.z > 0.0 { z1 } else { z0 };
        match self.zone.shape {
            ZoneShape::Box { .. } => {
                Vector::new(if dir.x > 0.0 { x1 } else { x0 }, if dir.y > 0.0 { y1 } else { y0 }, z)
            }
            ZoneShape::Cylinder { .. } => {
                let middle = self.middle();
                super::gap::rim(middle.x, middle.y, (x1 - x0) / 2.0, z, dir)
            }
        }
    }
}
