//! What it takes to go from one hole to the next by rapid, over whatever stands between.

use super::stops::Stop;
use crate::job::{Job, Tool, Zone, ZoneKind};
use crate::motion::Limits;
use crate::operation::rapid_legs;

/// Air left over a clamp that is hopped over, mm: a house value.
pub(super) const CLEAR: f64 = 5.0;
/// Distances measured in two ways agree to this, mm.
const HAIR: f64 = 1e-3;
/// Seconds that stand for a way that no height clears.
const BLOCKED: f64 = 1000.0;

/// Seconds for each mm that tell two ways apart which take the same time: the shorter one reads better.
const TIE: f64 = 1e-6;

/// A stop as travel sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    /// Where, as the job counts.
    pub at: [f64; 2],
    /// Height the rapid out of it begins at.
    pub deep: f64,
    /// Height it is left at when nothing stands in the way, and begun at.
    pub low: f64,
    /// Highest it can be left at; `None` for any height.
    pub high: Option<f64>,
}

/// How fast the machine goes and what it must not run into.
pub(in crate::tune) struct Travel<'a> {
    job: &'a Job,
    limits: Option<Limits>,
    zones: Vec<&'a Zone>,
    radius: f64,
    /// Radius of the holder and how far above the tip it begins.
    holder: Option<(f64, f64)>,
}

impl<'a> Travel<'a> {
    /// Travel with one tool.
    ///
    /// # Errors
    /// With the reason, when the machine's rapid rates are not known.
    pub fn new(job: &'a Job, tool: u32) -> Result<Self, String> {
        if job.machine.rapid.iter().any(|rate| rate.is_none_or(|rate| rate.0 <= 0.0)) {
            return Err("`machine.rapid` is not given".to_owned());
        }
        let tool = job.tool(tool);
        let zones = job.fixture.zones.iter().filter(|zone| zone.kind != ZoneKind::Coupon).collect();
        let radius = tool.map_or(0.0, |tool| tool.diameter.0 / 2.0);
        Ok(Self { job, limits: Limits::of(&job.machine), zones, radius, holder: tool.and_then(holder) })
    }

    /// Whether the job says what stands around the part, so that a tool may travel lower than it did.
    pub fn knows_fixture(&self) -> bool {
        self.job.fixture.listed
    }

