//! What would open a window where none is: a backing, a pilot hole, another point, a sharper edge, each with its number.

use super::{Bounded, Drilling, NoWindow, Piece, fastest};
use crate::job::{Limit, Lip, Support};
use crate::operation::{Point, lip};
use crate::process::thrust::{LoadShape, law_thrust};
use crate::process::{DepthLimits, Zone, limits_over_depth};
use crate::units::{Degrees, Micrometres, Millimetres, MmPerRev, UnitSystem, trimmed};

/// One change of set-up that would open a window.
#[derive(Clone, Debug, PartialEq)]
pub enum Opening {
    /// A backing pressed against the exit face: then these feeds are right.
    Backing {
        /// Least feed then.
        least: Option<MmPerRev>,
        /// Most feed then.
        most: MmPerRev,
    },
    /// A pilot hole that takes at least this share of the thrust away at the least feed.
    Pilot {
        /// Share of the thrust, 0 to 1.
        share: f64,
    },
    /// A point whose sharpest cone is at least this wide, included angle: its chip is thick enough at the most feed.
    Point {
        /// Included angle.
        angle: Degrees,
    },
    /// An edge no rounder than this: its chip is thick enough at the most feed.
    SharperEdge {
        /// Edge radius.
        radius: Micrometres,
    },
    /// A point that cuts at its rim first, with delamination held to this factor: a ring load bears the least feed.
    RimFirst {
        /// Delamination factor.
        delamination: f64,
    },
    /// A wear factor of thrust no higher than this.
    LessWear {
        /// Thrust over that of a new tool.
        factor: f64,
    },
    /// Trials at lower feeds: the law was fitted from this feed on, and nobody has measured below.
    Trials {
        /// Least feed of the law.
        below: MmPerRev,
    },
    /// This many stages, for windows at different depths do not overlap.
    Stages(usize),
}

impl Opening {
    /// In words and the program's units.
    #[must_use]
    pub fn worded(&self, units: UnitSystem) -> String {
        match self {
            Self::Backing { least: Some(least), most } => {
                format!("back the exit face: then {} to {} is right", units.per_rev(*least), units.per_rev(*most))
            }
            Self::Backing { least: None, most } => {
                format!("back the exit face: then up to {} is right", units.per_rev(*most))
            }
            Self::Pilot { share } => {
                format!("drill a pilot hole that takes {} % of the thrust away", trimmed(share * 100.0, 0))
            }
            Self::Point { angle } => {
                format!("use a point with no cone sharper than {} deg included", trimmed(angle.0, 0))
            }
            Self::SharperEdge { radius } => format!("use an edge no rounder than {} um", trimmed(radius.0, 1)),
            Self::RimFirst { delamination } => format!(
                "use a point of no more thrust that cuts at its rim first, with a delamination factor of at most {} let pass",
                trimmed(*delamination, 2)
            ),
            Self::LessWear { factor } => {
                format!("change the tool while its thrust is at most {} times that of a new one", trimmed(*factor, 2))
            }
            Self::Trials { below } => {
                format!("measure thrust below {}, where the law was not fitted", units.per_rev(*below))
            }
            Self::Stages(stages) => format!("allow {stages} stages"),
        }
    }
}

/// What would open a window at `limits`, where `floor` lies above `ceiling`.
pub(super) fn of(
    drilling: &Drilling<'_>,
    limits: &DepthLimits,
    floor: &Limit<MmPerRev>,
    ceiling: &Limit<MmPerRev>,
) -> Vec<Opening> {
    let mut found = Vec::new();
    found.extend(backing(drilling, limits));
    found.extend(edge(drilling, floor, ceiling));
    found.extend(thrust(drilling, limits, floor, ceiling));
    found
}

/// Stages that windows which do not overlap need; as many as pieces always do.
pub(super) fn more_stages(limits: &[Bounded], pieces: &[Piece]) -> NoWindow {
    let needed = (1..=pieces.len()).find(|stages| fastest(pieces, *stages).is_some()).unwrap_or(pieces.len());
    let floors = limits.iter().filter_map(|piece| piece.limits.floor.as_ref());
    let highest = floors.reduce(|a, b| if b.value > a.value { b } else { a });
    let lowest = limits.iter().map(|piece| &piece.ceiling).reduce(|a, b| if b.value < a.value { b } else { a });
    let none = || Limit::new(MmPerRev(0.0), String::new());
    NoWindow {
        depth: limits.first().zip(limits.last()).map_or_else(Default::default, |(a, b)| (a.limits.from, b.limits.to)),
        floor: highest.cloned().unwrap_or_else(none),
        ceiling: lowest.cloned().unwrap_or_else(none),
        openings: vec![Opening::Stages(needed)],
    }
}

