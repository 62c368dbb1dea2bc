//! What the reader could not read: each condition with its text and the rule it is reported under.

use crate::source::Span;

/// One thing the reader could not read, or read with a doubt. Reading goes on behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SyntaxFault {
    /// What.
    pub kind: SyntaxFaultKind,
    /// Where.
    pub span: Span,
}

/// Kinds of unreadable text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SyntaxFaultKind {
    /// Text that belongs to no word.
    BadCharacter,
    /// A letter with nothing behind it that could be its value.
    MissingValue,
    /// A sign or point without digits.
    NoDigits,
    /// A number with two points.
    BadNumber,
    /// A number beyond the range of a 64-bit float, or a program number beyond 32 bits.
    NumberTooLarge,
    /// No plain digits after N.
    BadLineNumber,
    /// More than five digits after N (strict).
    LineNumberTooLong,
    /// An N word behind other words.
    LineNumberNotFirst,
    /// More characters than the strict language allows.
    LineTooLong,
    /// A line so long that nothing of it is read.
    LineUnreadable,
    /// A comment inside a comment.
    NestedComment,
    /// A comment that does not end on its line.
    UnclosedComment,
    /// `[` without its `]`.
    UnclosedExpression,
    /// No operator where one must stand.
    UnknownOperation,
    /// A name before `[` that is no function.
    UnknownFunction,
    /// A function name without `[`.
    BracketMissing,
    /// ATAN with one argument.
    SlashMissing,
    /// A parameter at the start of a setting without `=`.
    EqualMissing,
    /// More than `formula::MOST_PARTS` parts in one expression.
    ExpressionTooLong,
    /// Letters that form no word.
    UnknownName,
    /// `#<name>`.
    NamedParameter,
    /// `,R` or `,C`: corner rounding or chamfer.
    CornerWord,
    /// `/` in mid-line: the control may skip the rest of the block.
    SkipRest,
}

impl SyntaxFaultKind {
    /// What is wrong, in lower case without a full stop.
    #[must_use]
    pub fn message(self) -> &'static str {
        match self {
            Self::BadCharacter => "this text belongs to no word",
            Self::MissingValue => "a letter has no number behind it",
            Self::NoDigits => "a sign or a point has no digits",
            Self::BadNumber => "a number has two decimal points",
            Self::NumberTooLarge => "a number is too large to be held",
            Self::BadLineNumber => "an N word needs plain digits",
            Self::LineNumberTooLong => "an N word has more than 5 digits",
            Self::LineNumberNotFirst => "an N word stands behind other words of its block",
            Self::LineTooLong => "the line is longer than 254 characters with its end",
            Self::LineUnreadable => "the line is longer than 65536 characters and was not read",
            Self::NestedComment => "a comment opens inside a comment",
            Self::UnclosedComment => "a comment does not end on its line",
            Self::UnclosedExpression => "an expression has no closing bracket",
            Self::UnknownOperation => "no known operator stands between two values",
            Self::UnknownFunction => "the name before the bracket is no known function",
            Self::BracketMissing => "a function has no bracket behind its name",
            Self::SlashMissing => "ATAN needs two values, as in ATAN[1]/[2]",
            Self::EqualMissing => "a parameter setting has no equal sign",
            Self::ExpressionTooLong => "an expression has more than 200 parts",
            Self::UnknownName => "these letters form no word",
            Self::NamedParameter => "named parameters are not followed",
            Self::CornerWord => "corner rounding and chamfer words are not rebuilt",
            Self::SkipRest => "a slash in mid-block may skip the rest, which was not read",
        }
    }

    /// Name of the rule it is reported under.
    #[must_use]
    pub fn rule(self) -> &'static str {
        match self {
            Self::LineNumberNotFirst => "word-conflict",
            Self::LineNumberTooLong | Self::LineTooLong => "program-frame",
            Self::NamedParameter | Self::CornerWord | Self::SkipRest => "not-followed",
            Self::BadCharacter
            | Self::MissingValue
            | Self::NoDigits
            | Self::BadNumber
            | Self::NumberTooLarge
            | Self::BadLineNumber
            | Self::LineUnreadable
            | Self::NestedComment
            | Self::UnclosedComment
            | Self::UnclosedExpression
            | Self::UnknownOperation
            | Self::UnknownFunction
            | Self::BracketMissing
            | Self::SlashMissing
            | Self::EqualMissing
            | Self::ExpressionTooLong
            | Self::UnknownName => "text-unreadable",
        }
    }

    /// Whether words may be missing from the block because of it, so that what the block does is in doubt.
    #[must_use]
    pub fn loses_words(self) -> bool {
        !matches!(self, Self::LineNumberTooLong | Self::LineNumberNotFirst | Self::LineTooLong | Self::NestedComment)
    }
}
