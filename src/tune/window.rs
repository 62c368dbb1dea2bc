//! How fast each stroke may be fed, and what holds it there.

use super::cuts::words;
use super::{Run, Task};
use crate::job::{Job, Laminate};
use crate::operation::{Recipe, Stroke, StrokeKind};
use crate::process::{HoleReading, Reading, SetBy, limits_of};
use crate::units::{Millimetres, MmPerMin, MmPerRev, UnitSystem, trimmed};

/// The most a stroke may be fed, and what says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Table feed at the limit itself, without a margin.
    pub most: MmPerMin,
    /// What holds it, such as `feed ceiling`.
    pub by: &'static str,
    /// The limit in words.
    pub limit: String,
    /// Where the limit comes from.
    pub origin: String,
    /// Whether the job's margin keeps away from it: from limits of the laminate, not from those of the machine.
    pub margin: bool,
}

/// One feed of one kind of hole.
#[derive(Clone, Debug, PartialEq)]
pub struct Operation {
    /// Tool.
    pub tool: u32,
    /// Holes made so; none for cuts.
    pub holes: usize,
    /// Way cut through material by other than hole making.
    pub cut: Millimetres,
    /// Table feed.
    pub feed: MmPerMin,
    /// Feed for each turn, where the speed is known.
    pub per_rev: Option<MmPerRev>,
    /// What holds it, or why that cannot be told.
    pub held: Result<Held, String>,
}

/// Every feed of every kind of hole, in order of making, then those of cuts in order of the text.
#[must_use]
pub fn operations(run: &Run, job: &Job) -> Vec<Operation> {
    let mut operations: Vec<Operation> = Vec::new();
    for (recipe, holes) in run.survey.recipes.iter().zip(run.holes_of()) {
        let reading = HoleReading::of(recipe, job);
        let holes = holes.len();
        for stage in stages(recipe, &reading) {
            let held = stage.held(recipe, &reading, job, run.units);
            let per_rev = stage.speed.map(|speed| MmPerRev(stage.feed / speed));
            let cut = Millimetres(0.0);
            let new = Operation { tool: recipe.tool, holes, cut, feed: MmPerMin(stage.feed), per_rev, held };
            match operations.iter_mut().find(|known| known.is_like(&new)) {
                Some(known) => known.holes += holes,
                None => operations.push(new),
            }
        }
    }
    let holes = operations.len();
    for word in words(run, job) {
        let (feed, held, length) = (MmPerMin(word.feed), word.held_now(job, run.units), Millimetres(word.length));
        let new = Operation { tool: word.tool, holes: 0, cut: length, feed, per_rev: word.per_rev, held };
        let mut cuts = operations.iter_mut().skip(holes);
        match cuts.find(|known| known.is_like(&new)) {
            Some(known) => known.cut = known.cut + length,
            None => operations.push(new),
        }
    }
    operations
}

impl Operation {
    /// Whether both are one operation, however much is made by each.
    fn is_like(&self, other: &Self) -> bool {
        (self.tool, self.feed, self.per_rev) == (other.tool, other.feed, other.per_rev) && self.held == other.held
    }
}

/// Strokes of a hole that follow each other with one feed while they cut.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stage {
    /// Index of the first stroke, and one past the last.
    pub strokes: (usize, usize),
    /// Table feed, mm/min.
    pub feed: f64,
    /// Spindle speed, rev/min.
    pub speed: Option<f64>,
}

/// The stages of a hole that cut something.
pub(super) fn stages(recipe: &Recipe, reading: &HoleReading) -> Vec<Stage> {
    let mut stages: Vec<Stage> = Vec::new();
    for (index, stroke) in cutting(recipe, reading) {
        let Some(feed) = stroke.feed.filter(|feed| *feed > 0.0) else { continue };
        match stages.last_mut() {
            Some(last) if last.feed == feed && last.speed == stroke.speed => last.strokes.1 = index + 1,
            _ => stages.push(Stage { strokes: (index, index + 1), feed, speed: stroke.speed }),
        }
    }
    stages
}

fn cutting<'r>(recipe: &'r Recipe, reading: &'r HoleReading) -> impl Iterator<Item = (usize, &'r Stroke)> {
    let cuts = |index: usize| reading.passes.iter().any(|pass| pass.stroke == index);
    recipe.strokes.iter().enumerate().filter(move |(index, stroke)| stroke.kind == StrokeKind::Feed && cuts(*index))
}

