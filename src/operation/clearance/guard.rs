//! Follows every move and keeps how near each tool comes to what stands around it.

use super::body::{Body, Frustum};
use super::gap::{Gap, Gauge, Sweep};
use super::legs::{Chords, bent, rapid_legs};
use super::sink::{self, Sink, holder_in};
use super::solid::Solid;
use super::{BodyPart, Clearance, ClearanceGap, Clearances, HORIZON, Hit, Obstacle, Travel};
use crate::job::{Job, ZoneKind};
use crate::motion::{Arc, BlockRef, CycleCall, Plane, Step, StepKind};
use crate::operation::frame::Frame;
use crate::operation::scene::Scene;
use crate::operation::{Cut, Survey};

/// A clearance is measured anew when it may be smaller by this, mm, so the least one told is right to this; a house
/// value.
const RESOLUTION: f64 = 1e-3;
/// Contact shallower than this is none, mm; house value.
const HAIR: f64 = 1e-3;
/// Most places kept for one hit.
const PLACES: usize = 1000;

/// A straight leg of a move.
#[derive(Clone, Copy)]
struct Leg {
    from: [f64; 3],
    to: [f64; 3],
    rapid: bool,
    /// Whether other rules tell where the cutting part runs into something: `hop-over-clamp` of sideways rapids,
    /// `overtravel` and `retract-below-clamp` of strokes that make a hole.
    told: bool,
    /// Whether the machine may or may not go this way.
    doubtful: bool,
    block: BlockRef,
}

/// Follows a run.
pub(in crate::operation) struct Guard<'a> {
    job: Option<&'a Job>,
    solids: Vec<Solid<'a>>,
    floors: Vec<(Obstacle, f64)>,
    gauge: Gauge,
    /// Tool in the spindle, its body, and its least clearance so far.
    tool: Option<u32>,
    body: Body,
    least: f64,
    /// A place, and how far around it nothing new can happen.
    calm: ([f64; 3], f64),
    /// Legs so far, and at which each of the hits was last seen.
    legs: u64,
    seen: Vec<u64>,
    /// Whether the present step has run into something.
    struck: bool,
    found: Clearances,
    travel: Travel,
}

impl<'a> Guard<'a> {
    /// A guard over the fixture of a job.
    pub fn new(job: Option<&'a Job>) -> Self {
        let entry = job.map_or(0.0, |job| job.head.entry_z.0);
        let zones = job.map_or(&[][..], |job| &job.fixture.zones);
        let solids = zones.iter().enumerate().filter_map(|(index, zone)| Solid::of(zone, index, entry));
        Self {
            job,
            solids: solids.collect(),
            floors: job.map(floors).unwrap_or_default(),
            gauge: Gauge::new(),
            tool: None,
            body: Body::default(),
            least: HORIZON,
            calm: ([0.0; 3], -1.0),
            legs: 0,
            seen: Vec::new(),
            struck: false,
            found: Clearances::default(),
            travel: Travel::default(),
        }
    }

    /// What was found.
    pub fn finish(mut self, survey: &Survey) -> (Clearances, Travel) {
        if let Some(job) = self.job {
            let (hits, gaps) = sink::in_holes(survey, job);
            self.found.hits.extend(hits);
            gaps.into_iter().for_each(|gap| self.note(gap));
        }
        (self.found, self.travel)
    }

    /// Takes a finished cut that still has its stretches. Where nothing is known of the part's outline its holder may
    /// pass beside it; along an edge, and wherever the tool is engaged, what is wider than the tool lies over the part.
    pub fn cut(&mut self, cut: &Cut) {
        let Some(job) = self.job.filter(|_| cut.edge.is_some() || cut.style.is_some()) else { return };
        let tip = |stretch: &&crate::operation::Stretch| stretch.z.0.min(stretch.z.1);
        let deepest = cut.stretches.iter().min_by(|one, other| tip(one).total_cmp(&tip(other)));
        let Some((tool, stretch)) = job.tool(cut.tool).zip(deepest) else { return };
        match holder_in(tool, tool.diameter.0 / 2.0, job.head.entry_z.0 - tip(&stretch)) {
            Some(Sink::Into(into)) => {
                let [x, y] = stretch.at;
                let clearance = Clearance::of_holder(cut.tool, into, stretch.first, [x, y, tip(&stretch)]);
                let index = self.worsen(clearance, false);
                self.add_place(index, stretch.first);
            }
            Some(Sink::Unknown(key)) => self.note(ClearanceGap::Depth { tool: cut.tool, key }),
            None => {}
        }
    }

