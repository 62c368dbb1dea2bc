//! Parameters, brackets and functions: the value of a word that is computed when its block runs.

use std::collections::BTreeMap;

use super::EvalError;

/// An expression as read.
#[derive(Clone, Debug, PartialEq)]
pub enum Expression {
    /// A number.
    Number(f64),
    /// `#` and the index.
    Parameter(Box<Expression>),
    /// A function of one value; angles in degrees.
    Call(Function, Box<Expression>),
    /// ATAN of two values: `ATAN[y]/[x]`.
    Atan(Box<Expression>, Box<Expression>),
    /// Two values.
    Binary(Binary, Box<Expression>, Box<Expression>),
}

/// Functions of one value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Function {
    /// Size without sign.
    Abs,
    /// Inverse cosine.
    Acos,
    /// Inverse sine.
    Asin,
    /// Cosine.
    Cos,
    /// Power of e.
    Exp,
    /// Next integer down.
    Fix,
    /// Next integer up.
    Fup,
    /// Natural logarithm.
    Ln,
    /// Nearest integer, halves away from zero.
    Round,
    /// Sine.
    Sin,
    /// Square root.
    Sqrt,
    /// Tangent.
    Tan,
    /// The minus sign that dialects write before a bracket, a parameter or a function.
    Negate,
}

/// Operators of two values, tightest level first: power; times, divide, modulo; the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binary {
    /// `**`.
    Power,
    /// `*`.
    Times,
    /// `/`.
    Divide,
    /// Remainder that is never negative.
    Modulo,
    /// `+`.
    Plus,
    /// `-`.
    Minus,
    /// 1 when both are not 0, else 0.
    And,
    /// 1 when either is not 0, else 0.
    Or,
    /// 1 when exactly one is not 0, else 0.
    Xor,
}

/// Where parameter values live while a program runs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parameters {
    values: BTreeMap<u32, f64>,
    strict: bool,
}

/// Parameter numbers of the strict language (NISTIR 6556, 3.2.1).
const STRICT_RANGE: (u32, u32) = (1, 5399);
/// Parameter numbers a dialect may use; common practice, no source.
const WIDE_RANGE: (u32, u32) = (0, 9_999_999);

impl Parameters {
    /// Parameters of the strict language: numbers 1 to 5399, and 0 for those nothing set.
    #[must_use]
    pub fn strict() -> Self {
        Self { values: BTreeMap::new(), strict: true }
    }

    /// Value of a parameter; `None` when nothing set it.
    #[must_use]
    pub fn get(&self, index: u32) -> Option<f64> {
        self.values.get(&index).copied()
    }

    /// Sets a parameter.
    pub fn set(&mut self, index: u32, value: f64) {
        self.values.insert(index, value);
    }

    /// Forgets a parameter, when what it is set to is not known.
    pub fn forget(&mut self, index: u32) {
        self.values.remove(&index);
    }

    /// Forgets all of them, when a statement that is not followed may have set any.
    pub fn forget_all(&mut self) {
        self.values.clear();
    }

    /// What an expression reads.
    pub(super) fn read(&self, index: u32) -> Result<f64, EvalError> {
        match self.get(index) {
            Some(value) => Ok(value),
            None if self.strict => Ok(0.0),
            None => Err(EvalError::Unknown(index)),
        }
    }

    /// Lowest and highest parameter number.
    pub(super) fn range(&self) -> (u32, u32) {
        if self.strict { STRICT_RANGE } else { WIDE_RANGE }
    }
}
