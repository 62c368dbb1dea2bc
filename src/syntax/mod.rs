//! Bytes to blocks: a lossless reading of word-address text. Grammar: `grammar/word-address.abnf`.

mod block;
mod expression;
mod fault;
mod reader;

pub use block::{Assignment, Block, Control, ControlKind, Number, Value, Word};
pub use expression::{Binary, Expression, Function, Parameters};
pub use fault::{SyntaxFault, SyntaxFaultKind};
pub use reader::{Blocks, Lexis};
