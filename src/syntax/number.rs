//! Numbers: the loop in which reading spends most of its time.

use super::text::{Digits, Read, digits_with_point, is_blank, skip_blanks, trouble, unbroken_digits};
use super::{Number, SyntaxFaultKind};

/// Digits that a mantissa of 64 bits always holds.
const MOST_DIGITS: usize = 18;
/// Integers up to here are exact in a 64-bit float.
const EXACT: u64 = 1 << 53;
/// Powers of ten up to 10^22 are exact in a 64-bit float, so one division rounds a number correctly
/// (W. D. Clinger, How to Read Floating Point Numbers Accurately, PLDI 1990).
const POWERS: [f64; MOST_DIGITS + 1] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18];

/// Reads a number in every legal form: `5`, `+0.`, `-.5`, `00012`, `1 2.3 4`.
pub(super) fn number(text: &[u8]) -> Read<'_, Number> {
    plain(text, text).map_or_else(|| unhurried(text), Ok)
}

/// Reads a number without blanks and with no more digits than are exact; `None` for any other. `wide` is the text with
/// what stands behind its line end, so that eight bytes can be looked at together.
#[inline(always)]
pub(super) fn plain<'t>(text: &'t [u8], wide: &[u8]) -> Option<(&'t [u8], Number)> {
    let (signed, negative) = match text {
        [b'-', ..] => (1, true),
        [b'+', ..] => (1, false),
        _ => (0, false),
    };
    let unsigned = text.get(signed..)?;
    if let Some(Digits { value, count: count @ 1.., decimals, point }) = digits_with_point(wide.get(signed..)?)
        && let Some(rest) = unsigned.get(count + usize::from(point)..).filter(|rest| !goes_on(rest))
    {
        return Some((rest, scaled(value, decimals, negative, point)));
    }
    let (mut rest, mut mantissa) = unbroken_digits(unsigned, 0);
    let (mut count, mut decimals) = (unsigned.len() - rest.len(), 0);
    let point = rest.first() == Some(&b'.');
    if let [b'.', fraction @ ..] = rest {
        (rest, mantissa) = unbroken_digits(fraction, mantissa);
        decimals = fraction.len() - rest.len();
        count += decimals;
    }
    if count == 0 || count > MOST_DIGITS || mantissa > EXACT || goes_on(rest) {
        return None;
    }
    Some((rest, scaled(mantissa, decimals, negative, point)))
}

/// A number of so many decimals; its mantissa is at most 2^53.
#[inline(always)]
fn scaled(mantissa: u64, decimals: usize, negative: bool, point: bool) -> Number {
    let power = POWERS.get(decimals).copied().unwrap_or(1.0);
    #[expect(clippy::cast_precision_loss, reason = "the mantissa is at most 2^53")]
    let size = mantissa as f64 / power;
    Number { value: if negative { -size } else { size }, point }
}

/// Whether a number that seems to end before `rest` continues behind blanks or with a second point.
fn goes_on(rest: &[u8]) -> bool {
    match rest {
        [b'.', ..] => true,
        [first, ..] if is_blank(*first) => matches!(skip_blanks(rest), [b'0'..=b'9' | b'.', ..]),
        _ => false,
    }
}

/// Reads a number with blanks in it, with many digits, or with something wrong.
#[cold]
fn unhurried(text: &[u8]) -> Read<'_, Number> {
    let (mut rest, mut kept, mut points) = (text, String::new(), 0);
    while let [byte, after @ ..] = skip_blanks(rest) {
        match byte {
            b'+' | b'-' if kept.is_empty() => {}
            b'0'..=b'9' => {}
            b'.' => points += 1,
            _ => break,
        }
        kept.push(char::from(*byte));
        rest = after;
    }
    if !kept.contains(|digit: char| digit.is_ascii_digit()) {
        return trouble(text, SyntaxFaultKind::NoDigits);
    }
    if points > 1 {
        return trouble(rest, SyntaxFaultKind::BadNumber);
    }
    match kept.parse() {
        Ok(value) if f64::is_finite(value) => Ok((rest, Number { value, point: points == 1 })),
        _ => trouble(rest, SyntaxFaultKind::NumberTooLarge),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (f64, bool, usize) {
        let (rest, number) = number(text.as_bytes()).unwrap();
        (number.value, number.point, rest.len())
    }

    #[test]
    fn every_legal_form_is_read() {
        assert_eq!(read("00012"), (12.0, false, 0));
        assert_eq!(read("+0."), (0.0, true, 0));
        assert_eq!(read("-.5Y"), (-0.5, true, 1));
        assert_eq!(read("-697.697Y-80.987"), (-697.697, true, 8));
        assert_eq!(read("5."), (5.0, true, 0));
    }

    #[test]
    fn blanks_inside_a_number_are_nothing() {
        assert_eq!(read("+0. 12 34y 7"), (0.1234, true, 3));
        assert_eq!(read("- 1 0 "), (-10.0, false, 1));
        assert_eq!(read("10. Y5"), (10.0, true, 3));
    }

    #[test]
    fn long_numbers_round_as_the_nearest_float() {
        for text in [
            "123456789012345678",
            "0.1234567890123456789",
            "9007199254740993",
            "179769.31348623157",
            ".000000000000000000000000025",
        ] {
            assert_eq!(read(text).0, text.parse::<f64>().unwrap(), "{text}");
        }
    }

    #[test]
    fn broken_numbers_name_their_fault() {
        let kind = |text: &str| match number(text.as_bytes()) {
            Err(nom::Err::Error(trouble)) => trouble.kind,
            other => panic!("{other:?}"),
        };
        assert_eq!(kind("-"), SyntaxFaultKind::NoDigits);
        assert_eq!(kind("."), SyntaxFaultKind::NoDigits);
        assert_eq!(kind("1.2.3"), SyntaxFaultKind::BadNumber);
        assert_eq!(kind("1 . 2 ."), SyntaxFaultKind::BadNumber);
        assert_eq!(kind(&"9".repeat(400)), SyntaxFaultKind::NumberTooLarge);
    }
}