    /// Takes one step.
    pub fn step(&mut self, step: &Step<'_>, scene: &Scene<'_>, frame: &Frame) {
        self.travel.take(step, self.job.map(|job| &job.machine));
        let moves = matches!(step.kind, StepKind::Rapid | StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_));
        if !moves || !self.holds(scene) {
            return;
        }
        let rapid = step.kind == StepKind::Rapid;
        let Some(end) = step.to.point().filter(|_| scene.knows_height(&step.to, 2)) else {
            return self.lose(scene, rapid);
        };
        let start = step.from.point().unwrap_or(end);
        if step.kind == StepKind::Line && self.passes(place(frame, start), place(frame, end)) {
            self.struck = false;
            self.legs += 1;
            return;
        }
        let arc = matches!(step.kind, StepKind::ArcCw(_) | StepKind::ArcCcw(_));
        let sideways = arc || start.first() != end.first() || start.get(1) != end.get(1);
        let told = step.part.is_some() || if sideways { rapid } else { scene.makes_holes() == Some(true) };
        let (from, to) = (place(frame, start), place(frame, end));
        let leg = Leg { from, to, rapid, told, doubtful: false, block: step.block };
        self.struck = false;
        match step.kind {
            StepKind::ArcCw(arc) => self.arc(&placed(frame, arc), true, leg, step.length()),
            StepKind::ArcCcw(arc) => self.arc(&placed(frame, arc), false, leg, step.length()),
            StepKind::Rapid => self.rapid(leg),
            _ => self.leg(leg),
        }
    }

    /// Takes a canned cycle that does the same as the one before it at another place: the way there, and down to the
    /// lowest point of its strokes.
    pub fn cycle(&mut self, call: &CycleCall, bottom: f64, block: BlockRef, scene: &Scene<'_>, frame: &Frame) {
        let (first, second, normal) = call.plane.axes();
        for axis in [first, second] {
            let at = call.over.get(axis).copied().filter(|_| call.known.has(axis));
            self.travel.reach(axis, at);
        }
        let known = call.known.contains(crate::motion::Axes::XYZ) && scene.knows_height(&call.from, 2);
        if normal != 2 || !known || !self.holds(scene) {
            return self.lose(scene, false);
        }
        self.struck = false;
        let over = place(frame, call.over);
        let ([from_x, from_y, from_z], [x, y, z]) = (place(frame, call.from.point().unwrap_or(call.over)), over);
        let leg = |from, to, rapid| Leg { from, to, rapid, told: true, doubtful: false, block };
        let up = [from_x, from_y, z];
        if self.cycle_is_calm([from_x, from_y, from_z], over, bottom) {
            self.legs += 1;
            return;
        }
        if from_z < z {
            self.leg(leg([from_x, from_y, from_z], up, true));
        }
        self.rapid(leg([from_x, from_y, from_z.max(z)], over, true));
        self.leg(leg(over, [x, y, bottom], false));
    }

    /// Whether a cycle's way to its place and down may come to something new.
    pub fn may_meet(&self, frame: &Frame, from: [f64; 3], over: [f64; 3], bottom: f64) -> bool {
        !(self.is_idle() || self.cycle_is_calm(place(frame, from), place(frame, over), bottom))
    }

    /// Takes a cycle that meets nothing new, at X and Y.
    pub fn pass(&mut self, [x, y]: [f64; 2]) {
        self.travel.reach(0, Some(x));
        self.travel.reach(1, Some(y));
        self.legs += 1;
    }

    fn cycle_is_calm(&self, from: [f64; 3], over: [f64; 3], bottom: f64) -> bool {
        let ([from_x, from_y, from_z], [x, y, z]) = (from, over);
        // No way there and down is longer than its axes' ways together.
        let way = (z - from_z).abs() + (x - from_x).abs() + (y - from_y).abs() + (z - bottom).abs();
        let (middle, room) = self.calm;
        distance(middle, from) + way <= room
    }

    /// A move nobody can place, or along another axis than the tool's.
    pub fn lose(&mut self, scene: &Scene<'_>, rapid: bool) {
        self.calm.1 = -1.0;
        if !rapid && !self.solids.is_empty() && self.holds(scene) {
            self.note(ClearanceGap::Place { tool: scene.number });
        }
    }

    /// Brings the body up to the tool in the spindle; false when there is nothing to look at.
    fn holds(&mut self, scene: &Scene<'_>) -> bool {
        if self.tool != Some(scene.number) {
            self.tool = Some(scene.number);
            self.body = scene.tool.map(Body::of).unwrap_or_default();
            if self
                .found
                .gaps
                .iter()
                .any(|gap| matches!(gap, ClearanceGap::Holder { tool, .. } if *tool == scene.number))
            {
                self.body.forget_assumed();
            }
            let before = self.found.least.iter().find(|least| least.tool == scene.number);
            self.least = before.map_or(HORIZON, |before| before.gap);
            self.calm.1 = -1.0;
        }
        !self.is_idle()
    }

    /// Whether there is nothing to look at.
    fn is_idle(&self) -> bool {
        self.body.parts.is_empty() || self.solids.is_empty() && self.floors.is_empty()
    }

    /// A rapid, and the way it may take on a machine whose style the job does not say.
    fn rapid(&mut self, leg: Leg) {
        let Some(machine) = self.job.map(|job| &job.machine) else { return };
        let (points, count) = rapid_legs(machine, leg.from, leg.to);
        self.way(points.get(..count).unwrap_or_default(), leg);
        if machine.rapid_style.is_none() && !self.struck && !self.is_calm(leg.from, leg.to) {
            let (points, count) = bent(machine, leg.from, leg.to);
            if count > 2 {
                self.way(points.get(..count).unwrap_or_default(), Leg { doubtful: true, ..leg });
            }
        }
    }

    fn way(&mut self, points: &[[f64; 3]], leg: Leg) {
        for (from, to) in points.iter().zip(points.iter().skip(1)) {
            self.leg(Leg { from: *from, to: *to, ..leg });
        }
    }

    /// An arc, as chords; those that stay where nothing new can happen are passed over together.
    fn arc(&mut self, arc: &Arc, clockwise: bool, leg: Leg, length: f64) {
        let chords = Chords::of(arc, clockwise, leg.from, leg.to);
        let level = arc.plane == Plane::Xy || self.floors.is_empty();
        self.floors(leg);
        let (mut from, mut done) = (leg.from, 0);
        while done < chords.count {
            let (middle, room) = self.calm;
            let free = (room - distance(middle, from)) / length * f64::from(chords.count);
            let over = if level && free >= 1.0 { free.min(f64::from(chords.count)) as u32 } else { 0 };
            done = (done + over.max(1)).min(chords.count);
            let to = chords.end(done);
            if over == 0 {
                self.leg(Leg { from, to, ..leg });
            } else {
                self.legs += 1;
            }
            from = to;
        }
    }

    /// Whether nothing new can happen between two places.
    #[inline]
    fn is_calm(&self, from: [f64; 3], to: [f64; 3]) -> bool {
        let (middle, room) = self.calm;
        distance(middle, from) <= room && distance(middle, to) <= room
    }

    /// Whether a straight leg stays where nothing new can happen, above all floors.
    #[inline]
    fn passes(&self, from: [f64; 3], to: [f64; 3]) -> bool {
        let low = from[2].min(to[2]);
        self.is_calm(from, to) && self.floors.iter().all(|(_, floor)| low - floor >= -HAIR)
    }

    /// One straight leg against everything.
    fn leg(&mut self, leg: Leg) {
        self.legs += 1;
        self.floors(leg);
        if self.is_calm(leg.from, leg.to) {
            return;
        }
        let mut room = f64::INFINITY;
        for index in 0..self.solids.len() {
            let Some(solid) = self.solids.get(index).copied() else { continue };
            let wanted = solid.zone.tolerance.0 + self.wanted(&solid);
            let apart = apart(&leg, &solid) - self.body.widest;
            let left = if apart >= wanted { apart - wanted } else { self.solid(leg, &solid, wanted) };
            room = room.min(left);
        }
        self.calm = (leg.to, room);
    }

    /// Clearance from a solid below which a move matters, mm.
    fn wanted(&self, solid: &Solid<'_>) -> f64 {
        if solid.zone.kind == ZoneKind::Coupon { 0.0 } else { (self.least - RESOLUTION).max(0.0) }
    }

    /// One leg against one solid; returns how much farther away than it would matter every part certainly is, mm.
    fn solid(&mut self, leg: Leg, solid: &Solid<'_>, wanted: f64) -> f64 {
        let ([x0, y0, _], [x1, y1, _]) = (leg.from, leg.to);
        let aside = solid.zone.clearance_to([x0, y0], [x1, y1]);
        let coupon = solid.zone.kind == ZoneKind::Coupon;
        let mut room = f64::INFINITY;
        let mut index = 0;
        while let Some(part) = self.body.parts.get(index).copied() {
            index += 1;
            // A coupon is for the edge alone to spare; what nobody described matters only where it would hit.
            let matters = match part.part {
                Some(BodyPart::Tool) => wanted,
                Some(BodyPart::Holder) if coupon => continue,
                Some(BodyPart::Holder) => wanted,
                None if coupon => continue,
                None => solid.zone.tolerance.0,
            };
            let sweep = Sweep { part: &part, from: leg.from, to: leg.to };
            let sure = sweep.at_least(solid, aside);
            room = room.min(sure - matters);
            if sure <= matters && !(coupon && leg.rapid) {
                let known = self.least.max(self.worst(&part, Obstacle::Zone(solid.index)));
                let deepest = -known - solid.zone.tolerance.0;
                let gap = self.gauge.measure(&sweep, solid, sure, deepest);
                self.judge(leg, &part, solid, gap);
            }
        }
        room
    }

    /// What a measured gap means.
    fn judge(&mut self, leg: Leg, part: &Frustum, solid: &Solid<'_>, gap: Gap) {
        let value = gap.value - solid.zone.tolerance.0;
        let hits = value < -HAIR;
        let Some(tool) = self.tool else { return };
        let Some(body) = part.part else {
            if let Some(key) = self.body.lacks.filter(|_| hits) {
                self.note(ClearanceGap::Holder { tool, key });
                self.body.forget_assumed();
            }
            return;
        };
        let coupon = solid.zone.kind == ZoneKind::Coupon;
        if leg.doubtful {
            if hits && !coupon {
                self.note(ClearanceGap::RapidStyle { tool, zone: solid.index });
            }
            return;
        }
        let obstacle = Obstacle::Zone(solid.index);
        let clearance = Clearance {
            tool,
            gap: value,
            axis: gap.axis,
            part: body,
            obstacle,
            block: leg.block,
            from: leg.from,
            at: leg.to,
        };
        if value < self.least && !coupon {
            self.least = value;
            self.found.least.retain(|least| least.tool != tool);
            self.found.least.push(clearance);
        }
        self.struck |= hits && !coupon;
        if hits && (coupon || body == BodyPart::Holder || !leg.told) {
            self.hit(clearance, leg.rapid);
        }
    }

    /// The table and the far side of the backing: only the tip can reach them first.
    fn floors(&mut self, leg: Leg) {
        let ([_, _, from], [_, _, to]) = (leg.from, leg.to);
        for index in 0..self.floors.len() {
            let Some((obstacle, floor)) = self.floors.get(index).copied() else { continue };
            let gap = from.min(to) - floor;
            if let Some(tool) = self.tool.filter(|_| gap < -HAIR && !leg.told && !leg.doubtful) {
                let part = BodyPart::Tool;
                let Leg { from, to, block, .. } = leg;
                self.hit(Clearance { tool, gap, axis: 2, part, obstacle, block, from, at: to }, leg.rapid);
            }
        }
    }

    /// The worst gap so far of a part at an obstacle, mm; 0 for none.
    fn worst(&self, part: &Frustum, obstacle: Obstacle) -> f64 {
        let same = |hit: &&Hit| {
            Some(hit.worst.tool) == self.tool && Some(hit.worst.part) == part.part && hit.worst.obstacle == obstacle
        };
        self.found.hits.iter().find(same).map_or(0.0, |hit| hit.worst.gap)
    }

    /// Notes a hit; one that goes on from leg to leg has one place.
    fn hit(&mut self, clearance: Clearance, rapid: bool) {
        let index = self.worsen(clearance, rapid);
        let Some(seen) = self.seen.get_mut(index) else { return };
        let goes_on = *seen != 0 && *seen + 1 >= self.legs;
        *seen = self.legs;
        if !goes_on {
            self.add_place(index, clearance.block);
        }
    }

    /// Keeps the worst of a hit; its index.
    fn worsen(&mut self, clearance: Clearance, rapid: bool) -> usize {
        let Clearance { tool, part, obstacle, .. } = clearance;
        let same = |hit: &Hit| hit.worst.tool == tool && hit.worst.part == part && hit.worst.obstacle == obstacle;
        let index = self.found.hits.iter().position(same).unwrap_or_else(|| {
            self.found.hits.push(Hit { worst: clearance, rapid, places: Vec::new() });
            self.seen.push(0);
            self.seen.len() - 1
        });
        if let Some(hit) = self.found.hits.get_mut(index).filter(|hit| clearance.gap < hit.worst.gap) {
            (hit.worst, hit.rapid) = (clearance, rapid);
        }
        index
    }

    fn add_place(&mut self, index: usize, block: BlockRef) {
        if let Some(hit) = self.found.hits.get_mut(index)
            && hit.places.len() < PLACES
            && hit.places.last() != Some(&block)
        {
            hit.places.push(block);
        }
    }

    fn note(&mut self, gap: ClearanceGap) {
        if !self.found.gaps.contains(&gap) {
            self.found.gaps.push(gap);
        }
    }
}

