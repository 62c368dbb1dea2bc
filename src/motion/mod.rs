//! The modal state machine: blocks become steps of the tool, each with its state, block and call trace.

mod compensation;
mod cycle;
mod fault;
mod pose;
mod state;
mod step;

pub use compensation::{ArcForm, Compensation, CompensationFault, Leg, Legs};
pub use cycle::{CycleAction, CycleMove, expand};
pub use fault::FaultKind;
pub use pose::{Axes, Pose};
pub use state::{
    CutterSide, CycleCode, Distance, Doubt, FeedMode, LengthOffset, ModalState, MotionMode, PathMode, Plane,
    ReturnLevel, Set, SpindleSense, UNSTATED,
};
pub use step::{Arc, BlockRef, CycleCall, CyclePart, Expand, MotionFault, Observer, Step, StepKind, Trace, TraceId};