impl Stage {
    /// What holds this stage's feed: the lowest of all limits over everything it cuts.
    ///
    /// # Errors
    /// Why that cannot be told.
    pub fn held(&self, recipe: &Recipe, reading: &HoleReading, job: &Job, units: UnitSystem) -> Result<Held, String> {
        let laminate = job.laminate.as_ref().ok_or("no laminate is given")?;
        let margin = job.tuning.margin.value;
        let mut held: Option<Held> = None;
        let passes = reading.passes.iter().filter(|pass| (self.strokes.0..self.strokes.1).contains(&pass.stroke));
        for pass in passes {
            if let Some(new) = self.by_pass(pass, laminate, recipe, units)? {
                held = Some(lower(held, new, margin));
            }
        }
        let held = held.ok_or("it cuts nothing that has a feed ceiling")?;
        let machine = self.by_machine(recipe, job, units);
        Ok(machine.into_iter().fold(held, |held, new| lower(Some(held), new, margin)))
    }

    /// The lowest ceiling of one pass; none in a core, of which no fibre rule speaks.
    fn by_pass(
        &self,
        pass: &Reading,
        laminate: &Laminate,
        recipe: &Recipe,
        units: UnitSystem,
    ) -> Result<Option<Held>, String> {
        let layer = laminate.layers.get(pass.layer).ok_or("a layer is not in the job")?;
        if layer.material.class.is_core() {
            return Ok(None);
        }
        let per_rev = pass.per_rev.filter(|feed| feed.0 > 0.0).ok_or("its feed for each turn is not known")?;
        let limits = limits_of(pass);
        let ceilings = limits.iter().filter(|(_, by)| !matches!(by, SetBy::Floor | SetBy::ExitFloor));
        let lowest = ceilings.min_by(|a, b| a.0.value.0.total_cmp(&b.0.value.0));
        let (limit, by) = lowest.ok_or_else(|| {
            let key = if layer.limits.tooth_ceiling.is_some() {
                format!("tool.{}.edges", recipe.tool)
            } else {
                format!("laminate.{}.rev_ceiling", laminate.name)
            };
            format!("`{}` has no feed ceiling: give `{key}` in the job file", layer.name)
        })?;
        if pass.window.floor().is_some_and(|floor| floor.value > limit.value) {
            return Err(format!("floor and ceiling leave no feed in `{}`", layer.name));
        }
        let centre = self.speed.map(|speed| self.feed / speed).filter(|_| recipe.orbit.is_some());
        let wall = centre.map_or_else(String::new, |centre| {
            format!(" at the wall ({} times the feed of the centre)", trimmed(per_rev.0 / centre, 3))
        });
        Ok(Some(Held {
            most: MmPerMin(self.feed * limit.value.0 / per_rev.0),
            by: by.words(),
            limit: format!("{}{wall}", units.per_rev(limit.value)),
            origin: limit.origin.clone(),
            margin: true,
        }))
    }

    /// What the machine can do: its greatest feed, and the feed it reaches on the longest stroke of the stage.
    fn by_machine(&self, recipe: &Recipe, job: &Job, units: UnitSystem) -> Vec<Held> {
        let most = Held::by_machine(job, units);
        let strokes = recipe.strokes.get(self.strokes.0..self.strokes.1).unwrap_or_default();
        let longest = strokes.iter().map(|stroke| (stroke.from - stroke.to).abs()).fold(0.0, f64::max);
        let axis = job.machine.acceleration.get(usize::from(recipe.axis)).copied().flatten();
        let reached = axis.filter(|_| recipe.orbit.is_none() && longest > 0.0).map(|acceleration| {
            let feed = MmPerMin(60.0 * libm::sqrt(1000.0 * acceleration * longest));
            Held {
                most: feed,
                by: "machine",
                limit: format!("{} reached", units.feed(feed)),
                origin: format!(
                    "square root of {} m/s2 times {} of stroke, job file: machine.acceleration",
                    trimmed(acceleration, 3),
                    units.length(Millimetres(longest)),
                ),
                margin: false,
            }
        });
        most.into_iter().chain(reached).collect()
    }
}

impl Held {
    /// The machine's greatest feed.
    pub(super) fn by_machine(job: &Job, units: UnitSystem) -> Option<Self> {
        job.machine.max_feed.as_ref().map(|limit| Self {
            most: limit.value,
            by: "machine",
            limit: units.feed(limit.value),
            origin: limit.origin.clone(),
            margin: false,
        })
    }

    /// The fastest feed that keeps away from the limit by `margin`, a share.
    pub fn target(&self, margin: f64) -> MmPerMin {
        if self.margin { self.most * (1.0 - margin) } else { self.most }
    }
}

/// Whichever of two limits holds a feed lower once the margin keeps away from those it keeps away from.
pub(super) fn lower(held: Option<Held>, new: Held, margin: f64) -> Held {
    match held {
        Some(held) if held.target(margin) <= new.target(margin) => held,
        _ => new,
    }
}

impl Task<'_> {
    /// How far feeds keep away from their limits, as a share.
    pub(super) fn margin(&self) -> f64 {
        self.job.tuning.margin.value
    }
}
