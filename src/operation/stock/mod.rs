//! The raw material and what is left of it: how much of a tool is engaged anywhere in it.

mod ahead;
mod cells;
mod chain;
mod engagement;
mod front;
mod marks;
mod outline;
mod patch;
mod removed;
mod swept;
#[cfg(test)]
mod tests;
mod view;
mod wanted;
mod way;

pub(super) use engagement::Engaged;
pub(crate) use wanted::Wanted;

use crate::job::{Job, ToolKind};
use cells::Cells;
use chain::Chain;
use outline::{Outline, bounds, raw_rings};
use removed::Removed;
use swept::Swept;

/// Cell sides, mm: not smaller, for the room they take, and not larger, for the shapes they hold.
const SIDES: (f64, f64) = (1.0, 10.0);

/// The raw material and what cuts have taken from it.
#[derive(Debug)]
pub(super) struct Stock {
    cells: Cells,
    outline: Outline,
    removed: Removed,
    chain: Chain,
    /// Height of the entry face.
    top: f64,
    /// Height of the bottom face.
    floor: f64,
    /// Height of the bottom face in each zone.
    zone_floors: Vec<f64>,
    /// Shapes met that do not go down far enough, kept for their room.
    higher: Vec<Swept>,
}

impl Stock {
    /// The raw material of a job; `None` when its workpiece has no outline.
    pub fn of(job: &Job) -> Option<Self> {
        let workpiece = job.workpiece.as_ref()?;
        let rings = raw_rings(workpiece);
        let cells = Cells::over(bounds(&rings)?, side(job));
        let outline = Outline::new(&rings, &cells);
        let top = job.head.entry_z.0;
        let mut stock = Self {
            removed: Removed::outside(outline.lies()),
            outline,
            chain: Chain::default(),
            top,
            floor: top - job.laminate.as_ref().map_or(f64::INFINITY, |laminate| laminate.thickness().0),
            zone_floors: workpiece.zones.iter().map(|zone| top - zone.laminate.thickness().0).collect(),
            higher: Vec::new(),
            cells,
        };
        for (centre, diameter) in &workpiece.holes {
            stock.drill(*centre, diameter / 2.0, f64::NEG_INFINITY);
        }
        Some(stock)
    }

    /// Height of the bottom face, in a zone or outside all of them.
    pub fn floor(&self, zone: Option<usize>) -> f64 {
        zone.and_then(|zone| self.zone_floors.get(zone)).copied().unwrap_or(self.floor)
    }

    /// A hole has been made: all within `radius` is gone down to `z`.
    pub fn drill(&mut self, centre: [f64; 2], radius: f64, z: f64) {
        if centre.iter().all(|value| value.is_finite()) && radius.is_finite() && radius > 0.0 && !z.is_nan() {
            self.removed.take(&self.cells, Swept::new(centre, centre, radius, z));
        }
    }

    /// Whether a place lies within the raw material as it came.
    pub fn held(&self, place: [f64; 2]) -> bool {
        self.outline.holds(&self.cells, place)
    }
}

/// Side of a cell: the radius of the smallest tool that mills.
fn side(job: &Job) -> f64 {
    let mills = job.tools.values().filter(|tool| !tool.kind.makes_holes() && !matches!(tool.kind, ToolKind::BallMill));
    let (least, most) = SIDES;
    mills.map(|tool| tool.diameter.0 / 2.0).fold(most, f64::min).clamp(least, most)
}
