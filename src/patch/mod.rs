//! Turns remedies into byte edits in the program's own style, proves them by reading again, and prints a diff.

mod edit;
mod style;
mod unified;

pub use edit::{Conflict, Edit, Edits};
pub use style::{Rounding, Style};
pub use unified::unified;
