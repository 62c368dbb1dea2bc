//! The modal state machine: blocks become steps of the tool, each with its state, block and call trace.

mod advice;
mod again;
mod arc;
mod auxiliary;
mod calls;
mod code;
mod compensation;
mod cycle;
mod dialect;
mod fault;
#[cfg(test)]
mod hostile;
mod modes;
mod moves;
mod offsets;
mod plan;
mod pose;
mod runner;
mod series;
mod settings;
mod state;
mod step;
#[cfg(test)]
mod tests;
mod tool_file;
mod travel;
mod usage;
mod wording;
mod words;

pub use code::{Action, AxisOffset, Callee, Code, Coolant, Group};
pub use compensation::{ArcForm, Compensation, CompensationFault, Leg, Legs};
pub use cycle::{CycleAction, CycleCode, CycleKind, CycleMove, expand};
pub use dialect::{
    AfterCancel, BareBlock, BoreExit, Declared, Dialect, HomeMoves, IncrementalR, InitialLevel, PeckRetract,
    StickyValues, StopCodes, ZeroRepeat,
};
pub use fault::FaultKind;
pub use moves::{COLUMNS, MoveRow, Moves};
pub use plan::{
    Cause, Drive, HOUSE_LOOK_AHEAD, HOUSE_TOLERANCE, Limits, Planned, Planner, Profile, Segment, Times, trapezoid_time,
};
pub use pose::{Axes, Pose};
pub use runner::run;
pub use settings::{Settings, ToolOffset, ToolTable};
pub use state::{
    CutterSide, Distance, Doubt, FeedMode, LengthOffset, ModalState, MotionMode, PathMode, Plane, ReturnLevel, Set,
    SpindleSense, UNSTATED, work_offset_code,
};
pub use step::{Arc, BlockRef, CycleCall, CyclePart, Expand, MotionFault, Observer, Step, StepKind, Trace, TraceId};
