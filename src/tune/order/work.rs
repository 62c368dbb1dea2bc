//! All that a program feeds and waits for, whatever the order: each cycle, feed move and dwell in the state it runs in.

use super::proof::grain;
use crate::motion::{BlockRef, CycleCall, Expand, ModalState, MotionFault, Observer, Plane, Step, StepKind};
use crate::tune::proof::modal;
use crate::tune::{Run, Task};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::mem::discriminant;

/// Prints of the work, sorted.
#[derive(Default, PartialEq, Eq)]
pub(super) struct Work {
    prints: Vec<u64>,
}

impl Work {
    pub fn of(run: &Run, task: &Task<'_>) -> Self {
        let mut work = Self::default();
        run.watch(task, &mut work);
        work.prints.sort_unstable();
        work
    }

    fn push(&mut self, what: impl Hash) {
        // Fixed keys: the same work gives the same prints in every run.
        let mut hasher = DefaultHasher::new();
        what.hash(&mut hasher);
        self.prints.push(hasher.finish());
    }
}

impl Observer for Work {
    fn step(&mut self, step: &Step<'_>) {
        let ends = [step.from.xyz, step.to.xyz].map(|place| place.map(grain));
        let fed = (step.feed.map(grain), modal(step.state));
        match step.kind {
            StepKind::Line => self.push((ends, fed)),
            StepKind::ArcCw(arc) | StepKind::ArcCcw(arc) => {
                self.push((discriminant(&step.kind), ends, arc.centre.map(grain), grain(arc.sweep), fed));
            }
            // What offsets are in force matters to no dwell.
            StepKind::Dwell(seconds) => self.push((seconds.map(grain), step.state.tool.value)),
            StepKind::Stop(number) => self.push(number),
            StepKind::Rapid | StepKind::Spindle | StepKind::ToolChange | StepKind::End => {}
        }
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, state: &ModalState) -> Expand {
        let [x, y, z] = call.over.map(grain);
        // Along Z the tool may come from any height.
        let over = [x, y, if call.plane == Plane::Xy { 0 } else { z }];
        let heights = [call.r, call.bottom].map(grain);
        let dwell = call.dwell.map(|dwell| dwell.map(grain).map_err(grain));
        let inside = (call.q.map(grain), dwell, call.back_off.map(grain), call.ijk.map(|word| word.map(grain)));
        self.push((discriminant(&call.code), over, heights, inside, call.feed.map(grain), modal(state)));
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}
