//! What a cut's stretches come to: chip after radial thinning, feed at the wall, ramp, depth against the tool.

use super::chip::{milled_chip, milled_chip_mean};
use super::compression::{crossing, exit_faces, overhang};
use super::speed::surface_speed;
use super::wall::arc_wall_factor;
use super::window::EDGE_SOURCE;
use crate::job::{Job, Laminate, Limit, Tool};
use crate::operation::{Cut, Path, Stretch};
use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres, MmPerMin, MmPerTooth, RevPerMin};

/// What one stretch comes to. A `None` is a reading that lacked data.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutReading {
    /// Commanded feed at the finished wall.
    pub wall_feed: Option<MmPerMin>,
    /// Wall feed over centre feed: 1 on a line, more inside an arc, less outside; 1 too where an arc leaves no wall.
    pub wall_factor: f64,
    /// Commanded feed for each edge at the wall.
    pub per_tooth: Option<MmPerTooth>,
    /// Feed for each edge at the wall, with the feed really reached at the slowest move.
    pub reached_per_tooth: Option<MmPerTooth>,
    /// Share of the feed for each edge that the thickest chip is; 1 from half engagement on, `None` without a workpiece.
    pub thinning: Option<f64>,
    /// Thickest chip by radial thinning.
    pub chip_max: Option<Micrometres>,
    /// Mean chip over the engaged arc.
    pub chip_mean: Option<Micrometres>,
    /// Surface speed.
    pub surface_speed: Option<MetresPerMin>,
    /// Ramp angle, downwards.
    pub ramp: Degrees,
    /// Depth of cut along the axis, from the top of the material to the tip or the bottom face.
    pub axial: Millimetres,
    /// Flutes the cut needs from the tip up, to the top of the material.
    pub flutes: Millimetres,
    /// How far the full diameter stands out below the bottom face of the thickest part; negative inside the material.
    pub overhang: Option<Millimetres>,
    /// Height of a compression router's crossing above the bottom face of the nominal part.
    pub crossing: Option<Millimetres>,
    /// Layers cut, as indices into the laminate.
    pub layers: Vec<usize>,
    /// Whether only core is cut, which no fibre rule speaks of.
    pub core_only: bool,
    /// Least feed for each edge after thinning, and its origin.
    pub floor: Option<Limit<MmPerTooth>>,
    /// Most feed for each edge, at the wall, and its origin.
    pub ceiling: Option<Limit<MmPerTooth>>,
}

/// Thinner overlaps of tool and layer are rounding, mm.
const HAIR: f64 = 1e-6;

impl CutReading {
    /// Reads every stretch of a cut against the job's laminate and tool.
    #[must_use]
    pub fn of(cut: &Cut, job: &Job) -> Vec<Self> {
        let tool = job.tool(cut.tool);
        cut.stretches.iter().map(|stretch| Self::read(stretch, tool, job)).collect()
    }

    fn read(stretch: &Stretch, tool: Option<&Tool>, job: &Job) -> Self {
        let mut reading = Self { wall_factor: 1.0, ramp: Degrees(stretch.descent), ..Self::default() };
        let Some(tool) = tool else { return reading };
        reading.feeds(stretch, tool);
        if let Some(laminate) = laminate_of(stretch.zone, job) {
            reading.depths(stretch, tool, laminate, job.head.entry_z);
        }
        reading
    }

