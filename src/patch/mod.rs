//! Turns remedies into byte edits in the program's own style, proves them by reading again, and prints a diff.

mod edit;
mod unified;

pub use edit::{Conflict, Edit, Edits};
pub use unified::unified;
