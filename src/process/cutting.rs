//! What a cut's stretches come to: chip after radial thinning, feed at the wall, ramp, depth against the tool.

use super::chip::{milled_chip, milled_chip_mean};
use super::compression::{crossing, exit_faces, overhang};
use super::reading::POST_ROUNDING;
use super::speed::surface_speed;
use super::wall::arc_wall_factor;
use super::window::EDGE_SOURCE;
use crate::job::{Job, Laminate, Limit, Tool};
use crate::operation::{Cut, Path, Stretch, point_length};
use crate::units::{Degrees, MetresPerMin, Micrometres, Millimetres, MmPerMin, MmPerTooth, RevPerMin};
use std::cell::OnceCell;
use std::ops::Range;
use std::rc::Rc;

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
    /// Layers cut, as a range of indices into the laminate.
    pub layers: Range<usize>,
    /// Whether only core is cut, which no fibre rule speaks of.
    pub core_only: bool,
    /// Least feed for each edge after thinning, and its origin.
    pub floor: Option<Rc<Limit<MmPerTooth>>>,
    /// Most feed for each edge, at the wall, and its origin.
    pub ceiling: Option<Rc<Limit<MmPerTooth>>>,
    /// Whether the chip is thinned over less than the tool's width: it enters, leaves or crosses an earlier cut.
    pub brief: bool,
}

/// Thinner overlaps of tool and layer are rounding, mm.
const HAIR: f64 = 1e-6;

/// What the stretches of a cut come to: by kind at once, and for each stretch when somebody asks.
#[derive(Debug)]
pub struct CutReadings<'a> {
    cut: &'a Cut,
    job: &'a Job,
    /// Kinds in order.
    pub kinds: Vec<Kind>,
    each: OnceCell<Vec<CutReading>>,
}

/// Stretches of one kind in a row: all that differs between them are heights, lengths and ramps.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Indices of the stretches.
    pub range: Range<usize>,
    /// What all of them have in common; heights, flutes and ramp are those of none.
    pub reading: CutReading,
    /// Lowest tip.
    pub lowest: Millimetres,
    /// Highest top of the material.
    pub top: Millimetres,
    /// Steepest ramp.
    pub steepest: Degrees,
}

impl<'a> CutReadings<'a> {
    /// Reads a cut against the job's laminate and tool.
    #[must_use]
    pub fn of(cut: &'a Cut, job: &'a Job) -> Self {
        let tool = job.tool(cut.tool);
        let mut grounds: Vec<Ground<'_>> = Vec::new();
        let mut kinds: Vec<Kind> = Vec::new();
        let mut before: Option<&Stretch> = None;
        let mut under = None;
        for (index, stretch) in cut.stretches.iter().enumerate() {
            let goes_on = before.is_some_and(|before| fed_alike(before, stretch));
            if !goes_on {
                under = tool.and_then(|tool| Ground::under(&mut grounds, stretch.zone, tool, job));
            }
            let ground = under.and_then(|index: usize| grounds.get(index));
            let layers = ground.map_or(0..0, |ground| ground.layers(stretch));
            match kinds.last_mut().filter(|kind| goes_on && kind.reading.layers == layers) {
                Some(kind) => kind.take(index, stretch),
                None => kinds.push(Kind::of(index, stretch, CutReading::of_kind(stretch, tool, ground, layers))),
            }
            before = Some(stretch);
        }
        Self { cut, job, kinds, each: OnceCell::new() }
    }

    /// One reading for each stretch, in order.
    pub fn each(&self) -> &[CutReading] {
        self.each.get_or_init(|| self.read())
    }

    fn read(&self) -> Vec<CutReading> {
        let tool = self.job.tool(self.cut.tool);
        let lift = tool.and_then(point_length).unwrap_or(Millimetres(0.0));
        let mut grounds: Vec<Ground<'_>> = Vec::new();
        let mut readings = Vec::with_capacity(self.cut.stretches.len());
        for kind in &self.kinds {
            for stretch in self.cut.stretches.get(kind.range.clone()).unwrap_or_default() {
                let mut reading = kind.reading.clone();
                let under = tool.and_then(|tool| Ground::under(&mut grounds, stretch.zone, tool, self.job));
                let ground = under.and_then(|index| grounds.get(index));
                reading.measure(stretch, tool, ground, lift);
                readings.push(reading);
            }
        }
        readings
    }
}

