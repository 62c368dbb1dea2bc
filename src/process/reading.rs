//! What a hole's strokes come to in each layer: feed per turn and edge, chip, speed, thrust and the window they must keep.

use super::chip::{milled_chip, thinnest_chip, wall_factor};
use super::depth::{Contact, HAIR, contacts};
use super::plate::PlateCeiling;
use super::speed::surface_speed;
use super::thrust::law_thrust;
use super::window::{Terms, Window};
use super::zone::{FeedZone, Zone};
use crate::job::{Job, Laminate, Tool, ToolKind};
use crate::operation::{AXIS_Z, Breakthrough, Point, Recipe, Stroke, StrokeKind, point_key};
use crate::units::{MetresPerMin, Micrometres, Millimetres, MmPerMin, MmPerRev, MmPerTooth, Newtons, RevPerMin};

/// All readings of one recipe. Empty when no tool or laminate is known; `gaps` then says so.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HoleReading {
    /// One for each feed stroke, layer and zone it cuts, in order of cutting. Air is left out.
    pub passes: Vec<Reading>,
    /// Where the hole breaks through; `None` for a countersink, and without laminate or point geometry.
    pub breakthrough: Option<Breakthrough>,
    /// Where the entry feed holds.
    pub entry: Option<FeedZone>,
    /// Where plies can be pushed out; `None` where nothing can.
    pub exit: Option<FeedZone>,
    /// Tip depth from which a slower feed counts as slowed for the exit: as far above the zone as the zone reaches into
    /// the laminate. On a part that was measured the zone of the whole tolerance counts, for which it was posted.
    pub slow_from: Option<Millimetres>,
    /// What kept the passes from being read.
    pub gaps: Vec<Gap>,
}

/// Something a reading would need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// What is missing, in words.
    pub why: String,
    /// The job-file key that would supply it.
    pub key: Option<String>,
}

impl Gap {
    /// The point that a tool lacks, with the key that would give it.
    pub(super) fn point(tool: &Tool) -> Self {
        let why = "the point of the tool is not given".to_owned();
        Self { why, key: Some(format!("tool.{}.{}", tool.number, point_key(&tool.kind))) }
    }
}

/// One feed stroke in one layer and zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Index of the stroke in the recipe.
    pub stroke: usize,
    /// Index of the layer in the laminate.
    pub layer: usize,
    /// Depth of the tip below the entry face at the start and end of the pass.
    pub depth: (Millimetres, Millimetres),
    /// Feed for each turn; at the wall for a circling tool.
    pub per_rev: Option<MmPerRev>,
    /// Feed for each edge.
    pub per_tooth: Option<MmPerTooth>,
    /// Thinnest chip over the cones of the point.
    pub chip: Option<Micrometres>,
    /// Thinnest chip over the edge radius.
    pub chip_ratio: Option<f64>,
    /// Surface speed at the full diameter.
    pub surface_speed: Option<MetresPerMin>,
    /// Thrust by the tool's law, wear included; `None` over a pilot hole, which no law was fitted on.
    pub thrust: Option<Newtons>,
    /// Feeds this pass may have.
    pub window: Window,
    /// Whether the pass lies in the entry zone, the exit zone, or neither.
    pub zone: Zone,
}

/// Share by which a posted feed or speed may differ from what was meant: posts round F and S to their last digit. House
/// value.
pub const POST_ROUNDING: f64 = 0.005;

impl HoleReading {
    /// Reads every feed stroke of a recipe against the job's laminate and tool.
    #[must_use]
    pub fn of(recipe: &Recipe, job: &Job) -> Self {
        match Subject::of(recipe, job) {
            Ok(subject) => subject.read(),
            Err(gap) => Self { gaps: vec![gap], ..Self::default() },
        }
    }

    /// Whether a pass was slowed: an earlier stroke of the hole was fed faster, by more than posts round.
    #[must_use]
    pub fn is_slowed(&self, pass: &Reading) -> bool {
        let slow = |fast: MmPerRev| pass.per_rev.is_some_and(|slow| fast.0 > slow.0 * (1.0 + POST_ROUNDING));
        self.passes.iter().any(|other| other.stroke < pass.stroke && other.per_rev.is_some_and(slow))
    }

    /// Whether a pass has a feed slowed for the exit: in the exit zone, or a little above it, for slow feed may well begin
    /// early.
    #[must_use]
    pub fn is_exit_feed(&self, pass: &Reading) -> bool {
        self.slow_from.is_some_and(|from| pass.depth.0 >= from) && self.is_slowed(pass)
    }
}