/// The window at the same depth with the exit backed.
fn backing(drilling: &Drilling<'_>, limits: &DepthLimits) -> Option<Opening> {
    if !drilling.laminate.exit_at_risk() || (limits.zone != Zone::Exit && limits.plate.is_none()) {
        return None;
    }
    let mut backed = drilling.laminate.clone();
    backed.support = Support::Backed;
    let middle = Millimetres(f64::midpoint(limits.from.0, limits.to.0));
    let pieces = drilling.clip(limits_over_depth(&backed, drilling.tool, drilling.pilot).ok()?);
    let shut = |piece: &DepthLimits| {
        piece.floor.as_ref().zip(piece.ceiling.as_ref()).is_some_and(|(floor, most)| floor.value > most.value)
    };
    // A backing that leaves another depth shut helps nobody.
    let piece = pieces.iter().find(|piece| piece.to > middle).filter(|_| !pieces.iter().any(shut))?;
    Some(Opening::Backing { least: piece.floor.as_ref().map(|floor| floor.value), most: piece.ceiling.as_ref()?.value })
}

/// Where the roundness of the edge sets the floor: a wider point, or a sharper edge, f = z r / sin(kappa).
fn edge(drilling: &Drilling<'_>, floor: &Limit<MmPerRev>, ceiling: &Limit<MmPerRev>) -> Vec<Opening> {
    let tool = drilling.tool;
    let (Some(radius), Some(edges), Some(point)) = (tool.edge_radius, tool.edges, Point::of(tool)) else {
        return Vec::new();
    };
    let rounded = crate::process::chip::drill_floor(radius, 1.0, edges, &point.cones);
    if rounded < floor.value {
        return Vec::new();
    }
    let mut found = Vec::new();
    let sine = radius.to_mm().0 * f64::from(edges) / ceiling.value.0;
    if sine < 1.0 && !point.cones.is_empty() {
        let angle = Degrees(libm::ceil(2.0 * libm::asin(sine).to_degrees()));
        found.push(Opening::Point { angle });
    }
    // Rounded down to what a maker could promise.
    let sharper = libm::floor(radius.0 * (ceiling.value / rounded) * 10.0) / 10.0;
    if sharper > 0.0 {
        found.push(Opening::SharperEdge { radius: Micrometres(sharper) });
    }
    found
}

/// Where the plate model sets the ceiling: less thrust at the floor, by a pilot hole or a fresher tool.
fn thrust(
    drilling: &Drilling<'_>,
    limits: &DepthLimits,
    floor: &Limit<MmPerRev>,
    ceiling: &Limit<MmPerRev>,
) -> Vec<Opening> {
    let (Some(step), Some(law)) = (&limits.plate, &drilling.tool.thrust) else { return Vec::new() };
    if step.ceiling != *ceiling {
        return Vec::new();
    }
    let wear = drilling.tool.wear_factor.unwrap_or(1.0);
    let mut found = Vec::new();
    if let Some(now) = law_thrust(law, floor.value, drilling.tool.diameter, wear) {
        let kept = step.allowed / now;
        // The pierced plate may bear a little less than the whole one.
        let pierced = kept * least_rim_factor(drilling);
        found.push(Opening::Pilot { share: libm::ceil((1.0 - pierced) * 100.0) / 100.0 });
        // A ring at share s of the delamination's radius bears 1 / (1 - s^2) times a point load.
        if kept < 1.0 && lip(&drilling.tool.kind) == Lip::Chisel {
            let delamination = libm::floor(100.0 / libm::sqrt(1.0 - kept)) / 100.0;
            found.push(Opening::RimFirst { delamination });
        }
        if wear * kept >= 1.0 {
            found.push(Opening::LessWear { factor: libm::floor(wear * kept * 100.0) / 100.0 });
        }
    }
    if step.below_law {
        found.push(Opening::Trials { below: MmPerRev(law.valid.0) });
    }
    found
}

/// Least that a plate with a hole of any size bears at the hole's rim, over what it bears whole.
fn least_rim_factor(drilling: &Drilling<'_>) -> f64 {
    let last = drilling.laminate.layers.last();
    let Some(poisson) = last.and_then(|last| last.limits.plate.as_ref()).map(|plate| plate.poisson) else { return 1.0 };
    let sizes = (1..100).map(|size| f64::from(size) / 100.0);
    sizes.map(|radius| LoadShape::Rim { radius, poisson }.factor()).fold(1.0, f64::min)
}
