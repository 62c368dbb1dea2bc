//! The feeds a pass may have: the highest floor and the lowest ceiling, each with its origin.

use super::chip::drill_floor;
use super::zone::{FeedZone, Zone};
use crate::job::{Layer, Limit, Tool, TrimLimits};
use crate::operation::Point;
use crate::units::{MmPerRev, MmPerTooth};

/// Limits on the feed for each turn of one pass, by what sets them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Window {
    /// Least, as the laminate states it.
    pub stated_floor: Option<Limit<MmPerRev>>,
    /// Least by the roundness of the edge.
    pub edge_floor: Option<Limit<MmPerRev>>,
    /// Most anywhere in the layer.
    pub layer_ceiling: Option<Limit<MmPerRev>>,
    /// Most near the entry or exit face.
    pub zone_ceiling: Option<Limit<MmPerRev>>,
    /// Most by the plate model, at the exit.
    pub thrust_ceiling: Option<Limit<MmPerRev>>,
}

impl Window {
    /// Least: the higher of the two floors, for a worn edge may need more than the laminate states.
    #[must_use]
    pub fn floor(&self) -> Option<&Limit<MmPerRev>> {
        [&self.stated_floor, &self.edge_floor].into_iter().flatten().reduce(higher)
    }

    /// Most: the lowest of all ceilings.
    #[must_use]
    pub fn ceiling(&self) -> Option<&Limit<MmPerRev>> {
        [&self.layer_ceiling, &self.zone_ceiling, &self.thrust_ceiling].into_iter().flatten().reduce(lower)
    }
}

/// What the limits of a pass depend on besides its layer.
pub(super) struct Terms<'a> {
    pub tool: &'a Tool,
    pub point: &'a Point,
    /// Whether the tool circles: limits for each turn mean axial feed and then say nothing, and the wall is trimmed.
    pub orbit: bool,
    /// What the laminate states for trimming.
    pub trim: &'a TrimLimits,
    pub entry: Option<&'a FeedZone>,
    pub exit: Option<&'a FeedZone>,
}

impl Terms<'_> {
    /// The window in one layer and zone, with what the plate model allows there. A core has none: no fibre rule speaks of it.
    pub fn window(&self, layer: &Layer, zone: Zone, thrust: Option<Limit<MmPerRev>>) -> Window {
        if layer.material.class.is_core() {
            return Window::default();
        }
        let near = match zone {
            Zone::Entry => self.entry,
            Zone::Exit => self.exit,
            Zone::Body => None,
        };
        Window {
            stated_floor: self.stated_floor(layer, zone),
            edge_floor: self.edge_floor(layer),
            layer_ceiling: self.layer_ceiling(layer),
            zone_ceiling: near.filter(|_| !self.orbit).and_then(|zone| zone.feed.clone()),
            thrust_ceiling: thrust,
        }
    }

    fn stated_floor(&self, layer: &Layer, zone: Zone) -> Option<Limit<MmPerRev>> {
        let limits = &layer.limits;
        let slowed = limits.exit_tooth_floor.as_ref().filter(|_| zone == Zone::Exit);
        let trimmed = self.trim.tooth_floor.as_ref().filter(|_| self.orbit);
        let tooth = trimmed.or(slowed).or(limits.tooth_floor.as_ref()).and_then(|limit| self.per_rev(limit));
        // The floor for each turn is meant for the body where the exit has one of its own.
        let rev = limits.rev_floor.clone().filter(|_| slowed.is_none() && !self.orbit);
        [tooth, rev].into_iter().flatten().reduce(|a, b| if b.value > a.value { b } else { a })
    }

    fn layer_ceiling(&self, layer: &Layer) -> Option<Limit<MmPerRev>> {
        let trimmed = self.trim.tooth_ceiling.as_ref().filter(|_| self.orbit);
        let tooth = trimmed.or(layer.limits.tooth_ceiling.as_ref()).and_then(|limit| self.per_rev(limit));
        let rev = layer.limits.rev_ceiling.clone().filter(|_| !self.orbit);
        [rev, tooth].into_iter().flatten().reduce(|a, b| if b.value < a.value { b } else { a })
    }

    /// Floor at which the thinnest chip is as thick as the edge is round, in fibre laminates.
    fn edge_floor(&self, layer: &Layer) -> Option<Limit<MmPerRev>> {
        let (radius, edges) = (self.tool.edge_radius?, self.tool.edges?);
        if !layer.material.class.is_laminate() || self.orbit {
            return None;
        }
        let origin = format!("edge radius {radius} of tool {}: {EDGE_SOURCE}", self.tool.number);
        Some(Limit::new(drill_floor(radius, 1.0, edges, &self.point.cones), origin))
    }

    fn per_rev(&self, limit: &Limit<MmPerTooth>) -> Option<Limit<MmPerRev>> {
        Some(Limit::new(limit.value.per_rev(self.tool.edges?), limit.origin.clone()))
    }
}

/// Why a chip should not be thinner than the edge is round.
pub const EDGE_SOURCE: &str = "force for the area cut rises below a chip as thick as the edge radius \
    (Size effects in micro drilling of carbon fiber reinforced plastic composite)";

fn higher<'a>(a: &'a Limit<MmPerRev>, b: &'a Limit<MmPerRev>) -> &'a Limit<MmPerRev> {
    if b.value > a.value { b } else { a }
}

fn lower<'a>(a: &'a Limit<MmPerRev>, b: &'a Limit<MmPerRev>) -> &'a Limit<MmPerRev> {
    if b.value < a.value { b } else { a }
}
