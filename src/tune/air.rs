//! Air: feed strokes begin just above the face, the tool stays low between holes where nothing stands in its way, and
//! what it feeds through air high over the part goes by rapid.

use super::fulfil::{fulfil, gains};
use super::order::jumps;
use super::task::wish;
use super::{Change, Left, Outcome, Run, Task, counted, links, order};
use crate::diagnostic::Remedy;
use crate::motion::trapezoid_time;
use crate::operation::{AXIS_Z, Origin, Recipe, StrokeKind};
use crate::units::{Millimetres, UnitSystem};
use std::collections::BTreeMap;

/// Air left above the entry face where feeding begins, mm: a house value.
pub(super) const ABOVE: f64 = 2.0;
/// Air that must be saved for a change of a cycle's plane to be worth it, mm: a house value.
const WORTH: f64 = 0.5;
/// The same for a hole written move by move, which gets a line more: a house value.
const WORTH_A_LINE: f64 = 2.0;

/// Takes air out: first over each hole, then between them, then what is left at feed.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    if jumps(run.main()) {
        // Where a jump leads, new blocks and other planes would mean something else.
        let (what, why) = ("air over the holes".to_owned(), "the program jumps to block numbers".to_owned());
        let outcome = Outcome { left: vec![Left { what, why }], ..Outcome::default() };
        return outcome.and_then(run, |run| links::tune(run, task));
    }
    let holes = over_holes(run, task).and_then(run, |run| order::lower(run, task));
    holes.and_then(run, |run| links::tune(run, task))
}

/// Holes whose feed begins lower than now.
struct Lowered {
    tool: u32,
    from: f64,
    to: f64,
    /// Seconds, reckoned by arithmetic.
    gain: f64,
    holes: Vec<u32>,
}

fn over_holes(run: &Run, task: &Task<'_>) -> Outcome {
    let mut groups: Vec<Lowered> = Vec::new();
    let mut left: BTreeMap<(u32, String), usize> = BTreeMap::new();
    let to = begin_at(run.units, task);
    for (recipe, holes) in run.survey.recipes.iter().zip(run.holes_of()) {
        let holes: Vec<u32> = holes.into_iter().filter(|hole| run.in_main(*hole)).collect();
        let air = recipe.start - to;
        if holes.is_empty() || air < WORTH || recipe.axis != AXIS_Z || !recipe.heights_known {
            continue;
        }
        match against(recipe, air, &holes, run, task) {
            Some(why) => *left.entry((recipe.tool, why)).or_default() += holes.len(),
            None => {
                let gain = saved(recipe, to, task) * holes.len() as f64;
                gather(&mut groups, Lowered { tool: recipe.tool, from: recipe.start, to, gain, holes });
            }
        }
    }
    let remedy = |group: &Lowered| Remedy::Approach(Millimetres(group.to));
    let wishes = groups.iter().map(|group| vec![wish(run, &group.holes, remedy(group))]).collect();
    let (next, refused) = fulfil(run, task, wishes);
    let gains = gains(run, next.as_ref(), groups.iter().zip(&refused).map(|(group, why)| (group.gain, why)));
    let mut outcome = Outcome { next, ..Outcome::default() };
    outcome.left = left.into_iter().map(|((tool, why), holes)| stays(tool, holes, why)).collect();
    for ((group, refused), gain) in groups.iter().zip(refused).zip(gains) {
        match refused {
            Some(why) => outcome.left.push(stays(group.tool, group.holes.len(), why)),
            None => outcome.changes.push(group.change(gain, run.units)),
        }
    }
    outcome
}

/// Why so much air over some holes stays.
fn against(recipe: &Recipe, air: f64, holes: &[u32], run: &Run, task: &Task<'_>) -> Option<String> {
    let cycle = matches!(recipe.origin, Origin::Cycle(_));
    if !cycle && air < WORTH_A_LINE {
        return Some(format!("{} less of it is not worth a line more", run.units.length(Millimetres(air))));
    }
    if cycle && recipe.clear < recipe.start + WORTH && !task.job.fixture.listed {
        return Some("`fixture.zones` is not given: what stands between the holes is not known".to_owned());
    }
    run.waived(holes).map(|id| format!("waiver {id} speaks of them"))
}

fn stays(tool: u32, holes: usize, why: String) -> Left {
    Left { what: format!("air over {} with T{tool}", counted(holes, "hole")), why }
}

fn gather(groups: &mut Vec<Lowered>, new: Lowered) {
    match groups.iter_mut().find(|known| known.tool == new.tool && known.from == new.from) {
        Some(known) => {
            known.gain += new.gain;
            known.holes.extend(new.holes);
        }
        None => groups.push(new),
    }
}

/// Where feed may begin, in whole steps of the program's units.
fn begin_at(units: UnitSystem, task: &Task<'_>) -> f64 {
    let step = 0.1 * units.mm();
    libm::ceil((task.job.head.entry_z.0 + ABOVE) / step - 1e-6) * step
}

/// Seconds one hole gets shorter: every feed stroke by its part above `height`, less the rapid that takes the first's.
fn saved(recipe: &Recipe, height: f64, task: &Task<'_>) -> f64 {
    let acceleration = task.job.machine.acceleration.get(2).copied().flatten().map_or(f64::MAX, |a| 1000.0 * a);
    let time = |length: f64, feed: f64| trapezoid_time(length.abs(), feed / 60.0, acceleration);
    let strokes = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed);
    let fed = strokes.filter_map(|stroke| Some((stroke.from, stroke.to, stroke.feed?)));
    let less: f64 =
        fed.map(|(from, to, feed)| time(from - to, feed) - time(from.min(height) - to.min(height), feed)).sum();
    let rapid = task.job.machine.rapid.get(2).copied().flatten();
    less - rapid.map_or(0.0, |rapid| time(recipe.start - height, rapid.0))
}

impl Lowered {
    fn change(&self, gain: Option<f64>, units: UnitSystem) -> Change {
        let height = |z: f64| units.coordinate('Z', Millimetres(z));
        Change {
            tool: Some(self.tool),
            holes: self.holes.len(),
            what: format!("feed begins at {} instead of {}", height(self.to), height(self.from)),
            why: vec![format!("{} above the entry face: house value", units.length(Millimetres(ABOVE)))],
            gain,
        }
    }
}
