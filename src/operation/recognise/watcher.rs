//! Who is told what the recogniser sees.

use crate::motion::{BlockRef, ModalState, MotionFault, Step};
use crate::operation::{Contact, Cut, Survey, ToolUse};

/// Someone who watches holes and steps with their contact.
///
/// Of a canned cycle that repeats the one before it at another place only the positioning rapid is sent as a step, and
/// that only where it does not pass.
pub trait Watcher {
    /// From the next step on the origin lies this much further along X and Y than it first did: G52, G92 or their like
    /// has moved it, or the work offset is another. Steps come in program coordinates, holes and cuts counted from the
    /// first origin.
    fn shifted(&mut self, _by: [f64; 2]) {}
    /// One step and whether it touches material.
    fn step(&mut self, step: &Step<'_>, contact: Contact);
    /// Whether a rapid in the air to the next hole, in the state of the one before, may go by without being sent as a
    /// step: there is nothing in it to judge. Both places are program coordinates, as in a step.
    fn passes(&mut self, _from: [f64; 3], _to: [f64; 3], _state: &ModalState) -> bool {
        false
    }
    /// A hole is finished; `new` says that its recipe has not been seen before.
    fn hole(&mut self, index: u32, new: bool, survey: &Survey);
    /// A cut is finished; `cut` still has its stretches.
    fn cut(&mut self, _cut: &Cut, _survey: &Survey) {}
    /// A tool's stretch ended.
    fn tool(&mut self, used: &ToolUse, survey: &Survey);
    /// The state machine could not do something.
    fn fault(&mut self, fault: MotionFault);
    /// A block was read.
    fn block(&mut self, block: BlockRef, understood: bool);
}
