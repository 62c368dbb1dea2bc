//! One block: its words with their byte spans and original digits.

use super::{Expression, SyntaxFault};
use crate::source::Span;

/// One line of program text. The reader fills the same block again and again; clone what must outlive it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Block {
    /// The line without its line end.
    pub span: Span,
    /// The line end itself; empty at the end of the file.
    pub end: Span,
    /// Block-delete mark and its level (0 for a bare `/`).
    pub delete: Option<(Span, u8)>,
    /// The N word, letter and digits.
    pub n: Option<Span>,
    /// The O word (program number) and its value.
    pub program: Option<(Span, u32)>,
    /// A line holding only `%` (text after it allowed).
    pub percent: Option<Span>,
    /// All other words in order.
    pub words: Vec<Word>,
    /// Parameter settings in order.
    pub assignments: Vec<Assignment>,
    /// Comments with their marks.
    pub comments: Vec<Span>,
    /// IF, WHILE, GOTO and the like, recognised but not followed.
    pub control: Option<Control>,
    /// What could not be read, in order.
    pub faults: Vec<SyntaxFault>,
}

/// One word: letter and value.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    /// Letter in upper case.
    pub letter: u8,
    /// Value.
    pub value: Value,
    /// Letter and value together.
    pub span: Span,
}

/// A number as typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// Value.
    pub value: f64,
    /// Whether a decimal point was typed.
    pub point: bool,
}

/// What stands after a letter.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A plain number.
    Number(Number),
    /// A parameter, bracket or function, to be evaluated when the block runs.
    Expression(Box<Expression>),
}

/// `#n = value`.
#[derive(Clone, Debug, PartialEq)]
pub struct Assignment {
    /// Number of the parameter: what stands behind `#`.
    pub target: Expression,
    /// Its new value.
    pub value: Expression,
    /// The whole setting.
    pub span: Span,
}

/// A control-flow statement that is recognised but not followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Control {
    /// Which.
    pub kind: ControlKind,
    /// The statement, to the end of the line.
    pub span: Span,
}

/// Statements of macro dialects.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ControlKind {
    /// IF.
    If,
    /// WHILE or WH, DO.
    While,
    /// END.
    End,
    /// GOTO.
    Goto,
    /// O-word statements: sub, call, if, while, repeat and their ends.
    OWord,
    /// A block of another language family (assignments to names, quoted strings).
    Foreign,
}

impl Block {
    /// The first word with that letter.
    #[must_use]
    pub fn word(&self, letter: u8) -> Option<&Word> {
        self.words.iter().find(|word| word.letter == letter)
    }

    /// Whether nothing but blanks, comments, N or O stands on the line.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.words.is_empty() && self.assignments.is_empty() && self.control.is_none()
    }

    /// Forgets everything but keeps the buffers.
    pub fn clear(&mut self) {
        self.span = Span::default();
        self.end = Span::default();
        self.delete = None;
        self.n = None;
        self.program = None;
        self.percent = None;
        self.words.clear();
        self.assignments.clear();
        self.comments.clear();
        self.control = None;
        self.faults.clear();
    }
}
