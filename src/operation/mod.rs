//! Steps become holes: where each is, how it was made, which layers it crosses and how it breaks through.

mod book;
mod breakthrough;
mod clearance;
mod contact;
mod course;
mod cover;
mod cut;
mod frame;
mod drawing;
mod hole;
mod locate;
mod open;
mod orbit;
mod pending;
mod places;
mod point;
mod recognise;
mod restart;
mod scene;
mod stock;
mod survey;
mod through;
mod timing;
#[cfg(test)]
mod tests;
mod track;
#[cfg(test)]
mod watched;

pub use breakthrough::Breakthrough;
pub use clearance::{
    BodyPart, Clearance, ClearanceGap, Clearances, HORIZON, Hit, Legs, Obstacle, Sink, Travel, gap_with,
    holder_in_hole, rapid_legs, sweeps_into,
};
pub use contact::Contact;
pub use course::{Course, CourseWatch, FirstCut, Stop, ToolCourse};
pub use cover::{Arrival, EdgeCover, Mark};
pub use cut::{Cut, CutEntry, CutStyle, Path, Side, Stretch};
pub use drawing::{Drawing, DrawingHole};
pub use hole::{AXIS_Z, Hole, HoleWord, Orbit, Origin, Recipe, Stroke, StrokeKind};
pub use locate::hole_word_span;
pub use point::{Point, lip, point_key, point_length};
pub use recognise::{Recogniser, Watcher};
pub use restart::{Inherited, Restart, Restarts, restarts};
pub(crate) use stock::Wanted;
pub use survey::{LayerLength, Survey, ToolUse};
pub use through::Stages;
