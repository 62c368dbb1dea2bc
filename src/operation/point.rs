//! The point of every tool of the trade: its cones from the tip out, its length, and how it meets the exit.

use crate::job::{Cone, Lip, Tool, ToolKind};
use crate::units::{Degrees, Millimetres};

/// What lies between the tip and the full diameter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Point {
    /// Diameter of a flat or pilot at the tip; 0 for a sharp point.
    pub start: Millimetres,
    /// Cones from the tip out; empty when no cone cuts.
    pub cones: Vec<Cone>,
    /// Length that no cone accounts for: step cylinder, reamer lead, brad tip, corner radius.
    pub plain: Millimetres,
}

impl Point {
    /// The point of a tool; `None` when the job leaves out the angle or length it needs.
    #[must_use]
    pub fn of(tool: &Tool) -> Option<Self> {
        let full = |angle: Degrees| Cone { to: tool.diameter, angle };
        let plain = |plain: Millimetres| Self { plain, ..Self::default() };
        let point = match &tool.kind {
            ToolKind::TwistDrill { point } | ToolKind::StraightFluteDrill { point } => {
                Self::cones(vec![full((*point)?)])
            }
            ToolKind::MultiAngleDrill { cones } | ToolKind::SpadeDrill { cones } => Self::cones(cones.clone()),
            ToolKind::StepDrill { pilot, point, step, step_angle } => {
                let cones = vec![Cone { to: *pilot, angle: (*point)? }, full(*step_angle)];
                Self { plain: *step, ..Self::cones(cones) }
            }
            ToolKind::DrillReamer { drill, point, lead } => {
                Self { plain: *lead, ..Self::cones(vec![Cone { to: *drill, angle: (*point)? }]) }
            }
            ToolKind::Reamer { lead } => plain((*lead)?),
            ToolKind::BradPointDrill { tip } => plain(*tip),
            ToolKind::Countersink { angle, tip } => Self { start: *tip, ..Self::cones(vec![full(*angle)]) },
            ToolKind::EndMill { corner, .. } => plain(*corner),
            ToolKind::BallMill => plain(tool.diameter / 2.0),
            ToolKind::CoreDrill { .. }
            | ToolKind::Router { .. }
            | ToolKind::CompressionRouter { .. }
            | ToolKind::SerratedRougher { .. } => Self::default(),
        };
        point.length().0.is_finite().then_some(point)
    }

    fn cones(cones: Vec<Cone>) -> Self {
        Self { cones, ..Self::default() }
    }

    /// Length from tip to full diameter: each cone adds (d2 - d1) / (2 tan(angle / 2)), plain geometry.
    #[must_use]
    pub fn length(&self) -> Millimetres {
        let mut length = self.plain.0;
        let mut from = self.start.0;
        for cone in &self.cones {
            length += (cone.to.0 - from) / (2.0 * libm::tan(cone.angle.0.to_radians() / 2.0));
            from = cone.to.0;
        }
        Millimetres(length)
    }
}

/// Length from the tip to full diameter; `None` when the job leaves out the angle it needs.
#[must_use]
pub fn point_length(tool: &Tool) -> Option<Millimetres> {
    Point::of(tool).map(|point| point.length())
}

/// The key of a tool's table that gives the length of its point, for a kind that can be listed without.
#[must_use]
pub fn point_key(kind: &ToolKind) -> &'static str {
    if matches!(kind, ToolKind::Reamer { .. }) { "lead" } else { "point" }
}

/// How a tool of this kind loads the last plies. A countersink never meets the exit and counts as flat.
#[must_use]
pub fn lip(kind: &ToolKind) -> Lip {
    match kind {
        ToolKind::TwistDrill { .. }
        | ToolKind::StraightFluteDrill { .. }
        | ToolKind::MultiAngleDrill { .. }
        | ToolKind::StepDrill { .. }
        | ToolKind::SpadeDrill { .. }
        | ToolKind::DrillReamer { .. } => Lip::Chisel,
        ToolKind::CoreDrill { .. } | ToolKind::BradPointDrill { .. } => Lip::Rim,
        ToolKind::Reamer { .. }
        | ToolKind::Countersink { .. }
        | ToolKind::EndMill { .. }
        | ToolKind::Router { .. }
        | ToolKind::CompressionRouter { .. }
        | ToolKind::SerratedRougher { .. }
        | ToolKind::BallMill => Lip::Flat,
    }
}
