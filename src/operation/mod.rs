//! Steps become holes: where each is, how it was made, which layers it crosses and how it breaks through.

mod breakthrough;
mod hole;
mod point;
mod recognise;

pub use breakthrough::Breakthrough;
pub use hole::{AXIS_Z, Hole, HoleWord, Orbit, Origin, Recipe, Stroke, StrokeKind};
pub use point::{Point, lip, point_length};
pub use recognise::{Contact, Recogniser, Survey, ToolUse, Watcher};
