//! Feeds of holes, each to the fastest point of its window less the margin.

use super::fulfil::{fulfil, gains};
use super::task::wish;
use super::window::{Held, Stage, stages};
use super::{Change, Left, Outcome, Run, Task};
use crate::diagnostic::Remedy;
use crate::job::Machine;
use crate::motion::trapezoid_time;
use crate::operation::Recipe;
use crate::process::HoleReading;
use crate::units::{Millimetres, MmPerMin, UnitSystem, trimmed};
use std::collections::BTreeMap;

/// A gain in feed below this share is not worth a change of a proved program: a house value.
const WORTH: f64 = 0.02;

/// Raises the feeds of holes as far as their windows let it.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let (groups, left) = groups(run, task);
    let wishes = groups.iter().map(|group| {
        let remedies = group.remedies.iter();
        remedies.map(|(remedy, holes)| wish(run, holes, remedy.clone())).collect()
    });
    let (next, refused) = fulfil(run, task, wishes.collect());
    let gains = gains(run, next.as_ref(), groups.iter().zip(&refused).map(|(group, why)| (group.gain, why)));
    let mut outcome = Outcome { next, left, ..Outcome::default() };
    for ((group, refused), gain) in groups.iter().zip(refused).zip(gains) {
        match refused {
            Some(why) => outcome.left.push(stays(group.tool, group.holes, why)),
            None => outcome.changes.push(group.change(gain, run.units)),
        }
    }
    outcome
}

/// Holes raised alike, whichever way they are approached.
struct Group {
    tool: u32,
    stages: Vec<Raised>,
    why: Vec<String>,
    holes: usize,
    gain: f64,
    /// Remedies with their holes.
    remedies: Vec<(Remedy, Vec<u32>)>,
}

/// Everything that may be raised, and what stays.
fn groups(run: &Run, task: &Task<'_>) -> (Vec<Group>, Vec<Left>) {
    let mut groups: Vec<Group> = Vec::new();
    let mut left: BTreeMap<(u32, String), usize> = BTreeMap::new();
    for (recipe, holes) in run.survey.recipes.iter().zip(run.holes_of()).filter(|(_, holes)| !holes.is_empty()) {
        let mut stay = |why: String| *left.entry((recipe.tool, why)).or_default() += holes.len();
        match raised(recipe, run, task) {
            Ok(Some(_)) if !holes.iter().all(|hole| run.in_main(*hole)) => {
                stay("its program stands in another file".to_owned());
            }
            Ok(Some(_)) if run.waived(&holes).is_some() => {
                stay(format!("waiver {} speaks of them", run.waived(&holes).unwrap_or_default()));
            }
            Ok(Some(raise)) => gather(&mut groups, recipe.tool, raise, &holes),
            Ok(None) => {}
            Err(why) => stay(why),
        }
    }
    let left = left.into_iter().map(|((tool, why), holes)| stays(tool, holes, why)).collect();
    (groups, left)
}

/// Adds holes to the group that is raised alike.
fn gather(groups: &mut Vec<Group>, tool: u32, raise: Raise, holes: &[u32]) {
    let Raise { stages, why, gain, remedies } = raise;
    let known = groups.iter().position(|group| group.tool == tool && group.stages == stages && group.why == why);
    let known = known.unwrap_or_else(|| {
        groups.push(Group { tool, stages, why, holes: 0, gain: 0.0, remedies: Vec::new() });
        groups.len() - 1
    });
    let Some(group) = groups.get_mut(known) else { return };
    group.holes += holes.len();
    group.gain += gain * holes.len() as f64;
    for remedy in remedies {
        match group.remedies.iter_mut().find(|(known, _)| *known == remedy) {
            Some((_, others)) => others.extend(holes),
            None => group.remedies.push((remedy, holes.to_vec())),
        }
    }
}

impl Group {
    fn change(&self, gain: Option<f64>, units: UnitSystem) -> Change {
        let feeds = |pick: fn(&Raised) -> f64| {
            let said: Vec<String> = self.stages.iter().map(|stage| units.feed(MmPerMin(pick(stage)))).collect();
            said.join(" then ")
        };
        Change {
            tool: Some(self.tool),
            holes: self.holes,
            what: format!("{} becomes {}", feeds(|stage| stage.from), feeds(|stage| stage.to)),
            why: self.why.clone(),
            gain,
        }
    }
}

/// Feeds to be raised, one a stage, and how.
struct Raise {
    stages: Vec<Raised>,
    remedies: Vec<Remedy>,
    why: Vec<String>,
    gain: f64,
}

/// One stage's feed.
#[derive(PartialEq)]
struct Raised {
    from: f64,
    to: f64,
}

