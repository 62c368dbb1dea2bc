//! The smallest parsers: blanks, symbols, digits, comments, and the error they share.

use memchr::memchr2_iter;
use nom::IResult;
use nom::bytes::complete::take_while;
use nom::error::{ErrorKind, ParseError};

use super::SyntaxFaultKind;

/// Result of every parser here: what is left, and what was read.
pub(super) type Read<'a, T> = IResult<&'a [u8], T, Trouble<'a>>;

/// Why a parser failed and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Trouble<'a> {
    /// What is wrong.
    pub kind: SyntaxFaultKind,
    /// Text from the trouble on.
    pub rest: &'a [u8],
}

impl<'a> ParseError<&'a [u8]> for Trouble<'a> {
    fn from_error_kind(rest: &'a [u8], _: ErrorKind) -> Self {
        Self { kind: SyntaxFaultKind::BadCharacter, rest }
    }

    fn append(_: &'a [u8], _: ErrorKind, other: Self) -> Self {
        other
    }
}

/// A failed parser.
pub(super) fn trouble<T>(rest: &[u8], kind: SyntaxFaultKind) -> Read<'_, T> {
    Err(nom::Err::Error(Trouble { kind, rest }))
}

/// Bytes that may stand anywhere outside comments without meaning: space, tab and what paper tape and old editors
/// leave behind (NUL, delete, form feed, vertical tab, end-of-text mark 0x1A).
#[inline]
pub(super) fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | 0 | 0x0B | 0x0C | 0x1A | 0x7F)
}

/// The text behind any blanks.
#[inline]
pub(super) fn skip_blanks(mut text: &[u8]) -> &[u8] {
    while let [first, rest @ ..] = text {
        if !is_blank(*first) {
            break;
        }
        text = rest;
    }
    text
}

/// A parser of `symbol`, which may be in any case, behind blanks, and have blanks between its characters.
pub(super) fn symbol<'a>(symbol: &'static [u8]) -> impl Fn(&'a [u8]) -> Read<'a, ()> {
    move |text| {
        let behind = symbol.iter().try_fold(text, |text, wanted| match skip_blanks(text) {
            [first, rest @ ..] if first.to_ascii_uppercase() == *wanted => Some(rest),
            _ => None,
        });
        behind.map_or_else(|| trouble(text, SyntaxFaultKind::BadCharacter), |rest| Ok((rest, ())))
    }
}

/// `parser`, whose failure is told as `kind`.
pub(super) fn or_trouble<'a, T>(
    parser: impl Fn(&'a [u8]) -> Read<'a, T>,
    kind: SyntaxFaultKind,
) -> impl Fn(&'a [u8]) -> Read<'a, T> {
    move |text| parser(text).or_else(|_| trouble(text, kind))
}

/// A run of letters without blanks; may be empty.
pub(super) fn letters(text: &[u8]) -> Read<'_, &[u8]> {
    take_while(|byte: u8| byte.is_ascii_alphabetic() || byte == b'_')(text)
}

/// Digits in front of `text`, taken into a number behind those it has; the caller sees by their count whether all fit.
#[inline]
pub(super) fn unbroken_digits(mut text: &[u8], mut number: u64) -> (&[u8], u64) {
    while let [byte, after @ ..] = text {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
        text = after;
    }
    (text, number)
}

/// Digits with blanks among them; what is left starts behind the last digit. Gives how many and their value, which
/// stops counting at the largest `u32`.
pub(super) fn digits(text: &[u8]) -> (&[u8], usize, u32) {
    let (rest, value) = unbroken_digits(text, 0);
    let goes_on = rest.first().is_some_and(|byte| is_blank(*byte));
    if let (false, Ok(value)) = (goes_on || text.len() - rest.len() > 18, u32::try_from(value)) {
        return (rest, text.len() - rest.len(), value);
    }
    let (mut rest, mut count, mut value) = (text, 0, 0_u32);
    while let [first @ b'0'..=b'9', after @ ..] = skip_blanks(rest) {
        value = value.saturating_mul(10).saturating_add(u32::from(first - b'0'));
        count += 1;
        rest = after;
    }
    (rest, count, value)
}

/// A comment in parentheses.
pub(super) struct Comment<'a> {
    /// Text behind it.
    pub rest: &'a [u8],
    /// Text from the first inner parenthesis on.
    pub nested: Option<&'a [u8]>,
    /// Whether it ends on this line.
    pub closed: bool,
}

/// Reads a comment from its opening parenthesis to the one that balances it, or to the end of the line.
pub(super) fn comment(text: &[u8]) -> Comment<'_> {
    let (mut depth, mut nested) = (0_usize, None);
    for at in memchr2_iter(b'(', b')', text) {
        let (_, from) = text.split_at(at);
        if from.first() == Some(&b'(') {
            depth += 1;
            if depth == 2 {
                nested.get_or_insert(from);
            }
            continue;
        }
        depth -= 1;
        if depth == 0 {
            return Comment { rest: from.get(1..).unwrap_or_default(), nested, closed: true };
        }
    }
    Comment { rest: &[], nested, closed: false }
}

/// Where reading goes on behind unreadable text: at the next letter, comment, parameter, slash or comma that stands
/// outside brackets and not before `earliest`, a tail of `text`.
pub(super) fn recover<'a>(text: &'a [u8], earliest: &[u8]) -> &'a [u8] {
    let (skipped, mut depth) = (text.len().saturating_sub(earliest.len()), 0_usize);
    for (at, byte) in text.iter().enumerate() {
        match byte {
            b'[' => depth += 1,
            b']' => depth = depth.saturating_sub(1),
            b'A'..=b'Z' | b'a'..=b'z' | b'#' | b'/' | b'(' | b';' | b',' if depth == 0 && at >= skipped => {
                return text.get(at..).unwrap_or_default();
            }
            _ => {}
        }
    }
    &[]
}