/// Faces nothing may be fed through: the table, and the far side of the backing, where the table or air begins.
fn floors(job: &Job) -> Vec<(Obstacle, f64)> {
    let table = job.fixture.table_z.map(|z| (Obstacle::Table, z.0));
    let backing = job
        .laminate
        .as_ref()
        .zip(job.fixture.backing)
        .map(|(laminate, backing)| (Obstacle::Backing, job.head.entry_z.0 - laminate.thickness().0 - backing.0));
    table.into_iter().chain(backing).collect()
}

/// A point of the program where the fixture sees it.
fn place(frame: &Frame, [x, y, z]: [f64; 3]) -> [f64; 3] {
    let [x, y] = frame.place([x, y]);
    [x, y, z]
}

fn placed(frame: &Frame, arc: Arc) -> Arc {
    Arc { centre: place(frame, arc.centre), ..arc }
}

fn distance([ax, ay, az]: [f64; 3], [bx, by, bz]: [f64; 3]) -> f64 {
    let (x, y, z) = (ax - bx, ay - by, az - bz);
    libm::sqrt(x * x + y * y + z * z)
}

/// A distance in X and Y that a leg's line certainly keeps from a solid, from their bounding rectangles, mm.
fn apart(leg: &Leg, solid: &Solid<'_>) -> f64 {
    let ([from_x, from_y, _], [to_x, to_y, _]) = (leg.from, leg.to);
    let ([x0, y0, _], [x1, y1, _]) = (solid.least, solid.most);
    let x = (x0 - from_x.max(to_x)).max(from_x.min(to_x) - x1);
    let y = (y0 - from_y.max(to_y)).max(from_y.min(to_y) - y1);
    x.max(y)
}
