//! Reads expressions: parameters, brackets, functions and operators (NISTIR 6556, 3.3.2 and appendix E).

use super::number::number;
use super::text::{Read, letters, skip_blanks, symbol, trouble};
use super::{Binary, Expression, Function, SyntaxFaultKind};

/// Most values and brackets in one expression; it bounds how deep reading and evaluation may nest.
const MOST_PARTS: u32 = 200;

const FUNCTIONS: [(&[u8], Function); 12] = [
    (b"ABS", Function::Abs),
    (b"ACOS", Function::Acos),
    (b"ASIN", Function::Asin),
    (b"COS", Function::Cos),
    (b"EXP", Function::Exp),
    (b"FIX", Function::Fix),
    (b"FUP", Function::Fup),
    (b"LN", Function::Ln),
    (b"ROUND", Function::Round),
    (b"SIN", Function::Sin),
    (b"SQRT", Function::Sqrt),
    (b"TAN", Function::Tan),
];

/// Operators by level, loosest level first.
const LEVELS: [&[(&[u8], Binary)]; 3] = [
    &[(b"+", Binary::Plus), (b"-", Binary::Minus), (b"OR", Binary::Or), (b"XOR", Binary::Xor), (b"AND", Binary::And)],
    &[(b"*", Binary::Times), (b"/", Binary::Divide), (b"MOD", Binary::Modulo)],
    &[(b"**", Binary::Power)],
];

/// Reader of one expression.
pub(super) struct Formula {
    strict: bool,
    parts: u32,
}

impl Formula {
    /// A reader for one expression of the strict language or of the dialects.
    pub fn new(strict: bool) -> Self {
        Self { strict, parts: 0 }
    }

    /// One value: a number, a parameter, a bracket or a function.
    pub fn value<'a>(&mut self, text: &'a [u8]) -> Read<'a, Expression> {
        self.parts += 1;
        if self.parts > MOST_PARTS {
            return trouble(text, SyntaxFaultKind::ExpressionTooLong);
        }
        let text = skip_blanks(text);
        match text {
            [b'[', rest @ ..] => self.bracket(rest),
            [b'#', rest @ ..] => self.index(rest).map(|(rest, index)| (rest, Expression::Parameter(Box::new(index)))),
            [sign @ (b'+' | b'-'), rest @ ..] if !matches!(skip_blanks(rest), [b'0'..=b'9' | b'.', ..]) => {
                self.signed(*sign, rest)
            }
            [b'0'..=b'9' | b'.' | b'+' | b'-', ..] => {
                number(text).map(|(rest, number)| (rest, Expression::Number(number.value)))
            }
            [first, ..] if first.is_ascii_alphabetic() => self.function(text),
            _ => trouble(text, SyntaxFaultKind::MissingValue),
        }
    }

    /// Values joined by operators of `level` and tighter; the whole of an unbracketed formula is level 0.
    pub fn chain<'a>(&mut self, level: usize, text: &'a [u8]) -> Read<'a, Expression> {
        let Some(operators) = LEVELS.get(level) else { return self.value(text) };
        let (mut rest, mut left) = self.chain(level + 1, text)?;
        while let Some((after, operator)) =
            operators.iter().find_map(|(name, operator)| Some((symbol(name, rest)?, *operator)))
        {
            let (behind, right) = self.chain(level + 1, after)?;
            left = Expression::Binary(operator, Box::new(left), Box::new(right));
            rest = behind;
        }
        Ok((rest, left))
    }

    /// The index behind `#`.
    pub fn index<'a>(&mut self, text: &'a [u8]) -> Read<'a, Expression> {
        if symbol(b"<", text).is_some() {
            return trouble(text, SyntaxFaultKind::NamedParameter);
        }
        self.value(text)
    }

    /// What stands behind `[`, with its `]`.
    fn bracket<'a>(&mut self, text: &'a [u8]) -> Read<'a, Expression> {
        let (rest, inner) = self.chain(0, text)?;
        match skip_blanks(rest) {
            [b']', rest @ ..] => Ok((rest, inner)),
            [] => trouble(rest, SyntaxFaultKind::UnclosedExpression),
            _ => trouble(rest, SyntaxFaultKind::UnknownOperation),
        }
    }

    /// A sign before something that is no number: usual in dialects, not part of the strict language.
    fn signed<'a>(&mut self, sign: u8, text: &'a [u8]) -> Read<'a, Expression> {
        let opens_value = match skip_blanks(text) {
            [b'[' | b'#', ..] => true,
            // Two letters at least, for one alone begins the next word.
            [first, second, ..] => first.is_ascii_alphabetic() && second.is_ascii_alphabetic(),
            _ => false,
        };
        if self.strict || !opens_value {
            return trouble(text, SyntaxFaultKind::NoDigits);
        }
        let (rest, value) = self.value(text)?;
        let negated = sign == b'-';
        Ok((rest, if negated { Expression::Call(Function::Negate, Box::new(value)) } else { value }))
    }

    fn function<'a>(&mut self, text: &'a [u8]) -> Read<'a, Expression> {
        if let Some(rest) = symbol(b"ATAN", text) {
            let (rest, first) = self.argument(rest)?;
            let Some(rest) = symbol(b"/", rest) else { return trouble(rest, SyntaxFaultKind::SlashMissing) };
            let (rest, second) = self.argument(rest)?;
            return Ok((rest, Expression::Atan(Box::new(first), Box::new(second))));
        }
        let known = FUNCTIONS.iter().find_map(|(name, function)| Some((symbol(name, text)?, *function)));
        if let Some((rest, function)) = known {
            let (rest, argument) = self.argument(rest)?;
            return Ok((rest, Expression::Call(function, Box::new(argument))));
        }
        let (rest, _) = letters(text)?;
        let called = symbol(b"[", rest).is_some();
        if called {
            trouble(rest, SyntaxFaultKind::UnknownFunction)
        } else {
            trouble(text, SyntaxFaultKind::MissingValue)
        }
    }

    fn argument<'a>(&mut self, text: &'a [u8]) -> Read<'a, Expression> {
        if symbol(b"[", text).is_none() {
            return trouble(text, SyntaxFaultKind::BracketMissing);
        }
        self.value(text)
    }
}