/// What may be raised of one kind of hole; `None` when all of it is fast enough.
fn raised(recipe: &Recipe, run: &Run, task: &Task<'_>) -> Result<Option<Raise>, String> {
    let reading = HoleReading::of(recipe, task.job);
    if let Some(gap) = reading.gaps.first() {
        return Err(gap.why.clone());
    }
    let stages = stages(recipe, &reading);
    let mut new = Vec::new();
    let mut why = Vec::new();
    let mut gain = 0.0;
    for stage in &stages {
        let held = stage.held(recipe, &reading, task.job, run.units)?;
        let target = posted(held.target(task.margin()), run.units).0;
        let worth = target > stage.feed * (1.0 + WORTH);
        let to = if worth { target } else { stage.feed };
        new.push(Raised { from: stage.feed, to });
        if worth {
            why.push(line(stage, &held, to, task.margin(), run.units));
            gain += saved(stage, recipe, to, &task.job.machine);
        }
    }
    if new.iter().all(|stage| stage.to == stage.from) {
        return Ok(None);
    }
    let remedies = remedies(recipe, &stages, &new)?;
    Ok(Some(Raise { stages: new, remedies, why, gain }))
}

/// How the new feeds are brought in: one feed for all, or a slower one at the entry or the exit.
fn remedies(recipe: &Recipe, stages: &[Stage], new: &[Raised]) -> Result<Vec<Remedy>, String> {
    let feed = |index: usize| new.get(index).map(|stage| MmPerMin(stage.to)).unwrap_or_default();
    let first_of = |index: usize| stages.get(index).and_then(|stage| recipe.strokes.get(stage.strokes.0));
    let to = Millimetres(recipe.bottom);
    let slow_exit = |index: usize| {
        let from = Millimetres(first_of(index).map_or(recipe.bottom, |stroke| stroke.from));
        Remedy::SlowExit { from, feed: feed(index), to }
    };
    let slow_entry =
        || Remedy::SlowEntry { feed: feed(0), to: Millimetres(first_of(1).map_or(recipe.start, |stroke| stroke.from)) };
    match new {
        [_] => Ok(vec![Remedy::Feed(feed(0))]),
        [a, b] if a.from > b.from && a.to >= b.to => Ok(vec![Remedy::Feed(feed(0)), slow_exit(1)]),
        [a, b] if a.from < b.from && a.to <= b.to => Ok(vec![Remedy::Feed(feed(1)), slow_entry()]),
        [a, b, c] if a.from < b.from && c.from < b.from && a.to <= b.to && c.to <= b.to => {
            Ok(vec![Remedy::Feed(feed(1)), slow_entry(), slow_exit(2)])
        }
        _ => Err("its feed changes too often to be raised stage by stage".to_owned()),
    }
}

/// How a new feed comes about.
fn line(stage: &Stage, held: &Held, to: f64, margin: f64, units: UnitSystem) -> String {
    let less = if held.margin { format!(", less {} % margin", trimmed(100.0 * margin, 1)) } else { String::new() };
    format!(
        "{} to {}: {} {} is {} here{less}; source: {}",
        units.feed(MmPerMin(stage.feed)),
        units.feed(MmPerMin(to)),
        held.by,
        held.limit,
        units.feed(held.most),
        held.origin
    )
}

/// Seconds a stage of one hole gets shorter.
fn saved(stage: &Stage, recipe: &Recipe, to: f64, machine: &Machine) -> f64 {
    let strokes = recipe.strokes.get(stage.strokes.0..stage.strokes.1).unwrap_or_default();
    // A circling tool does not stop between its turns.
    let axis = machine.acceleration.get(usize::from(recipe.axis)).copied().flatten();
    let acceleration = axis.filter(|_| recipe.orbit.is_none()).map_or(f64::MAX, |a| 1000.0 * a);
    let time = |feed: f64| -> f64 {
        strokes.iter().map(|stroke| trapezoid_time(recipe.way(stroke), feed / 60.0, acceleration)).sum()
    };
    time(stage.feed) - time(to)
}

/// A feed cut to three figures in program units, never upwards.
pub(super) fn posted(feed: MmPerMin, units: UnitSystem) -> MmPerMin {
    let value = feed.0 / units.mm();
    if !(value.is_finite() && value > 0.0) {
        return feed;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 2.0);
    MmPerMin(libm::floor(value / step + 1e-6) * step * units.mm())
}

fn stays(tool: u32, holes: usize, why: String) -> Left {
    Left { what: format!("feed of {} with T{tool}", super::counted(holes, "hole")), why }
}
