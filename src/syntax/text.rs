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
    while let Some((chunk, after)) = text.split_first_chunk::<8>() {
        let (count, value) = digits_of_eight(u64::from_le_bytes(*chunk));
        number = number.wrapping_mul(POWERS.get(count).copied().unwrap_or(1)).wrapping_add(value);
        if count < 8 {
            return (text.get(count..).unwrap_or_default(), number);
        }
        text = after;
    }
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

/// Digits in front of `text`, a point among them or not, that end within eight bytes; nothing when they go on.
#[inline]
pub(super) fn digits_with_point(text: &[u8]) -> Option<Digits> {
    let bytes = u64::from_le_bytes(*text.first_chunk::<8>()?);
    let whole = lanes_of_digits(bytes);
    let pointed = bytes >> (8 * whole.min(7)) & 0xFF == u64::from(b'.');
    // Without its point the number's digits stand side by side.
    let below = (1_u64 << (8 * whole.min(7))) - 1;
    let (joined, lanes) = if pointed { (bytes & below | bytes >> 8 & !below, 7) } else { (bytes, 8) };
    let count = lanes_of_digits(joined);
    if count >= lanes {
        return None;
    }
    Some(Digits { value: value_of_lanes(joined, count), count, decimals: count - whole, point: pointed })
}

/// How many digits stand in front of `text`, where the whole number surely ends within eight bytes and has no point.
#[inline]
pub(super) fn short_count(text: &[u8]) -> Option<usize> {
    let bytes = u64::from_le_bytes(*text.first_chunk::<8>()?);
    let count = lanes_of_digits(bytes);
    let next = (bytes >> (8 * count.min(7)) & 0xFF) as u8;
    ((1..8).contains(&count) && next != b'.' && !is_blank(next)).then_some(count)
}

/// Digits read.
pub(super) struct Digits {
    /// Their value, without a point.
    pub value: u64,
    /// How many.
    pub count: usize,
    /// How many stand behind the point.
    pub decimals: usize,
    /// Whether there is a point.
    pub point: bool,
}

/// Powers of ten.
const POWERS: [u64; 9] = [1, 10, 100, 1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000];

/// How many of eight bytes, the first one lowest, are digits from the first on, and their value. All eight are looked
/// at together: one word as eight lanes of a byte each (D. Lemire, Number parsing at a gigabyte per second, Software:
/// Practice and Experience 51(8), 2021).
#[inline]
fn digits_of_eight(bytes: u64) -> (usize, u64) {
    let count = lanes_of_digits(bytes);
    (count, value_of_lanes(bytes, count))
}

/// One in each lane.
const EACH: u64 = 0x0101_0101_0101_0101;
/// The digit zero in each lane.
const ZEROS: u64 = EACH * b'0' as u64;

/// How many lanes from the first on hold digits.
#[inline]
fn lanes_of_digits(bytes: u64) -> usize {
    let digits = bytes ^ ZEROS;
    // The top bit of a lane is set where it holds more than nine; a carry spoils only lanes behind the first such.
    let others = (digits.wrapping_add(EACH * 0x76) | digits) & (EACH * 0x80);
    (others.trailing_zeros() / 8) as usize
}

/// The value of the first `count` lanes.
#[inline]
fn value_of_lanes(bytes: u64, count: usize) -> u64 {
    if count == 0 {
        return 0;
    }
    // Zeros in front make eight digits of fewer.
    let digits = (bytes ^ ZEROS) << (8 * (8 - count));
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    let even = (pairs & 0xFF_0000_00FF).wrapping_mul(100 + (1_000_000 << 32));
    let odd = (pairs >> 16 & 0xFF_0000_00FF).wrapping_mul(1 + (10_000 << 32));
    even.wrapping_add(odd) >> 32
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_counted_and_read_in_any_number() {
        let all = "98765432109876543";
        for count in 0..=all.len() {
            for behind in ["", ".5", "X", "/", ":", "\u{e9}12345678", "X1234567890", "\0\0\0\0\0\0\0\0\0"] {
                let text = format!("{}{behind}", &all[..count]);
                let (rest, value) = unbroken_digits(text.as_bytes(), 0);
                assert_eq!(rest, behind.as_bytes(), "{text}");
                assert_eq!(value, all[..count].parse().unwrap_or(0), "{text}");
            }
        }
        for (text, value, count, decimals, rest) in [
            ("12.345X-1", 12_345, 5, 3, "X-1"),
            ("480.123Y", 480_123, 6, 3, "Y"),
            (".5      ", 5, 1, 1, "      "),
            ("7.Y12345", 7, 1, 0, "Y12345"),
            ("1234567 ", 1_234_567, 7, 0, " "),
            ("1.2.3456", 12, 2, 1, ".3456"),
            ("..123456", 0, 0, 0, ".123456"),
            ("X1234567", 0, 0, 0, "X1234567"),
        ] {
            let read = digits_with_point(text.as_bytes()).unwrap();
            assert_eq!((read.value, read.count, read.decimals), (value, count, decimals), "{text}");
            assert_eq!(read.count + usize::from(read.point) + rest.len(), text.len(), "{text}");
        }
        for long in ["12345678", "1234567.", "123.45678", "1.2"] {
            assert!(digits_with_point(long.as_bytes()).is_none(), "{long}");
        }
        assert_eq!(unbroken_digits(b"50", 12), (&b""[..], 1250));
        assert_eq!(unbroken_digits(b"12345678.", 9), (&b"."[..], 912_345_678));
    }
}
