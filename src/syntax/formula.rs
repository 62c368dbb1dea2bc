//! Reads expressions: parameters, brackets, functions and operators (NISTIR 6556, 3.3.2 and appendix E).

use std::cell::Cell;

use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, map, peek, value};
use nom::multi::many0;
use nom::sequence::{pair, preceded, separated_pair, terminated};

use super::number::number;
use super::text::{Read, letters, or_trouble, skip_blanks, symbol, trouble};
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

/// Reader of one expression. Its methods are nom parsers; `parts` counts down what may still be read.
pub(super) struct Formula {
    strict: bool,
    parts: Cell<u32>,
}

impl Formula {
    /// A reader for one expression of the strict language or of the dialects.
    pub fn new(strict: bool) -> Self {
        Self { strict, parts: Cell::new(MOST_PARTS) }
    }

    /// One value: a number, a parameter, a bracket or a function.
    pub fn value<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        let Some(parts) = self.parts.get().checked_sub(1) else {
            return trouble(text, SyntaxFaultKind::ExpressionTooLong);
        };
        self.parts.set(parts);
        let text = skip_blanks(text);
        match text {
            [b'[', rest @ ..] => self.bracket(rest),
            [b'#', rest @ ..] => {
                map(|text| self.index(text), |index| Expression::Parameter(Box::new(index))).parse(rest)
            }
            [sign @ (b'+' | b'-'), rest @ ..] if !begins_number(rest) => self.signed(*sign, rest),
            [b'0'..=b'9' | b'.' | b'+' | b'-', ..] => {
                map(number, |number| Expression::Number(number.value)).parse(text)
            }
            [first, ..] if first.is_ascii_alphabetic() => {
                alt((|text| self.atan(text), |text| self.function(text), no_function)).parse(text)
            }
            _ => trouble(text, SyntaxFaultKind::MissingValue),
        }
    }

    /// Values joined by operators of `level` and tighter; the whole of an unbracketed formula is level 0.
    pub fn chain<'a>(&self, level: usize, text: &'a [u8]) -> Read<'a, Expression> {
        let Some(operators) = LEVELS.get(level) else { return self.value(text) };
        let tighter = |text| self.chain(level + 1, text);
        let (rest, first) = tighter(text)?;
        let (rest, others) = many0(pair(|text| one_of(operators, text), cut(tighter))).parse(rest)?;
        let join = |left, (operator, right)| Expression::Binary(operator, Box::new(left), Box::new(right));
        Ok((rest, others.into_iter().fold(first, join)))
    }

    /// The index behind `#`.
    pub fn index<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        if symbol(b"<")(text).is_ok() {
            return trouble(text, SyntaxFaultKind::NamedParameter);
        }
        self.value(text)
    }

    /// What stands behind `[`, with its `]`.
    fn bracket<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        terminated(|text| self.chain(0, text), closing).parse(text)
    }

    /// A sign before something that is no number: usual in dialects, not part of the strict language.
    fn signed<'a>(&self, sign: u8, text: &'a [u8]) -> Read<'a, Expression> {
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

    /// ATAN and its two arguments.
    fn atan<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        let argument = |text| self.argument(text);
        let slash = or_trouble(symbol(b"/"), SyntaxFaultKind::SlashMissing);
        let (rest, (y, x)) = preceded(symbol(b"ATAN"), cut(separated_pair(argument, slash, argument))).parse(text)?;
        Ok((rest, Expression::Atan(Box::new(y), Box::new(x))))
    }

    /// A function of one value and its argument.
    fn function<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        let (rest, (function, argument)) =
            pair(|text| one_of(&FUNCTIONS, text), cut(|text| self.argument(text))).parse(text)?;
        Ok((rest, Expression::Call(function, Box::new(argument))))
    }

    fn argument<'a>(&self, text: &'a [u8]) -> Read<'a, Expression> {
        let open = or_trouble(symbol(b"["), SyntaxFaultKind::BracketMissing);
        preceded(peek(open), |text| self.value(text)).parse(text)
    }
}

/// Whether a number without its sign begins here.
pub(super) fn begins_number(text: &[u8]) -> bool {
    matches!(skip_blanks(text), [b'0'..=b'9' | b'.', ..])
}

/// The first symbol of `table` that stands here.
fn one_of<'a, T: Copy>(table: &[(&'static [u8], T)], text: &'a [u8]) -> Read<'a, T> {
    table
        .iter()
        .find_map(|(name, meaning)| value(*meaning, symbol(name)).parse(text).ok())
        .map_or_else(|| trouble(text, SyntaxFaultKind::UnknownOperation), Ok)
}

/// The end of a bracket, or what is wrong with it.
fn closing(text: &[u8]) -> Read<'_, ()> {
    match skip_blanks(text) {
        [b']', rest @ ..] => Ok((rest, ())),
        [] => trouble(&[], SyntaxFaultKind::UnclosedExpression),
        other => trouble(other, SyntaxFaultKind::UnknownOperation),
    }
}

/// Letters where a value should be: a name that is no function, or the next word.
fn no_function(text: &[u8]) -> Read<'_, Expression> {
    let (rest, _) = letters(text)?;
    match symbol(b"[")(rest) {
        Ok(_) => trouble(rest, SyntaxFaultKind::UnknownFunction),
        Err(_) => trouble(text, SyntaxFaultKind::MissingValue),
    }
}
