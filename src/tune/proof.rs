//! What every change of text is held to: nothing new found, nothing slower, and each step of the tool as it was.

use super::{Run, Task};
use crate::diagnostic::Finding;
use crate::motion::{BlockRef, CycleCall, Expand, ModalState, MotionFault, Observer, Pose, Step, StepKind};
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::mem::discriminant;

/// No rule finds more than it did, no check is lost, and the program takes no longer.
///
/// # Errors
/// With what does not hold.
pub(super) fn nothing_worse(before: &Run, after: &Run) -> Result<(), String> {
    findings(&before.findings, &after.findings)?;
    let new = after.not_checked.iter().find(|new| !before.not_checked.contains(new));
    if let Some(new) = new {
        return Err(format!("{} could no longer be concluded: {}", new.rule, new.why));
    }
    if after.seconds() > before.seconds() + 1e-6 {
        let (was, is) = (before.seconds(), after.seconds());
        return Err(format!("the program would take {is:.1} s instead of {was:.1} s"));
    }
    Ok(())
}

/// No rule finds more than it did.
fn findings(before: &[Finding], after: &[Finding]) -> Result<(), String> {
    let count = |findings: &[Finding]| {
        let mut places: BTreeMap<&'static str, u64> = BTreeMap::new();
        for finding in findings {
            *places.entry(finding.rule).or_default() += (finding.places.len() as u64).max(1) + finding.more_places;
        }
        places
    };
    let known = count(before);
    let more = count(after).into_iter().find(|(rule, places)| known.get(rule).is_none_or(|known| places > known));
    match more {
        Some((rule, _)) => {
            let new = after.iter().find(|finding| finding.rule == rule);
            Err(format!("it would bring a new finding: {rule}: {}", new.map_or("", |new| new.message.as_str())))
        }
        None => Ok(()),
    }
}

/// Every step of a program, as prints of where it goes and of how.
#[derive(Default)]
pub(super) struct Trail {
    steps: Vec<(u64, u64)>,
}

impl Trail {
    /// The trail of a program.
    pub fn of(run: &Run, task: &Task<'_>) -> Self {
        let mut trail = Self::default();
        run.watch(task, &mut trail);
        trail
    }

    /// Whether both programs take the same steps to the same places, and in the same way but for the steps, by number,
    /// that `freed` names.
    pub fn is_same(&self, other: &Self, freed: &dyn Fn(usize) -> bool) -> bool {
        let mut pairs = self.steps.iter().zip(&other.steps).enumerate();
        self.steps.len() == other.steps.len()
            && pairs.all(|(number, (old, new))| old.0 == new.0 && (old.1 == new.1 || freed(number)))
    }

    fn push(&mut self, place: impl Hash, way: impl Hash) {
        // Fixed keys: the same steps give the same prints in every run.
        let print = |what: &dyn Fn(&mut DefaultHasher)| {
            let mut hasher = DefaultHasher::new();
            what(&mut hasher);
            hasher.finish()
        };
        self.steps.push((print(&|hasher| place.hash(hasher)), print(&|hasher| way.hash(hasher))));
    }
}

fn place_of(pose: &Pose) -> ([u64; 3], [bool; 3]) {
    (pose.xyz.map(f64::to_bits), [0, 1, 2].map(|axis| pose.known.has(axis)))
}

fn modal(state: &ModalState) -> impl Hash {
    let senses = (discriminant(&state.spindle.value), discriminant(&state.path.value));
    let air = (state.mist.value, state.flood.value, state.extraction.value);
    (state.tool.value, state.speed.value.map(f64::to_bits), senses, air)
}

impl Observer for Trail {
    fn step(&mut self, step: &Step<'_>) {
        let arc = match step.kind {
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => Some((arc.centre.map(f64::to_bits), arc.sweep.to_bits())),
            _ => None,
        };
        let seconds = match step.kind {
            StepKind::Dwell(seconds) => seconds.map(f64::to_bits),
            _ => None,
        };
        let kind = (discriminant(&step.kind), seconds);
        self.push((place_of(&step.to), arc), (kind, step.feed.map(f64::to_bits), modal(step.state)));
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, state: &ModalState) -> Expand {
        let heights = [call.r, call.bottom, call.clear, call.q.unwrap_or(f64::NAN)].map(f64::to_bits);
        let over = (call.over.map(f64::to_bits), heights, discriminant(&call.code));
        self.push(over, (call.feed.map(f64::to_bits), modal(state)));
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
