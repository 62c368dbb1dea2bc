//! Turns remedies into byte edits in the program's own style, proves them by reading again, and prints a diff.

mod block_edit;
mod cycles;
mod edit;
mod long_hand;
mod numbering;
mod scene;
mod style;
mod unified;
mod wish;

pub use edit::{Conflict, Edit, Edits};
pub use style::{Rounding, Style};
pub use unified::unified;
