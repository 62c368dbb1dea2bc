//! The ways of cuts, as far as it takes to tell which run one above the other and which side by side.

use super::SAME;
use crate::job::Job;
use crate::motion::{Arc, BlockRef, CycleCall, Expand, ModalState, MotionFault, Observer, Plane, Step, StepKind};
use crate::operation::{Cut, Wanted};
use crate::tune::origin::Origin;
use crate::tune::{Run, Task};
use std::hash::{DefaultHasher, Hash, Hasher};

/// The way of one cut.
#[derive(Clone, Default)]
struct Way {
    /// The way from above, the same whichever way round it is run.
    print: Option<u64>,
    /// Edges that lie within the tool's diameter of what it sweeps, with the length run there, mm.
    edges: Vec<(usize, f64)>,
}

/// The ways of a run's cuts, in their order.
#[derive(Default)]
pub(super) struct Ways {
    of: Vec<Way>,
    beside: Vec<Option<usize>>,
}

impl Ways {
    pub fn of(run: &Run, task: &Task<'_>) -> Self {
        let cuts = &run.survey.cuts;
        if cuts.len() < 2 {
            return Self::default();
        }
        let (job, wanted) = (task.job, Wanted::of(task.job));
        let of = vec![Way::default(); cuts.len()];
        let mut scan = Scan { cuts, job, wanted, of, next: 0, open: Vec::new(), origin: Origin::of(job) };
        run.watch(task, &mut scan);
        let beside = cuts.iter().zip(&scan.of).map(|(cut, way)| way.beside(cut)).collect();
        Self { of: scan.of, beside }
    }

    /// A number that cuts along the same way share.
    pub fn print(&self, cut: usize) -> Option<u64> {
        self.of.get(cut)?.print
    }

    /// The edge of the job that a cut runs beside, no farther from it than one pass could reach.
    pub fn beside(&self, cut: usize) -> Option<usize> {
        self.beside.get(cut).copied()?
    }
}

impl Way {
    fn beside(&self, cut: &Cut) -> Option<usize> {
        let (edge, length) = self.edges.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (2.0 * length >= cut.length).then_some(*edge)
    }

    fn add(&mut self, edge: usize, length: f64) {
        match self.edges.iter_mut().find(|(known, _)| *known == edge) {
            Some((_, sum)) => *sum += length,
            None => self.edges.push((edge, length)),
        }
    }
}

/// Watches a run for the ways of its cuts.
struct Scan<'a> {
    cuts: &'a [Cut],
    job: &'a Job,
    wanted: Wanted,
    of: Vec<Way>,
    /// The first cut still to come, and those that are running, with whether their last block has begun.
    next: usize,
    open: Vec<(usize, bool)>,
    /// Once it has moved, edges are not where the program's numbers say.
    origin: Origin,
}

impl Scan<'_> {
    /// Opens the cuts that begin with a block and closes those whose last has passed.
    fn turn(&mut self, block: BlockRef) {
        let cuts = self.cuts;
        self.open.retain(|(cut, ends)| !ends || cuts.get(*cut).is_some_and(|cut| cut.last == block));
        while cuts.get(self.next).is_some_and(|cut| cut.first == block) {
            self.open.push((self.next, false));
            self.next += 1;
        }
        for (cut, ends) in &mut self.open {
            *ends |= cuts.get(*cut).is_some_and(|cut| cut.last == block);
        }
    }

    /// Adds a move to the prints of the cuts that are running.
    fn print(&mut self, from: [f64; 2], to: [f64; 2], centre: Option<[f64; 2]>) {
        let grain = |place: [f64; 2]| place.map(|value| libm::round(value / SAME) as i64);
        let mut ends = [grain(from), grain(to)];
        ends.sort_unstable();
        let centre = centre.map(grain);
        if centre.is_none() && ends.first() == ends.last() {
            return;
        }
        // Fixed keys: the same way gives the same print in every run.
        let mut hasher = DefaultHasher::new();
        (ends, centre).hash(&mut hasher);
        let print = hasher.finish();
        for (cut, _) in &self.open {
            let way = self.of.get_mut(*cut);
            way.into_iter().for_each(|way| way.print = Some(way.print.unwrap_or(0).wrapping_add(print)));
        }
    }

    /// Adds a move to the edges that running cuts without one of their own come near.
    fn near(&mut self, middle: [f64; 2], heading: [f64; 2], length: f64) {
        for (index, _) in &self.open {
            let cut = self.cuts.get(*index).filter(|cut| cut.edge.is_none());
            let Some(diameter) = cut.and_then(|cut| self.job.tool(cut.tool)).map(|tool| tool.diameter.0) else {
                continue;
            };
            let edge = self.wanted.edge_near(middle, heading, 1.5 * diameter);
            if let Some(((edge, _), way)) = edge.zip(self.of.get_mut(*index)) {
                way.add(edge, length);
            }
        }
    }
}

impl Observer for Scan<'_> {
    fn step(&mut self, step: &Step<'_>) {
        let sideways = |[x, y, _]: [f64; 3]| [x, y];
        let ends = step.from.point().map(sideways).zip(step.to.point().map(sideways));
        let moved = self.origin.has_moved(step);
        let arc = match step.kind {
            StepKind::Line => None,
            StepKind::ArcCw(arc) => Some((arc, -arc.sweep)),
            StepKind::ArcCcw(arc) => Some((arc, arc.sweep)),
            _ => return,
        };
        self.turn(step.block);
        let Some((from, to)) = ends else { return };
        self.print(from, to, arc.map(|(arc, _)| sideways(arc.centre)));
        if !moved {
            let (middle, heading, length) = match arc {
                None => middle_of_line(from, to),
                Some((arc, _)) if arc.plane != Plane::Xy => return,
                Some((arc, turn)) => middle_of_arc(from, &arc, turn),
            };
            self.near(middle, heading, length);
        }
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        self.origin.pass(call);
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

/// Middle, heading and length of a straight move.
fn middle_of_line([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> ([f64; 2], [f64; 2], f64) {
    let length = libm::hypot(bx - ax, by - ay);
    let heading = if length > 0.0 { [(bx - ax) / length, (by - ay) / length] } else { [0.0, 0.0] };
    ([(ax + bx) / 2.0, (ay + by) / 2.0], heading, length)
}

/// The same of an arc that turns so far, counterclockwise positive.
fn middle_of_arc([x, y]: [f64; 2], arc: &Arc, turn: f64) -> ([f64; 2], [f64; 2], f64) {
    let [cx, cy, _] = arc.centre;
    let (sin, cos) = libm::sincos(turn / 2.0);
    let out = [(x - cx) * cos - (y - cy) * sin, (x - cx) * sin + (y - cy) * cos];
    let length = arc.radius * arc.sweep;
    let heading = out.map(|value| value / arc.radius * turn.signum());
    ([cx + out[0], cy + out[1]], [-heading[1], heading[0]], length)
}
