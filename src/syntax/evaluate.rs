//! The value of an expression, and why it may have none (NISTIR 6556, 3.3.2).

use super::{Binary, Expression, Function, Parameters};

/// A value this close to an integer counts as that integer (NISTIR 6556, 3.3.2.1).
const INTEGER_TOLERANCE: f64 = 0.0001;

/// Why an expression has no value.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum EvalError {
    /// Nothing set the parameter, so its value is machine state that the text does not tell.
    #[error("parameter #{0} has no value that the program text tells")]
    Unknown(u32),
    /// A parameter number that is no whole number or out of range.
    #[error("parameter number {0} is not a whole number from {1} to {2}")]
    IndexOutOfRange(f64, u32, u32),
    /// Division or remainder by zero.
    #[error("{0} is divided by zero")]
    DivisionByZero(f64),
    /// A root of a negative number by `**`.
    #[error("{0} is negative and cannot be raised to the fractional power {1}")]
    FractionalPower(f64, f64),
    /// ACOS or ASIN outside -1 to 1.
    #[error("{1} of {0} does not exist; the value must lie between -1 and 1")]
    InverseOutOfRange(f64, &'static str),
    /// SQRT of a negative number.
    #[error("the square root of {0} does not exist; the value must not be negative")]
    NegativeRoot(f64),
    /// LN of zero or less.
    #[error("the logarithm of {0} does not exist; the value must be above 0")]
    LogarithmOutOfRange(f64),
    /// A result that no 64-bit float can hold.
    #[error("a result is too large to be held")]
    TooLarge,
}

impl Expression {
    /// The value, with the parameters as they stand.
    ///
    /// # Errors
    /// When arithmetic fails, or when a parameter is not known.
    pub fn eval(&self, parameters: &Parameters) -> Result<f64, EvalError> {
        let value = match self {
            Self::Number(value) => *value,
            Self::Parameter(index) => parameters.read(index.eval_index(parameters)?)?,
            Self::Call(function, argument) => function.apply(argument.eval(parameters)?)?,
            Self::Atan(y, x) => libm::atan2(y.eval(parameters)?, x.eval(parameters)?).to_degrees(),
            Self::Binary(operator, left, right) => operator.apply(left.eval(parameters)?, right.eval(parameters)?)?,
        };
        if value.is_finite() { Ok(value) } else { Err(EvalError::TooLarge) }
    }

    /// The value as the number of a parameter.
    ///
    /// # Errors
    /// As `eval`, or when the value is no parameter number.
    pub fn eval_index(&self, parameters: &Parameters) -> Result<u32, EvalError> {
        let value = self.eval(parameters)?;
        let (nearest, (lowest, highest)) = (libm::round(value), parameters.range());
        let whole = (value - nearest).abs() <= INTEGER_TOLERANCE;
        if !whole || nearest < f64::from(lowest) || nearest > f64::from(highest) {
            return Err(EvalError::IndexOutOfRange(value, lowest, highest));
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked against the range")]
        Ok(nearest as u32)
    }
}

impl Function {
    /// The function at `value`; angles in degrees.
    fn apply(self, value: f64) -> Result<f64, EvalError> {
        let inverse_allowed = (-1.0..=1.0).contains(&value);
        Ok(match self {
            Self::Acos if !inverse_allowed => return Err(EvalError::InverseOutOfRange(value, "ACOS")),
            Self::Asin if !inverse_allowed => return Err(EvalError::InverseOutOfRange(value, "ASIN")),
            Self::Sqrt if value < 0.0 => return Err(EvalError::NegativeRoot(value)),
            Self::Ln if value <= 0.0 => return Err(EvalError::LogarithmOutOfRange(value)),
            Self::Abs => value.abs(),
            Self::Acos => libm::acos(value).to_degrees(),
            Self::Asin => libm::asin(value).to_degrees(),
            Self::Cos => libm::cos(value.to_radians()),
            Self::Exp => libm::exp(value),
            Self::Fix => libm::floor(value),
            Self::Fup => libm::ceil(value),
            Self::Ln => libm::log(value),
            Self::Round => libm::round(value),
            Self::Sin => libm::sin(value.to_radians()),
            Self::Sqrt => libm::sqrt(value),
            Self::Tan => libm::tan(value.to_radians()),
            Self::Negate => -value,
        })
    }
}

impl Binary {
    fn apply(self, left: f64, right: f64) -> Result<f64, EvalError> {
        let truth = |holds: bool| if holds { 1.0 } else { 0.0 };
        let (left_true, right_true) = (left != 0.0, right != 0.0);
        Ok(match self {
            Self::Divide | Self::Modulo if !right_true => return Err(EvalError::DivisionByZero(left)),
            Self::Power if left < 0.0 && libm::floor(right) != right => {
                return Err(EvalError::FractionalPower(left, right));
            }
            Self::Power => libm::pow(left, right),
            Self::Times => left * right,
            Self::Divide => left / right,
            Self::Modulo => never_negative_remainder(left, right),
            Self::Plus => left + right,
            Self::Minus => left - right,
            Self::And => truth(left_true && right_true),
            Self::Or => truth(left_true || right_true),
            Self::Xor => truth(left_true != right_true),
        })
    }
}

/// The remainder of MOD, which lies from 0 up to the size of the divisor.
fn never_negative_remainder(left: f64, right: f64) -> f64 {
    let remainder = libm::fmod(left, right);
    if remainder < 0.0 { remainder + right.abs() } else { remainder }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parameter(index: f64) -> Expression {
        Expression::Parameter(Box::new(Expression::Number(index)))
    }

    #[test]
    fn dialects_do_not_invent_a_value() {
        let mut parameters = Parameters::default();
        parameters.set(100, 4.0);
        assert_eq!(parameter(100.0).eval(&parameters), Ok(4.0));
        assert_eq!(parameter(5021.0).eval(&parameters), Err(EvalError::Unknown(5021)));
        assert_eq!(parameter(0.0).eval(&parameters), Err(EvalError::Unknown(0)));
        parameters.forget(100);
        assert_eq!(parameter(100.0).eval(&parameters), Err(EvalError::Unknown(100)));
        assert_eq!(parameter(100.0).eval(&Parameters::strict()), Ok(0.0));
    }

    #[test]
    fn an_unknown_value_makes_the_whole_unknown() {
        let sum = Expression::Binary(Binary::Times, Box::new(Expression::Number(0.0)), Box::new(parameter(7.0)));
        assert_eq!(sum.eval(&Parameters::default()), Err(EvalError::Unknown(7)));
    }

    #[test]
    fn messages_give_the_numbers() {
        let error = Expression::Number(5400.0).eval_index(&Parameters::strict()).unwrap_err();
        assert_eq!(error.to_string(), "parameter number 5400 is not a whole number from 1 to 5399");
    }
}
