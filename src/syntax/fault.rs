//! What the reader could not read.

use crate::source::Span;

/// One thing the reader could not read, or read with a doubt. Reading goes on behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct SyntaxFault {
    /// What.
    pub kind: SyntaxFaultKind,
    /// Where.
    pub span: Span,
}

/// Kinds of unreadable text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum SyntaxFaultKind {
    BadCharacter,
}
