//! Bytes to blocks: a lossless reading of word-address text. Grammar: `grammar/word-address.abnf`.

mod block;
mod evaluate;
mod expression;
mod fault;
mod find;
mod formula;
mod frame;
mod line;
mod number;
mod reader;
mod row;
mod statement;
mod text;

pub use block::{Assignment, Block, Control, ControlKind, Number, Value, Word};
pub use evaluate::EvalError;
pub use expression::{Binary, Expression, Function, Parameters};
pub use fault::{SyntaxFault, SyntaxFaultKind};
pub use find::word_span;
pub use reader::{Blocks, Lexis};
pub use row::Row;