/// A stretch of one stroke in one layer and zone, as tip depths.
struct Piece {
    stroke: usize,
    layer: usize,
    zone: Zone,
    from: f64,
    to: f64,
}

/// What all strokes of a recipe are held against.
struct Aid<'a> {
    terms: Terms<'a>,
    contacts: Vec<Contact>,
    plate: Option<PlateCeiling<'a>>,
}

/// A recipe with everything a reading needs.
struct Subject<'a> {
    recipe: &'a Recipe,
    laminate: &'a Laminate,
    tool: &'a Tool,
    point: Point,
    face: f64,
    entry: Option<FeedZone>,
    exit: Option<FeedZone>,
    slow_from: Option<Millimetres>,
}

impl<'a> Subject<'a> {
    fn of(recipe: &'a Recipe, job: &'a Job) -> Result<Self, Gap> {
        let gap = |why: &str, key: Option<String>| Gap { why: why.to_owned(), key };
        if recipe.tool == 0 {
            return Err(gap("the tool in the spindle is not known", None));
        }
        let tool = job
            .tool(recipe.tool)
            .ok_or_else(|| gap("the tool is not in the job file", Some(format!("tool.{}", recipe.tool))))?;
        let Some(laminate) = &job.laminate else {
            return Err(gap("no laminate is given", Some("job.laminate".to_owned())));
        };
        let point = Point::of(tool).ok_or_else(|| Gap::point(tool))?;
        if !recipe.heights_known || recipe.axis != AXIS_Z {
            return Err(gap("the height of the tool tip is not known", None));
        }
        let entry = FeedZone::entry(laminate, &tool.kind, point.length());
        let exit = FeedZone::exit(laminate, &tool.kind, point.length());
        let filed = job.measured.as_ref().and_then(|measured| measured.as_filed.laminate.as_ref());
        let posted_for = filed.and_then(|filed| FeedZone::exit(filed, &tool.kind, point.length()));
        let starts = exit.iter().chain(&posted_for).map(|zone| zone.from - zone.extent);
        let slow_from = starts.reduce(|one, other| if other < one { other } else { one });
        Ok(Self { recipe, laminate, tool, point, face: job.head.entry_z.0, entry, exit, slow_from })
    }

    fn read(self) -> HoleReading {
        let mut passes = Vec::new();
        let mut gaps = Vec::new();
        if self.finished() > self.recipe.pilot + HAIR {
            let aid = self.aid();
            let mut drilled = 0.0;
            for (index, stroke) in self.recipe.strokes.iter().enumerate() {
                let (from, to) = (self.face - stroke.from, self.face - stroke.to);
                if stroke.kind == StrokeKind::Feed && to > drilled + HAIR {
                    self.stroke(index, stroke, (from.max(drilled), to), &aid, &mut passes);
                    drilled = to;
                }
            }
            gaps = gaps_of(&passes, self.recipe);
        }
        let bottom = Millimetres(self.face - self.recipe.bottom);
        // A countersink stays near the entry face; its full diameter is none of the hole.
        let sinks = matches!(self.tool.kind, ToolKind::Countersink { .. });
        let breakthrough = Breakthrough::of(self.laminate, self.tool, bottom).filter(|_| !sinks);
        HoleReading { passes, breakthrough, entry: self.entry, exit: self.exit, slow_from: self.slow_from, gaps }
    }

