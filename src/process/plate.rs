//! The ceiling of the plate model over depth: the fewer plies are left whole under the tip, the less feed they bear.

use super::depth::HAIR;
use super::thrust::{LoadShape, allowed_thrust, feed_of_thrust};
use crate::job::{Laminate, Limit, PlateData, ThrustLaw, Tool};
use crate::units::{Millimetres, MmPerRev, Newtons, trimmed};

/// The plate model for one tool and laminate. The plies are those of the thinnest part, whose exit comes first.
#[derive(Clone, Debug)]
pub struct PlateCeiling<'a> {
    plate: &'a PlateData,
    law: &'a ThrustLaw,
    tool: &'a Tool,
    shape: LoadShape,
    /// Interfaces between plies of the fibre layers at the exit, as depths of the thinnest part, deepest first. The
    /// first is the exit face.
    interfaces: Vec<f64>,
}

/// What the plate model allows at one depth.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateStep {
    /// Plies whole under the tip; at least one, which holds until the full diameter is out.
    pub plies: usize,
    /// Their thickness.
    pub uncut: Millimetres,
    /// Thrust they bear, safety factor and load shape included.
    pub allowed: Newtons,
    /// Most feed by the tool's thrust law, never above the feeds the law was fitted on.
    pub ceiling: Limit<MmPerRev>,
    /// Whether the ceiling lies below the feeds the law was fitted on, where nobody has measured.
    pub below_law: bool,
}

impl<'a> PlateCeiling<'a> {
    /// The model; `None` where nothing can be pushed out, without plate data, or without a law that rises with feed.
    #[must_use]
    pub fn of(laminate: &'a Laminate, tool: &'a Tool) -> Option<Self> {
        let last = laminate.layers.last().filter(|_| laminate.exit_at_risk() && tool.kind.drills())?;
        let (plate, law) = (last.limits.plate.as_ref()?, tool.thrust.as_ref()?);
        let shape = LoadShape::of(tool, plate);
        (law.m > 0.0).then(|| Self { plate, law, tool, shape, interfaces: interfaces(laminate) })
    }

    /// Depths at which one ply less is left whole.
    pub fn breaks(&self) -> impl Iterator<Item = f64> {
        self.interfaces.iter().skip(1).copied()
    }

    /// What is allowed while the tip is at `depth` mm; `None` above the fibre layers at the exit.
    #[must_use]
    pub fn at(&self, depth: f64) -> Option<PlateStep> {
        let (exit, top) = (*self.interfaces.first()?, *self.interfaces.last()?);
        if depth < top {
            return None;
        }
        // Interfaces below the tip; the exit face is one of them and counts no ply.
        let below = self.interfaces.iter().take_while(|interface| **interface > depth).count();
        let plies = below.saturating_sub(1).max(1);
        let uncut = Millimetres(exit - self.interfaces.get(plies).copied().unwrap_or(top));
        let allowed = allowed_thrust(self.plate, uncut) * self.shape.factor();
        let wear = self.tool.wear_factor.unwrap_or(1.0);
        let feed = feed_of_thrust(self.law, allowed, self.tool.diameter, wear);
        let (least, most) = self.law.valid;
        Some(PlateStep {
            plies,
            uncut,
            allowed,
            ceiling: Limit::new(MmPerRev(feed.0.min(most)), self.origin(plies, feed.0, wear)),
            below_law: feed.0 < least,
        })
    }

    /// What is allowed for a feed that ends with the tip at `depth`: the fewest plies left are those above it.
    #[must_use]
    pub fn until(&self, depth: Millimetres) -> Option<PlateStep> {
        self.at(depth.0 - HAIR)
    }

    fn origin(&self, plies: usize, feed: f64, wear: f64) -> String {
        let ending = if plies == 1 { "y" } else { "ies" };
        let (least, most) = self.law.valid;
        let range = match feed {
            feed if feed > most => ", which ends at this feed",
            feed if feed < least => ", which was fitted on higher feeds only",
            _ => "",
        };
        let worn = if wear > 1.0 { format!(" times a wear factor of {}", trimmed(wear, 2)) } else { String::new() };
        let shape = match self.shape {
            LoadShape::Point => String::new(),
            shape => format!(", {} times the load of a point", trimmed(shape.factor(), 2)),
        };
        format!(
            "plate model with {plies} pl{ending} left{shape}, plate data: {}, thrust law: {}{range}{worn}",
            self.plate.origin, self.law.origin
        )
    }
}

/// From the exit face of the thinnest part up through the fibre layers next to it, ply by ply.
fn interfaces(laminate: &Laminate) -> Vec<f64> {
    let exit = laminate.span_of(laminate.layers.len()).0.0;
    let mut depth = exit;
    let mut found = vec![exit];
    for layer in laminate.layers.iter().rev().take_while(|layer| layer.material.class.is_laminate()) {
        for _ in 0..layer.plies {
            depth -= layer.ply.0;
            found.push(depth);
        }
    }
    found
}