    /// The first zone that tool or holder come nearer to than `room` (mm) on a straight rapid between two points.
    pub fn near(&self, from: [f64; 3], to: [f64; 3], room: f64) -> Option<&'a Zone> {
        let (points, count) = rapid_legs(&self.job.machine, from, to);
        let points = points.get(..count).unwrap_or_default();
        let legs = || points.iter().zip(points.iter().skip(1));
        let meets = |zone: &Zone, (radius, above): (f64, f64)| {
            let top = zone.z.1.map_or(f64::INFINITY, |top| top.0 + zone.tolerance.0 + room);
            let reach = radius + zone.tolerance.0 + room;
            legs().any(|([ax, ay, az], [bx, by, bz])| {
                az.min(*bz) + above < top && zone.is_within([*ax, *ay], [*bx, *by], reach)
            })
        };
        let parts = [Some((self.radius, 0.0)), self.holder];
        self.zones.iter().copied().find(|zone| parts.into_iter().flatten().any(|part| meets(zone, part)))
    }

    /// Seconds of a rapid that goes so far along each axis, stop to stop.
    fn seconds(&self, way: [f64; 3]) -> f64 {
        if let Some(limits) = &self.limits {
            return limits.rapid_seconds(way).unwrap_or(0.0);
        }
        let rates = self.job.machine.rapid.iter().zip(way);
        rates.map(|(rate, way)| rate.map_or(0.0, |rate| 60.0 * way.abs() / rate.0)).fold(0.0, f64::max)
    }

    /// Seconds that it takes longer to rise out of a hole to a height than to where it was begun.
    fn rise(&self, [deep, low, height]: [f64; 3]) -> f64 {
        self.seconds([0.0, 0.0, height - deep]) - self.seconds([0.0, 0.0, low - deep])
    }

    /// Seconds below which no way between two spots stays: its longest axis at full rate.
    pub(super) fn least(&self, a: &Spot, b: &Spot) -> f64 {
        let axes = self.job.machine.rapid.iter().zip(a.at.iter().zip(&b.at));
        axes.map(|(rate, (a, b))| rate.map_or(0.0, |rate| 60.0 * (b - a).abs() / rate.0)).fold(0.0, f64::max)
    }

    /// Seconds from one spot to another.
    pub(super) fn cost(&self, a: &Spot, b: &Spot) -> f64 {
        let ([ax, ay], [bx, by]) = (a.at, b.at);
        let aside = self.seconds([bx - ax, by - ay, 0.0]) + TIE * libm::hypot(bx - ax, by - ay);
        match self.hop(a, b) {
            Ok(None) if b.low > a.low => aside + self.rise([a.deep, a.low, b.low]),
            Ok(None) => aside + self.seconds([0.0, 0.0, b.low - a.low]),
            Ok(Some(height)) => aside + self.rise([a.deep, a.low, height]) + self.seconds([0.0, 0.0, height - b.low]),
            Err(()) => aside + BLOCKED,
        }
    }

    /// The same, in the direction that takes less: a cycle may clear a zone that the one it comes from cannot.
    pub(super) fn either_way(&self, a: &Spot, b: &Spot) -> f64 {
        let there = self.cost(a, b);
        if self.zones.is_empty() || (a.high, a.deep) == (b.high, b.deep) { there } else { there.min(self.cost(b, a)) }
    }

    /// Seconds between spots that are left at these heights, in the order they stand in.
    pub(super) fn between(&self, spots: &[Spot], leaves: &[f64]) -> f64 {
        let pairs = spots.iter().zip(spots.iter().skip(1)).zip(leaves);
        let legs = pairs.map(|((a, b), height)| {
            let ([ax, ay], [bx, by]) = (a.at, b.at);
            self.seconds([bx - ax, by - ay, 0.0])
                + self.rise([a.deep, a.low, *height])
                + self.seconds([0.0, 0.0, height - b.low])
        });
        legs.sum()
    }

    /// Height to rise to on the way, where something stands in it; `Err` when the tool cannot rise high enough.
    pub(super) fn hop(&self, a: &Spot, b: &Spot) -> Result<Option<f64>, ()> {
        if self.zones.is_empty() {
            return Ok(None);
        }
        let low = a.low.min(b.low);
        let tops = self.zones.iter().filter_map(|zone| self.in_the_way(zone, a.at, b.at, low));
        let Some(top) = tops.reduce(f64::max) else { return Ok(None) };
        match a.high {
            // No height clears what has no top.
            None if top.is_infinite() => Err(()),
            None => Ok(Some((top + CLEAR).max(a.low))),
            Some(high) if high >= top => Ok(Some(high)),
            Some(_) => Err(()),
        }
    }

    /// How high a zone stands in a way at height `low`, its tolerance counted.
    fn in_the_way(&self, zone: &Zone, [ax, ay]: [f64; 2], [bx, by]: [f64; 2], low: f64) -> Option<f64> {
        let top = zone.z.1.map_or(f64::INFINITY, |top| top.0 + zone.tolerance.0);
        let (from, to) = ([ax, ay, low], [bx, by, low]);
        // At one height a tool meets a zone where it meets its outline.
        let hits = |radius: f64| {
            let reach = radius + zone.tolerance.0 + HAIR;
            if !zone.is_beside([ax, ay], [bx, by], reach) {
                return false;
            }
            let (points, count) = rapid_legs(&self.job.machine, from, to);
            let points = points.get(..count).unwrap_or_default();
            let mut legs = points.iter().zip(points.iter().skip(1));
            legs.any(|([ax, ay, _], [bx, by, _])| zone.is_within([*ax, *ay], [*bx, *by], reach))
        };
        if low < top && hits(self.radius) {
            return Some(top);
        }
        let (radius, above) = self.holder?;
        (low + above < top && hits(radius)).then_some(top - above).map(|height| height.max(low))
    }
}

/// Greatest radius of a tool's holder, and how far above the tip it begins.
fn holder(tool: &Tool) -> Option<(f64, f64)> {
    let widest = tool.holder.iter().map(|part| part.lower.0.max(part.upper.0)).fold(0.0, f64::max);
    Some((widest / 2.0, tool.stick_out?.0)).filter(|_| widest > 0.0)
}

impl Spot {
    /// A stop, left as low as it is begun where `lower` says so, else as low as its row goes.
    pub fn of(stop: &Stop, row_low: f64, lower: bool) -> Self {
        let low = if lower { stop.low } else { row_low.max(stop.low) };
        let high = stop.call.map(|call| stop.initial.unwrap_or(call.clear).max(call.r));
        // A cycle leaves the tool at R or at its initial level, nowhere else.
        let low = match high {
            Some(high) if low > stop.low + 1e-6 => high,
            _ => low,
        };
        Self { at: stop.place, deep: stop.deep.min(stop.low), low, high }
    }
}