    fn aid(&self) -> Aid<'_> {
        let plain = self.recipe.orbit.is_none() && self.recipe.pilot <= 0.0;
        Aid {
            terms: self.terms(),
            contacts: contacts(self.laminate, &self.point, self.recipe.pilot),
            plate: PlateCeiling::of(self.laminate, self.tool).filter(|_| plain),
        }
    }

    fn terms(&self) -> Terms<'_> {
        Terms {
            tool: self.tool,
            point: &self.point,
            orbit: self.recipe.orbit.is_some(),
            trim: &self.laminate.trim,
            entry: self.entry.as_ref(),
            exit: self.exit.as_ref(),
        }
    }

    /// Diameter of the hole this recipe makes, mm.
    fn finished(&self) -> f64 {
        self.tool.diameter.0 + self.recipe.orbit.map_or(0.0, |orbit| orbit.diameter)
    }

    /// The passes of one stroke, layer by layer.
    fn stroke(&self, index: usize, stroke: &Stroke, span: (f64, f64), aid: &Aid<'_>, passes: &mut Vec<Reading>) {
        let first = passes.len();
        for contact in &aid.contacts {
            let Some(layer) = self.laminate.layers.get(contact.layer) else { continue };
            for (zone, from, to) in self.zones(span.0.max(contact.from), span.1.min(contact.to)) {
                let piece = Piece { stroke: index, layer: contact.layer, zone, from, to };
                let plate = aid.plate.as_ref().filter(|_| zone == Zone::Exit);
                let step = plate.and_then(|plate| plate.until(Millimetres(to)));
                passes.push(self.pass(&piece, stroke, aid.terms.window(layer, zone, step.map(|step| step.ceiling))));
            }
        }
        if let Some(new) = passes.get_mut(first..) {
            new.sort_by(|a, b| a.depth.0.0.total_cmp(&b.depth.0.0));
        }
    }

    /// Cuts a stretch of tip depths where zones change.
    fn zones(&self, from: f64, to: f64) -> Vec<(Zone, f64, f64)> {
        let ends = [self.entry.as_ref(), self.exit.as_ref()].into_iter().flatten();
        let mut cuts: Vec<f64> = ends.flat_map(|zone| [zone.from.0, zone.to.0]).collect();
        cuts.retain(|cut| *cut > from + HAIR && *cut < to - HAIR);
        cuts.push(to);
        cuts.sort_by(f64::total_cmp);
        let mut at = from;
        let mut parts: Vec<(Zone, f64, f64)> = Vec::new();
        for cut in cuts.into_iter().filter(|cut| *cut > from + HAIR) {
            let zone = Zone::at(self.entry.as_ref(), self.exit.as_ref(), f64::midpoint(at, cut));
            match parts.last_mut() {
                Some(part) if part.0 == zone => part.2 = cut,
                _ => parts.push((zone, at, cut)),
            }
            at = cut;
        }
        parts
    }

    fn pass(&self, piece: &Piece, stroke: &Stroke, window: Window) -> Reading {
        let tool = self.tool;
        let speed = stroke.speed.filter(|speed| *speed > 0.0).map(RevPerMin);
        let factor = match &self.recipe.orbit {
            Some(orbit) => wall_factor(orbit.diameter, tool.diameter.0),
            None => Some(1.0),
        };
        let feed = stroke.feed.zip(factor).map(|(feed, factor)| MmPerMin(feed * factor));
        let per_rev = feed.zip(speed).map(|(feed, speed)| feed / speed);
        let per_tooth = per_rev.zip(tool.edges).map(|(feed, edges)| feed.per_tooth(edges));
        let chip = per_tooth.map(|per_tooth| self.chip(per_tooth));
        let law = tool.thrust.as_ref().filter(|_| self.recipe.orbit.is_none() && self.recipe.pilot <= 0.0);
        let wear = tool.wear_factor.unwrap_or(1.0);
        Reading {
            stroke: piece.stroke,
            layer: piece.layer,
            depth: (Millimetres(piece.from), Millimetres(piece.to)),
            per_rev,
            per_tooth,
            chip,
            chip_ratio: chip.zip(tool.edge_radius).map(|(chip, radius)| chip / radius),
            surface_speed: speed.map(|speed| surface_speed(tool.diameter, speed)),
            thrust: law.zip(per_rev).and_then(|(law, feed)| law_thrust(law, feed, tool.diameter, wear)),
            window,
            zone: piece.zone,
        }
    }

    /// Thinnest chip of a lip; the thickest of a side cut when the tool circles. A point without cones cuts square.
    fn chip(&self, per_tooth: MmPerTooth) -> Micrometres {
        if self.recipe.orbit.is_some() {
            let radial = (self.finished() - self.recipe.pilot) / 2.0;
            return milled_chip(per_tooth, radial / self.tool.diameter.0);
        }
        thinnest_chip(per_tooth, &self.point.cones).unwrap_or(Micrometres(per_tooth.0 * 1000.0))
    }
}

/// What kept passes from having a feed for each turn.
fn gaps_of(passes: &[Reading], recipe: &Recipe) -> Vec<Gap> {
    let mut gaps = Vec::new();
    let strokes = || passes.iter().filter_map(|pass| recipe.strokes.get(pass.stroke));
    if strokes().any(|stroke| stroke.feed.is_none()) {
        gaps.push(Gap { why: "the feed of a stroke is not known".to_owned(), key: None });
    }
    if strokes().any(|stroke| stroke.speed.is_none_or(|speed| speed <= 0.0)) {
        gaps.push(Gap { why: "the spindle speed of a stroke is not known".to_owned(), key: None });
    }
    gaps
}
