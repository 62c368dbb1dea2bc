//! The tool and its holder as a stack of upright cylinders and cones, by height above the tip.

use super::{BodyPart, TALL};
use crate::job::Tool;
use crate::operation::Point;

/// Radius an unknown holder is taken to have where it is asked whether it could matter, mm: a house value that covers
/// common collet and shrink-fit holders.
pub(super) const ASSUMED_RADIUS: f64 = 40.0;

/// One cylinder or cone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frustum {
    /// What it belongs to; `None` for a holder nobody has described.
    pub part: Option<BodyPart>,
    /// Heights of its lower and upper end above the tip, mm.
    pub height: (f64, f64),
    /// Radii at its lower and upper end, mm.
    pub radius: (f64, f64),
}

impl Frustum {
    /// Largest radius, mm.
    pub fn widest(&self) -> f64 {
        self.radius.0.max(self.radius.1)
    }
}

/// Everything of one tool.
#[derive(Clone, Debug, Default)]
pub(super) struct Body {
    /// From the tip up.
    pub parts: Vec<Frustum>,
    /// Largest radius of all, mm.
    pub widest: f64,
    /// Name of the tool's key that would describe the holder, when it is missing.
    pub lacks: Option<&'static str>,
}

impl Body {
    /// The body of a tool. What stands above the last part described is at least as wide as that, so it is drawn on
    /// upwards; a shank counts as wide as the cutting diameter.
    pub fn of(tool: &Tool) -> Self {
        let mut body = Self::default();
        let radius = tool.diameter.0 / 2.0;
        let shoulder = body.point(tool);
        let Some(stick_out) = tool.stick_out.map(|length| length.0) else {
            body.cylinder(Some(BodyPart::Tool), (shoulder, TALL), radius);
            let flutes = tool.flute_length.map_or(shoulder, |length| length.0);
            return body.assume(flutes, "stick_out");
        };
        body.cylinder(Some(BodyPart::Tool), (shoulder, stick_out), radius);
        let mut height = stick_out;
        for holder in &tool.holder {
            let (low, high) = (height, height + holder.length.0);
            let radius = (holder.lower.0 / 2.0, holder.upper.0 / 2.0);
            body.add(Frustum { part: Some(BodyPart::Holder), height: (low, high), radius });
            height = high;
        }
        match tool.holder.last() {
            None => body.assume(stick_out, "holder"),
            Some(last) => {
                body.cylinder(Some(BodyPart::Holder), (height, TALL), last.upper.0 / 2.0);
                body
            }
        }
    }

    /// Adds the cones of the point; returns the height where the full diameter begins. A point whose cones do not
    /// follow each other at once counts as full from the tip.
    fn point(&mut self, tool: &Tool) -> f64 {
        let Some(point) = Point::of(tool).filter(|point| point.plain.0 == 0.0) else { return 0.0 };
        let (mut height, mut from) = (0.0, point.start.0 / 2.0);
        for cone in &point.cones {
            let to = cone.to.0 / 2.0;
            let top = height + (to - from) / libm::tan(cone.angle.0.to_radians() / 2.0);
            self.add(Frustum { part: Some(BodyPart::Tool), height: (height, top), radius: (from, to) });
            (height, from) = (top, to);
        }
        height
    }

    fn cylinder(&mut self, part: Option<BodyPart>, height: (f64, f64), radius: f64) {
        self.add(Frustum { part, height, radius: (radius, radius) });
    }

    fn assume(mut self, from: f64, lacks: &'static str) -> Self {
        self.cylinder(None, (from, TALL), ASSUMED_RADIUS);
        self.lacks = Some(lacks);
        self
    }

    /// Adds a part; one without height or not a number is left out.
    fn add(&mut self, frustum: Frustum) {
        let Frustum { height: (low, high), radius: (lower, upper), .. } = frustum;
        if low < high && high.is_finite() && lower >= 0.0 && upper >= 0.0 && (lower + upper).is_finite() {
            self.widest = self.widest.max(frustum.widest());
            self.parts.push(frustum);
        }
    }

    /// Takes the assumed holder away, once it has been asked for.
    pub fn forget_assumed(&mut self) {
        self.lacks = None;
        self.parts.retain(|frustum| frustum.part.is_some());
        self.widest = self.parts.iter().map(Frustum::widest).fold(0.0, f64::max);
    }
}
