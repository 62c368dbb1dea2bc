//! How near tool and holder come to what stands around the part, over every move of a run.

mod body;
mod gap;
mod legs;
mod sink;
mod solid;
#[cfg(test)]
mod tests;
mod travel;
mod guard;

pub(super) use guard::Guard;
pub use legs::{Legs, rapid_legs};
pub use sink::{Sink, holder_in_hole};
pub use travel::Travel;

use crate::job::{Job, Tool, Zone};
use crate::motion::BlockRef;

/// Where a zone or holder without an end stops, mm: farther than any machine reaches.
const TALL: f64 = 10_000.0;
/// Clearances beyond this are not told, mm: a house value.
pub const HORIZON: f64 = 100.0;

/// What a run leaves behind about clearance: small records, all in program coordinates.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Clearances {
    /// The least clearance of each tool from clamps, posts and keep-outs, by tool number; none beyond `HORIZON`.
    pub least: Vec<Clearance>,
    /// Where a tool runs into something, one for each tool, part and obstacle.
    pub hits: Vec<Hit>,
    /// What kept a move from being judged where it mattered, each said once.
    pub gaps: Vec<ClearanceGap>,
}

/// How near one part of a tool comes to one obstacle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    /// Tool number.
    pub tool: u32,
    /// Clearance with the obstacle's position tolerance taken off, mm; below zero the tool can hit it.
    pub gap: f64,
    /// Axis the gap lies along most: X 0, Y 1, Z 2.
    pub axis: usize,
    /// Part of the tool.
    pub part: BodyPart,
    /// What it comes near.
    pub obstacle: Obstacle,
    /// Block of the move.
    pub block: BlockRef,
    /// Tip at the start of the move or of the leg of it, program mm.
    pub from: [f64; 3],
    /// Tip at the end of the move or of the leg of it, program mm.
    pub at: [f64; 3],
}

impl Clearance {
    /// Letter of the axis the gap lies along most.
    #[must_use]
    pub fn axis_letter(&self) -> &'static str {
        ["X", "Y", "Z"].get(self.axis).copied().unwrap_or("")
    }
}

/// A tool's part that runs into an obstacle, or comes nearer than the obstacle's position is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// The worst of it.
    pub worst: Clearance,
    /// Whether the worst move is a rapid.
    pub rapid: bool,
    /// Blocks in which the part comes into the obstacle, in order; none for holes, which are told hole by hole.
    pub places: Vec<BlockRef>,
}

/// Part of the tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyPart {
    /// Cutting part and shank, as far as it stands out of the holder.
    Tool,
    /// Holder.
    Holder,
}

impl BodyPart {
    /// What messages call it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Tool => "tool",
            Self::Holder => "holder",
        }
    }
}

/// Something a tool must keep clear of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// A zone of the fixture, by its index.
    Zone(usize),
    /// The table.
    Table,
    /// The far side of the backing.
    Backing,
    /// The part itself, from its entry face down.
    Part,
}

/// Why the clearance of a move near a zone could not be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClearanceGap {
    /// The tool's `stick_out` or `holder` is not given.
    Holder {
        /// Tool number.
        tool: u32,
        /// The missing key.
        key: &'static str,
    },
    /// The tool goes so deep into the part that its holder may too, and `stick_out` or `holder` is not given.
    Depth {
        /// Tool number.
        tool: u32,
        /// The missing key.
        key: &'static str,
    },
    /// The straight line is clear, but a rapid that moves axis by axis would not be; the job does not say how rapids run.
    RapidStyle {
        /// Tool number.
        tool: u32,
        /// Index of the zone.
        zone: usize,
    },
    /// A feed move whose place is not known: no length offset, unknown position, or a tilted head.
    Place {
        /// Tool number.
        tool: u32,
    },
}

impl ClearanceGap {
    /// The tool it is about.
    #[must_use]
    pub fn tool(self) -> u32 {
        match self {
            Self::Holder { tool, .. }
            | Self::Depth { tool, .. }
            | Self::RapidStyle { tool, .. }
            | Self::Place { tool } => tool,
        }
    }
}

/// Whether an upright cylinder of `radius` mm that stands on the line from `from` to `to` comes nearer to a zone than its
/// position is known.
#[must_use]
pub fn sweeps_into(zone: &Zone, radius: f64, from: [f64; 3], to: [f64; 3]) -> bool {
    let part = body::Frustum { part: None, height: (0.0, TALL), radius: (radius, radius) };
    let Some(solid) = solid::Solid::of(zone, 0, TALL) else { return false };
    let sweep = gap::Sweep { part: &part, from, to };
    gap::Gauge::new().measure(&sweep, &solid, 0.0, f64::INFINITY).value < zone.tolerance.0
}

/// What a clearance would be with `other` in the spindle instead of `tool`, on the same way past the same obstacle, mm.
/// `None` where that part of it is not described, or where the ways may differ with the diameters.
#[must_use]
pub fn gap_with(found: &Clearance, tool: &Tool, other: &Tool, job: &Job) -> Option<f64> {
    if tool.diameter != other.diameter {
        return None;
    }
    let zone = match found.obstacle {
        Obstacle::Zone(index) => job.fixture.zones.get(index)?,
        Obstacle::Part => return Some(found.gap + (other.stick_out? - tool.stick_out?).0),
        Obstacle::Table | Obstacle::Backing => return Some(found.gap),
    };
    let solid = solid::Solid::of(zone, 0, job.head.entry_z.0)?;
    let ([x, y, _], [to_x, to_y, _]) = (found.from, found.at);
    let aside = zone.clearance_to([x, y], [to_x, to_y]);
    let mut gauge = gap::Gauge::new();
    let body = body::Body::of(other);
    let parts = body.parts.iter().filter(|frustum| frustum.part == Some(found.part));
    let gaps = parts.map(|part| {
        let sweep = gap::Sweep { part, from: found.from, to: found.at };
        gauge.measure(&sweep, &solid, sweep.at_least(&solid, aside), 0.0).value
    });
    gaps.reduce(f64::min).map(|gap| gap - zone.tolerance.0)
}
