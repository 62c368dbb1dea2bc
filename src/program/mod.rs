//! Which programs a run consists of: the main one, the subprograms it reaches, and who calls whom.

mod candidates;
mod graph;
mod scan;
#[cfg(test)]
mod tests;

pub use graph::ProgramGraph;
pub use scan::own_number;

use crate::source::{SourceId, Span};

/// Most calls inside each other that are followed (common practice, no source; older controls stop at four).
pub const MOST_NESTED_CALLS: usize = 10;

/// Names a program of a graph; 0 is the main program.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ProgramId(pub u32);

/// One program: from its O word (or the start of its file) to the next one.
#[derive(Clone, Debug, PartialEq)]
pub struct Program {
    /// Its number; `None` for a main program without an O word.
    pub number: Option<u32>,
    /// Where it stands.
    pub source: SourceId,
    /// Byte offset of its first block.
    pub start: u32,
    /// One past its last byte.
    pub end: u32,
    /// Its O word; empty when it has none.
    pub heading: Span,
}

/// How a block hands over to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CallKind {
    /// M98 P: a numbered program.
    Program,
    /// M97 P or M98 Q: a sequence number of the same program or file.
    Sequence,
    /// G65 or G66: a macro, which is not followed.
    Macro,
    /// M99 P: back to a sequence number of the caller.
    ReturnTo,
}

/// A call as it stands in the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    /// How.
    pub kind: CallKind,
    /// Program with the call.
    pub caller: ProgramId,
    /// Its source.
    pub source: SourceId,
    /// The block.
    pub block: Span,
    /// The P or Q word that names the target.
    pub word: Span,
    /// The number called; `None` when an expression computes it.
    pub number: Option<u32>,
    /// How often; 1 without a repeat word, and for one that an expression computes.
    pub times: u32,
    /// The program called, when it was found.
    pub target: Option<ProgramId>,
}
