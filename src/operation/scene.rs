//! The tool in the spindle and whether its heights can be trusted, worked out once for each modal state.

use crate::job::{Job, Tool};
use crate::motion::{LengthOffset, ModalState, Pose, SpindleSense};

/// What stays the same until the modal state changes.
pub(super) struct Scene<'a> {
    generation: Option<u32>,
    /// Tool number; 0 when none or unknown.
    pub number: u32,
    /// The tool, when the job lists it.
    pub tool: Option<&'a Tool>,
    /// Spindle speed, rev/min.
    pub speed: Option<f64>,
    /// Spindle sense.
    pub sense: SpindleSense,
    /// Length offset and modes in order.
    offset_in_order: bool,
}

impl<'a> Scene<'a> {
    /// Before the first step.
    pub fn new() -> Self {
        let sense = SpindleSense::Stopped;
        Self { generation: None, number: 0, tool: None, speed: None, sense, offset_in_order: false }
    }

    /// Brings the scene up to `state`.
    pub fn look(&mut self, state: &ModalState, job: Option<&'a Job>) {
        if self.generation == Some(state.generation) {
            return;
        }
        let number = state.tool.value;
        let tool = job.and_then(|job| job.tool(number));
        *self = Self {
            generation: Some(state.generation),
            number,
            tool,
            speed: state.speed.value.filter(|_| !state.constant_surface.value && !state.doubtful.spindle),
            sense: state.spindle.value,
            offset_in_order: offset_in_order(state) && !state.doubtful.modes,
        };
    }

    /// Whether the tool makes holes by plunging; `None` for a tool the job does not list.
    pub fn makes_holes(&self) -> Option<bool> {
        self.tool.map(|tool| tool.kind.makes_holes())
    }

    /// Whether the tip's height along axis `axis` is known at `pose`: in a tilted head it is not.
    pub fn knows_height(&self, pose: &Pose, axis: usize) -> bool {
        self.offset_in_order && pose.known.has(axis) && pose.abc.iter().all(|angle| *angle == 0.0)
    }
}

/// Whether a length offset was set for the tool. Another tool's number is a finding of its own and taken as meant for
/// this one. Without any offset, heights hold only for a tool set up by hand, until the program changes tools.
fn offset_in_order(state: &ModalState) -> bool {
    match state.length.value {
        LengthOffset::Off => !state.tool.is_stated(),
        LengthOffset::On { .. } => state.length.tool == state.tool.value,
    }
}
