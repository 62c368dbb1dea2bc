//! Wishes carried out: what of them stands in the text, is nowhere worse, and buys time that can be told.

use super::proof::nothing_worse;
use super::{Run, Task};
use crate::diagnostic::Finding;
use crate::motion::{BlockRef, CycleCall, Expand, ModalState, MotionFault, Observer, Pose, Step, StepKind};
use crate::patch::Patch;
use crate::source::{Source, SourceId};
use std::collections::BTreeSet;

/// Groups that are tried one after the other where they do not hold together: a house value.
const MOST_ALONE: usize = 20;

/// Why a group is refused that the text carries out for some of its holes only.
const PARTLY: &str = "not all of their blocks could be changed";

/// The program after a try, and for each group why it was refused, if it was.
pub(super) type Fulfilled = (Option<Run>, Vec<Option<String>>);

/// The program with as many groups of wishes as a patch can prove and a replay finds no worse.
pub(super) fn fulfil(run: &Run, task: &Task<'_>, groups: Vec<Vec<Finding>>) -> Fulfilled {
    let attempt = Attempt { run, task, groups: &groups };
    let all: BTreeSet<usize> = (0..groups.len()).collect();
    let (next, refused) = attempt.whole(all);
    match next.as_ref().map(|next| no_worse(run, next, task)) {
        Some(Err(why)) => attempt.one_by_one(refused, &why),
        _ => (next, refused),
    }
}

/// What each group buys: its share, by what was reckoned for it, of the seconds that a replay finds saved by all that
/// were not refused; nothing where that cannot be told.
pub(super) fn gains<'w>(
    run: &Run,
    next: Option<&Run>,
    groups: impl Iterator<Item = (f64, &'w Option<String>)>,
) -> Vec<Option<f64>> {
    let reckoned: Vec<f64> = groups.map(|(gain, refused)| if refused.is_some() { 0.0 } else { gain }).collect();
    let all: f64 = reckoned.iter().sum();
    let saved = next.map_or(0.0, |next| run.seconds() - next.seconds());
    reckoned.iter().map(|gain| Some(saved * gain / all).filter(|gain| gain.is_finite())).collect()
}

struct Attempt<'a> {
    run: &'a Run,
    task: &'a Task<'a>,
    groups: &'a [Vec<Finding>],
}

impl Attempt<'_> {
    /// Wanted groups together, without those that the text carries out for some of their holes only.
    fn whole(&self, mut wanted: BTreeSet<usize>) -> Fulfilled {
        let mut dropped = BTreeSet::new();
        loop {
            let (next, mut refused) = self.patched(&wanted);
            let partly: BTreeSet<usize> = match &next {
                Some(next) => {
                    let stand = wanted.iter().filter(|group| refused.get(**group).is_some_and(Option::is_none));
                    stand.filter(|group| !self.is_carried_out(**group, next)).copied().collect()
                }
                None => BTreeSet::new(),
            };
            if partly.is_empty() {
                for (slot, _) in refused.iter_mut().zip(0..).filter(|(_, group)| dropped.contains(group)) {
                    *slot = Some(PARTLY.to_owned());
                }
                return (next, refused);
            }
            wanted.retain(|group| !partly.contains(group));
            dropped.extend(partly);
        }
    }

    /// The groups that were not refused one after the other, each kept if the program is no worse with it.
    fn one_by_one(&self, mut refused: Vec<Option<String>>, why: &str) -> Fulfilled {
        let open: Vec<usize> = (0..).zip(&refused).filter(|(_, why)| why.is_none()).map(|(group, _)| group).collect();
        let alone = open.len() == 1;
        let (mut kept, mut next) = (BTreeSet::new(), None);
        for (number, group) in open.into_iter().enumerate() {
            kept.insert(group);
            let tried = if alone || number >= MOST_ALONE { Err(why.to_owned()) } else { self.with(&kept, group) };
            match tried {
                Ok(run) => next = Some(run),
                Err(why) => {
                    kept.remove(&group);
                    refused.get_mut(group).into_iter().for_each(|slot| *slot = Some(why.clone()));
                }
            }
        }
        (next, refused)
    }

    fn with(&self, kept: &BTreeSet<usize>, group: usize) -> Result<Run, String> {
        let (next, refused) = self.patched(kept);
        if let Some(why) = refused.into_iter().nth(group).flatten() {
            return Err(why);
        }
        let next = next.ok_or("it could not be written")?;
        if !self.is_carried_out(group, &next) {
            return Err(PARTLY.to_owned());
        }
        no_worse(self.run, &next, self.task).map(|()| next)
    }

    fn patched(&self, wanted: &BTreeSet<usize>) -> Fulfilled {
        let Self { run, task, groups } = self;
        let mut findings = run.findings.clone();
        let mut owners = Vec::new();
        for (number, group) in groups.iter().enumerate().filter(|(number, _)| wanted.contains(number)) {
            owners.extend((findings.len()..).zip(group).map(|(index, _)| (index, number)));
            findings.extend(group.iter().cloned());
        }
        let inputs = run.inputs(task, &findings);
        let indices = owners.iter().map(|(index, _)| *index).collect();
        let patch = Patch::fulfil(&inputs, indices, &|source, _| (task.replay)(source).into());
        let refused = |number: usize| {
            let own = |index: &usize| owners.contains(&(*index, number));
            patch.verdict().left.iter().find(|(index, _)| own(index)).map(|(_, why)| why.clone())
        };
        let main = patch.patched().find(|(id, ..)| *id == SourceId::default());
        let next = main.map(|(_, name, bytes)| (task.replay)(Source::new(name, bytes)));
        (next, (0..groups.len()).map(refused).collect())
    }

    /// Whether each hole of a group is made in another way than before.
    fn is_carried_out(&self, group: usize, next: &Run) -> bool {
        let wishes = self.groups.get(group).into_iter().flatten();
        let mut holes = wishes.flat_map(|wish| &wish.places).filter_map(|place| place.hole);
        holes.all(|hole| {
            let made = |run: &Run| run.survey.recipe_of(run.survey.holes.get(hole as usize)?).cloned();
            made(self.run).map(|recipe| recipe.strokes) != made(next).map(|recipe| recipe.strokes)
        })
    }
}

/// Nothing new is found, nothing takes longer, and no time is told that could not be told before.
fn no_worse(run: &Run, next: &Run, task: &Task<'_>) -> Result<(), String> {
    nothing_worse(run, next)?;
    let (before, after) = (Untimed::of(run, task), Untimed::of(next, task));
    if after < before {
        return Err("where the tool comes from is not known there, so what it would save cannot be told".to_owned());
    }
    Ok(())
}

/// Counts feed moves whose way is not known, so that no time counts for them.
struct Untimed(usize);

impl Untimed {
    fn of(run: &Run, task: &Task<'_>) -> usize {
        let mut untimed = Self(0);
        run.watch(task, &mut untimed);
        untimed.0
    }
}

impl Observer for Untimed {
    fn step(&mut self, step: &Step<'_>) {
        let known = |pose: &Pose| [0, 1, 2].map(|axis| pose.known.has(axis));
        let feeds = matches!(step.kind, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_));
        self.0 += usize::from(feeds && known(&step.from) != known(&step.to));
    }

    fn cycle(&mut self, _call: &CycleCall, _block: BlockRef, _state: &ModalState) -> Expand {
        Expand::Steps
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
