//! Steps become holes: where each is, how it was made, which layers it crosses and how it breaks through.

mod breakthrough;
mod hole;
mod recognise;

pub use breakthrough::{Breakthrough, point_length};
pub use hole::{AXIS_Z, Hole, HoleWord, Orbit, Origin, Recipe, Stroke, StrokeKind};
pub use recognise::{Contact, Recogniser, Survey, ToolUse, Watcher};