impl Kind {
    fn of(index: usize, stretch: &Stretch, reading: CutReading) -> Self {
        let (lowest, top) = (Millimetres(f64::INFINITY), Millimetres(f64::NEG_INFINITY));
        let mut kind = Self { range: index..index, reading, lowest, top, steepest: Degrees(0.0) };
        kind.take(index, stretch);
        kind
    }

    fn take(&mut self, index: usize, stretch: &Stretch) {
        self.range.end = index + 1;
        self.lowest = Millimetres(self.lowest.0.min(stretch.z.0).min(stretch.z.1));
        self.top = Millimetres(self.top.0.max(stretch.top));
        self.steepest = Degrees(self.steepest.0.max(stretch.descent));
    }
}

/// Whether two stretches are fed, turned and engaged alike in the same zone.
fn fed_alike(one: &Stretch, other: &Stretch) -> bool {
    (one.feed, one.speed, one.exact, one.zone) == (other.feed, other.speed, other.exact, other.zone)
        && (one.path, one.engagement, one.reached) == (other.path, other.engagement, other.reached)
}

impl CutReading {
    /// Reads every stretch of a cut against the job's laminate and tool.
    #[must_use]
    pub fn of(cut: &Cut, job: &Job) -> Vec<Self> {
        CutReadings::of(cut, job).read()
    }

    /// What all stretches of a kind have in common.
    fn of_kind(stretch: &Stretch, tool: Option<&Tool>, ground: Option<&Ground<'_>>, layers: Range<usize>) -> Self {
        let mut reading = Self { wall_factor: 1.0, layers, ..Self::default() };
        if let Some(tool) = tool {
            reading.feeds(stretch, tool);
        }
        if let Some(ground) = ground {
            reading.bounds(ground);
        }
        reading
    }

    /// What is each stretch's own.
    fn measure(&mut self, stretch: &Stretch, tool: Option<&Tool>, ground: Option<&Ground<'_>>, lift: Millimetres) {
        self.ramp = Degrees(stretch.descent);
        let Some(tool) = tool else { return };
        let passing = stretch.length <= tool.diameter.0 && self.thinning.is_some_and(|thinning| thinning < 1.0);
        self.brief = passing || stretch.path == Path::Plunge;
        let Some(ground) = ground else { return };
        let tip = Millimetres(stretch.z.0.min(stretch.z.1));
        let [_, bottom, thick] = ground.exit;
        self.axial = Millimetres((stretch.top - tip.0.max(bottom.0)).max(0.0));
        self.flutes = Millimetres((stretch.top - tip.0).max(0.0));
        self.overhang = Some(overhang(lift, tip, thick));
        self.crossing = crossing(tool, tip).map(|height| height - bottom);
    }

    fn feeds(&mut self, stretch: &Stretch, tool: &Tool) {
        // Without a workpiece nobody knows on which side of an arc the wall lies.
        let wall_known = stretch.engagement.is_some() || !matches!(stretch.path, Path::Arc { .. });
        if let (Path::Arc { radius, inside }, true) = (stretch.path, wall_known) {
            self.wall_factor = arc_wall_factor(Millimetres(radius), tool.diameter, inside).unwrap_or(1.0);
        }
        let speed = stretch.speed.filter(|speed| *speed > 0.0).map(RevPerMin);
        let at_wall = |feed: f64| Some(MmPerMin(feed * self.wall_factor)).filter(|_| wall_known);
        let per_tooth = |feed: MmPerMin| Some((feed / speed?).per_tooth(tool.edges?));
        self.surface_speed = speed.map(|speed| surface_speed(tool.diameter, speed));
        self.wall_feed = stretch.feed.and_then(at_wall);
        self.reached_per_tooth = stretch.reached.and_then(|(least, ..)| at_wall(least)).and_then(per_tooth);
        self.per_tooth = self.wall_feed.and_then(per_tooth);
        // By the trade's convention the edge is fed as the wall is; engaged as measured along the true path.
        let engaged = stretch.engagement.map(|(_, most)| radial_engagement(Degrees(most)));
        self.thinning = engaged.map(|engaged| milled_chip(MmPerTooth(1.0), engaged).to_mm().0);
        let fed = self.per_tooth.zip(engaged);
        self.chip_max = fed.map(|(feed, engaged)| milled_chip(feed, engaged));
        self.chip_mean = fed.map(|(feed, engaged)| milled_chip_mean(feed, engaged));
    }

