//! Air: feed strokes begin just above the face, the tool stays low between holes where nothing stands in its way, and
//! what it feeds through air high over the part goes by rapid.

use super::feeds::fulfil;
use super::task::wish;
use super::{Change, Left, Outcome, Run, Task, counted, links, order};
use crate::diagnostic::Remedy;
use crate::motion::trapezoid_time;
use crate::operation::{AXIS_Z, Origin, Recipe, StrokeKind};
use crate::source::SourceId;
use crate::units::{Millimetres, MmPerMin, UnitSystem};

/// Air left above the entry face where feeding begins, mm: a house value.
pub(super) const ABOVE: f64 = 2.0;
/// Air that must be saved for a change of a cycle's plane to be worth it, mm: a house value.
const WORTH: f64 = 0.5;
/// The same for a hole written move by move, which gets a line more: a house value.
const WORTH_A_LINE: f64 = 2.0;

/// Takes air out: first over each hole, then between them, then what is left at feed.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let holes = over_holes(run, task).and_then(run, |run| order::lower(run, task));
    holes.and_then(run, |run| links::tune(run, task))
}

/// Holes whose feed begins lower than now.
struct Lowered {
    tool: u32,
    from: f64,
    to: f64,
    gain: f64,
    holes: Vec<u32>,
}

fn over_holes(run: &Run, task: &Task<'_>) -> Outcome {
    let mut groups: Vec<Lowered> = Vec::new();
    let mut outcome = Outcome::default();
    let left = |tool: u32, holes: usize, why: String| Left {
        what: format!("air over {} with T{tool}", counted(holes, "hole")),
        why,
    };
    for (index, recipe) in (0..).zip(&run.survey.recipes) {
        let height = begin_at(run.units, task);
        let cycle = matches!(recipe.origin, Origin::Cycle(_));
        if recipe.start < height + if cycle { WORTH } else { WORTH_A_LINE }
            || recipe.axis != AXIS_Z
            || !recipe.heights_known
        {
            continue;
        }
        let own = (0..).zip(&run.survey.holes).filter(|(_, hole)| hole.recipe == index);
        let holes: Vec<u32> =
            own.filter(|(_, hole)| hole.source == SourceId::default()).map(|(index, _)| index).collect();
        let travels = cycle && recipe.clear < recipe.start + WORTH;
        if holes.is_empty() {
            continue;
        }
        if travels && task.job.fixture.zones.is_empty() {
            let why = "`fixture.zones` is not given: what stands between the holes is not known";
            outcome.left.push(left(recipe.tool, holes.len(), why.to_owned()));
            continue;
        }
        let gain = saved(recipe, height, task) * holes.len() as f64;
        let same = |known: &&mut Lowered| known.tool == recipe.tool && known.from == recipe.start;
        match groups.iter_mut().find(same) {
            Some(known) => {
                known.gain += gain;
                known.holes.extend(holes);
            }
            None => groups.push(Lowered { tool: recipe.tool, from: recipe.start, to: height, gain, holes }),
        }
    }
    let remedy = |group: &Lowered| Remedy::Approach(Millimetres(group.to));
    let wishes = groups.iter().map(|group| vec![wish(run, &group.holes, remedy(group))]).collect();
    let (next, refused) = fulfil(run, task, wishes);
    for (group, refused) in groups.iter().zip(refused) {
        match refused {
            Some(why) => outcome.left.push(left(group.tool, group.holes.len(), why)),
            None => outcome.changes.push(group.change(run.units)),
        }
    }
    outcome.next = next;
    outcome
}

/// Where feed may begin, in whole steps of the program's units.
fn begin_at(units: UnitSystem, task: &Task<'_>) -> f64 {
    let step = 0.1 * units.mm();
    libm::ceil((task.job.head.entry_z.0 + ABOVE) / step - 1e-6) * step
}

/// Seconds one hole gets shorter: the first stroke by the air it no longer feeds through, less the rapid that takes it.
fn saved(recipe: &Recipe, height: f64, task: &Task<'_>) -> f64 {
    let stroke = recipe.strokes.iter().find(|stroke| stroke.kind == StrokeKind::Feed);
    let Some((stroke, feed)) = stroke.and_then(|stroke| Some((stroke, stroke.feed?))) else { return 0.0 };
    let acceleration = task.job.machine.acceleration.get(2).copied().flatten().map_or(f64::MAX, |a| 1000.0 * a);
    let time = |length: f64, feed: MmPerMin| trapezoid_time(length, feed.0 / 60.0, acceleration);
    let rapid = task.job.machine.rapid.get(2).copied().flatten().unwrap_or(MmPerMin(feed));
    let feed = MmPerMin(feed);
    time(stroke.from - stroke.to, feed) - time(height - stroke.to, feed) - time(stroke.from - height, rapid)
}

impl Lowered {
    fn change(&self, units: UnitSystem) -> Change {
        let height = |z: f64| units.coordinate('Z', Millimetres(z));
        Change {
            tool: Some(self.tool),
            holes: self.holes.len(),
            what: format!("feed begins at {} instead of {}", height(self.to), height(self.from)),
            why: vec![format!("{} above the entry face: house value", units.length(Millimetres(ABOVE)))],
            gain: Some(self.gain),
        }
    }
}
