//! Parameters, brackets and functions: the value of a word that is computed when its block runs.

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
#[allow(missing_docs)]
pub enum Function {
    Abs,
    Acos,
    Asin,
    Cos,
    Exp,
    Fix,
    Fup,
    Ln,
    Round,
    Sin,
    Sqrt,
    Tan,
    Negate,
}

/// Operators of two values, tightest level first: power; times, divide, modulo; the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Binary {
    Power,
    Times,
    Divide,
    Modulo,
    Plus,
    Minus,
    And,
    Or,
    Xor,
}

/// Where parameter values live while a program runs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Parameters {
    values: std::collections::BTreeMap<u32, f64>,
}

impl Parameters {
    /// Value of a parameter; `None` when nothing set it.
    #[must_use]
    pub fn get(&self, index: u32) -> Option<f64> {
        self.values.get(&index).copied()
    }

    /// Sets a parameter.
    pub fn set(&mut self, index: u32, value: f64) {
        self.values.insert(index, value);
    }
}