    /// The bounds of its layers.
    fn bounds(&mut self, ground: &Ground<'_>) {
        let cut = ground.laminate.layers.get(self.layers.clone()).unwrap_or_default();
        self.core_only = !cut.is_empty() && cut.iter().all(|layer| layer.material.class.is_core());
        if !self.core_only {
            let fibre = cut.iter().any(|layer| layer.material.class.is_laminate());
            let worn = ground.edge_floor.as_ref().filter(|_| fibre);
            self.floor = ground.floor.as_ref().or(worn).cloned();
            self.ceiling = ground.ceiling.clone();
        }
    }

    /// Whether the chip lies under the floor though the feed does not: thinned too far.
    #[must_use]
    pub fn is_thin(&self) -> bool {
        let Some((floor, chip)) = self.floor.as_ref().zip(self.chip_max) else { return false };
        let low = |feed: f64| feed < floor.value.0 * (1.0 - POST_ROUNDING);
        low(chip.to_mm().0) && self.per_tooth.is_some_and(|feed| !low(feed.0))
    }
}

/// What all stretches in one thickness zone share.
struct Ground<'a> {
    zone: Option<usize>,
    laminate: &'a Laminate,
    entry: f64,
    /// Depths of the layers' lower faces, mm.
    faces: Vec<f64>,
    exit: [Millimetres; 3],
    floor: Option<Rc<Limit<MmPerTooth>>>,
    edge_floor: Option<Rc<Limit<MmPerTooth>>>,
    ceiling: Option<Rc<Limit<MmPerTooth>>>,
}

impl<'a> Ground<'a> {
    /// The layers a stretch passes through.
    fn layers(&self, stretch: &Stretch) -> Range<usize> {
        let tip = stretch.z.0.min(stretch.z.1);
        layers_between(&self.faces, (self.entry - stretch.top, self.entry - tip))
    }

    /// Index of the ground in a zone, which is added when it is not known yet.
    fn under(known: &mut Vec<Self>, zone: Option<usize>, tool: &Tool, job: &'a Job) -> Option<usize> {
        let index = known.iter().position(|ground| ground.zone == zone);
        if index.is_some() {
            return index;
        }
        let laminate = laminate_of(zone, job)?;
        known.push(Self {
            zone,
            laminate,
            entry: job.head.entry_z.0,
            faces: faces(laminate),
            exit: exit_faces(laminate, job.head.entry_z),
            floor: laminate.trim.tooth_floor.clone().map(Rc::new),
            edge_floor: edge_floor(tool).map(Rc::new),
            ceiling: laminate.trim.tooth_ceiling.clone().map(Rc::new),
        });
        Some(known.len() - 1)
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

/// Depths of the layers' lower faces below the entry face, mm.
fn faces(laminate: &Laminate) -> Vec<f64> {
    let thickness = laminate.layers.iter().map(|layer| layer.thickness().0);
    thickness
        .scan(0.0, |depth, thickness| {
            *depth += thickness;
            Some(*depth)
        })
        .collect()
}

/// Layers with a part between two depths below the entry face, mm; `faces` are the depths of their lower faces.
fn layers_between(faces: &[f64], (from, to): (f64, f64)) -> Range<usize> {
    let mut cut = 0..0;
    let mut top = 0.0;
    for (index, bottom) in faces.iter().copied().enumerate() {
        if to.min(bottom) - from.max(top) > HAIR {
            cut = if cut.is_empty() { index..index + 1 } else { cut.start..index + 1 };
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