    fn feeds(&mut self, stretch: &Stretch, tool: &Tool) {
        // Without a workpiece nobody knows on which side of an arc the wall lies.
        let wall_known = stretch.engagement.is_some() || !matches!(stretch.path, Path::Arc { .. });
        if let (Path::Arc { radius, inside }, true) = (stretch.path, wall_known) {
            self.wall_factor = arc_wall_factor(Millimetres(radius), tool.diameter, inside).unwrap_or(1.0);
        }
        let speed = stretch.speed.filter(|speed| *speed > 0.0).map(RevPerMin);
        self.surface_speed = speed.map(|speed| surface_speed(tool.diameter, speed));
        self.wall_feed = stretch.feed.filter(|_| wall_known).map(|feed| MmPerMin(feed * self.wall_factor));
        let per_tooth = |feed: MmPerMin| Some((feed / speed?).per_tooth(tool.edges?));
        self.per_tooth = self.wall_feed.and_then(per_tooth);
        self.reached_per_tooth = stretch.reached.and_then(|(least, ..)| per_tooth(MmPerMin(least * self.wall_factor)));
        // By the trade's convention the edge is fed as the wall is; engaged as measured along the true path.
        let engaged = stretch.engagement.map(|(_, most)| radial_engagement(Degrees(most)));
        self.thinning = engaged.map(|engaged| milled_chip(MmPerTooth(1.0), engaged).to_mm().0);
        let chip =
            |of: fn(MmPerTooth, f64) -> Micrometres| self.per_tooth.zip(engaged).map(|(feed, part)| of(feed, part));
        (self.chip_max, self.chip_mean) = (chip(milled_chip), chip(milled_chip_mean));
    }

    fn depths(&mut self, stretch: &Stretch, tool: &Tool, laminate: &Laminate, entry: Millimetres) {
        let tip = stretch.z.0.min(stretch.z.1);
        let [_, bottom, thick] = exit_faces(laminate, entry);
        self.axial = Millimetres((stretch.top - tip.max(bottom.0)).max(0.0));
        self.flutes = Millimetres((stretch.top - tip).max(0.0));
        self.overhang = Some(overhang(tool, Millimetres(tip), thick));
        self.crossing = crossing(tool, Millimetres(tip)).map(|height| height - bottom);
        self.layers = layers_between(laminate, entry.0 - stretch.top, entry.0 - tip);
        let cut = || self.layers.iter().filter_map(|index| laminate.layers.get(*index));
        self.core_only = cut().next().is_some() && cut().all(|layer| layer.material.class.is_core());
        let fibre = cut().any(|layer| layer.material.class.is_laminate());
        if !self.core_only {
            let stated = laminate.trim.tooth_floor.clone();
            self.floor = stated.or_else(|| edge_floor(tool).filter(|_| fibre));
            self.ceiling = laminate.trim.tooth_ceiling.clone();
        }
    }
}

/// The laminate of a thickness zone, or the job's own.
#[must_use]
pub fn laminate_of(zone: Option<usize>, job: &Job) -> Option<&Laminate> {
    let zones = job.workpiece.as_ref().map(|workpiece| workpiece.zones.as_slice()).unwrap_or_default();
    let zone = zone.and_then(|index| zones.get(index)).map(|zone| &zone.laminate);
    zone.or(job.laminate.as_ref())
}

/// Radial engagement ae/D of a side cut whose edge is in material over `angle`: (1 - cos angle) / 2, the inverse of
/// [`super::chip::contact_angle`].
#[must_use]
pub fn radial_engagement(angle: Degrees) -> f64 {
    (1.0 - libm::cos(angle.0.to_radians())) / 2.0
}

/// Layers with a part between two depths below the entry face, mm.
fn layers_between(laminate: &Laminate, from: f64, to: f64) -> Vec<usize> {
    let mut top = 0.0;
    let mut cut = Vec::new();
    for (index, layer) in laminate.layers.iter().enumerate() {
        let bottom = top + layer.thickness().0;
        if to.min(bottom) - from.max(top) > HAIR {
            cut.push(index);
        }
        top = bottom;
    }
    cut
}

/// Floor at which the thickest chip is as thick as the edge is round.
fn edge_floor(tool: &Tool) -> Option<Limit<MmPerTooth>> {
    let radius = tool.edge_radius?;
    let origin = format!("edge radius {radius} of tool {}: {EDGE_SOURCE}", tool.number);
    Some(Limit::new(MmPerTooth(radius.to_mm().0), origin))
}
