//! Whether the program still counts from the origin that the job counts from.

use crate::job::Job;
use crate::motion::{CycleCall, Pose, Step, work_offset_code};

/// Places closer than this are the same, mm.
const SAME: f64 = 0.01;

/// Follows the steps of a run. An origin that has moved may not come back exactly, so it counts as moved from there on.
pub(super) struct Origin {
    /// Number of the job's work offset.
    home: Option<u8>,
    /// Where the tool stood last, from above.
    tip: Option<[f64; 2]>,
    moved: bool,
}

impl Origin {
    pub fn of(job: &Job) -> Self {
        let stated = job.head.work_offset.as_deref();
        let home = stated.and_then(|stated| (1..=u8::MAX).find(|number| work_offset_code(*number) == stated));
        Self { home, tip: None, moved: false }
    }

    /// Whether G52, G92 or another work offset has moved it before a step's end: then a step begins where the one before
    /// did not end.
    pub fn has_moved(&mut self, step: &Step<'_>) -> bool {
        let from = from_above(&step.from);
        let jumped = self.tip.is_some_and(|tip| from.is_none_or(|from| is_apart(tip, from)));
        let offset = step.state.work_offset;
        let other = |home: u8| offset.is_stated() && offset.value != home;
        self.moved |= jumped || self.home.is_some_and(other);
        self.tip = from_above(&step.to);
        self.moved
    }

    /// A cycle leaves the tool over its hole.
    pub fn pass(&mut self, call: &CycleCall) {
        let [x, y, _] = call.over;
        self.tip = (call.known.has(0) && call.known.has(1)).then_some([x, y]);
    }
}

/// Where a pose stands seen from above, if that is known.
fn from_above(pose: &Pose) -> Option<[f64; 2]> {
    let [x, y, _] = pose.xyz;
    (pose.known.has(0) && pose.known.has(1)).then_some([x, y])
}

fn is_apart([ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> bool {
    (ax - bx).abs() > SAME || (ay - by).abs() > SAME
}
