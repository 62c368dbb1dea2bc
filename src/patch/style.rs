//! How a program is written: spacing, case, decimals and line ends, so that new words look like their neighbours.

use crate::job::{Machine, NumberInput};
use crate::source::Span;
use crate::syntax::{Block, Blocks, Lexis, Value};
use crate::units::trimmed;
use std::cmp::Ordering;

/// Blocks looked at to learn a style; more would only repeat it.
const BLOCKS_READ: usize = 20_000;

/// Which way a number may be off when it is cut to the decimals a program writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest.
    Nearest,
    /// Never below the value.
    Up,
    /// Never above the value.
    Down,
}

/// The way one letter's numbers are typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Habit {
    /// Whole numbers without a point: `X10`.
    bare: u32,
    /// Whole numbers with a bare point: `X10.`
    point: u32,
    /// Numbers that end in zeros behind the point: `X10.000`.
    zeros: u32,
    /// Most decimals seen.
    decimals: u8,
    /// Words seen with a point.
    pointed: u32,
    /// Fractions with a zero before the point: `X0.5`.
    zero_led: u32,
    /// Fractions without: `X.5`.
    point_led: u32,
}

/// The style of one program text.
#[derive(Clone, Debug)]
pub struct Style {
    /// Line end.
    pub newline: &'static str,
    /// Whether a blank stands between words.
    pub spaced: bool,
    /// Whether letters are in lower case.
    pub lower: bool,
    /// Whether codes below 10 carry a leading zero: `G01`.
    pub padded_codes: bool,
    /// Longest line the control takes, without its line end.
    pub line_limit: Option<usize>,
    leading_zero: bool,
    lengths_have_points: bool,
    input: Option<NumberInput>,
    /// Decimals a length may need: 0.001 mm or 0.0001 in.
    length_decimals: u8,
    habits: [Habit; 26],
}

/// Letters whose numbers a control may count in least increments.
pub fn is_length(letter: u8) -> bool {
    matches!(letter, b'X' | b'Y' | b'Z' | b'R' | b'Q' | b'I' | b'J' | b'K' | b'U' | b'V' | b'W')
}

impl Style {
    /// Learns the style of `bytes`. `metric` sets how fine a length is written; `machine` says what a bare number means.
    #[must_use]
    pub fn learn(bytes: &[u8], metric: bool, machine: Option<&Machine>) -> Self {
        let mut style = Self {
            newline: newline_of(bytes),
            spaced: true,
            lower: false,
            padded_codes: false,
            line_limit: machine.and_then(|machine| machine.line_limit).map(|limit| limit as usize),
            leading_zero: true,
            lengths_have_points: false,
            input: machine.and_then(|machine| machine.number_input),
            length_decimals: if metric { 3 } else { 4 },
            habits: [Habit::default(); 26],
        };
        let mut tally = Tally::default();
        let mut blocks = Blocks::new(bytes, 0, Lexis::default());
        let mut block = Block::default();
        for _ in 0..BLOCKS_READ {
            if !blocks.next(&mut block) {
                break;
            }
            tally.block(bytes, &block, &mut style.habits);
        }
        style.spaced = tally.spaced >= tally.tight;
        style.lower = tally.lower > tally.upper;
        style.padded_codes = tally.padded > tally.unpadded;
        let leading = style.habits.iter().map(|habit| i64::from(habit.zero_led) - i64::from(habit.point_led));
        style.leading_zero = leading.sum::<i64>() >= 0;
        style.lengths_have_points =
            (b'A'..=b'Z').filter(|letter| is_length(*letter)).any(|letter| style.habit(letter).pointed > 0);
        style
    }

    fn habit(&self, letter: u8) -> Habit {
        self.habits.get(usize::from(letter.wrapping_sub(b'A'))).copied().unwrap_or_default()
    }

    /// A code such as `G0` or `M98`, in this program's case and padding.
    #[must_use]
    pub fn code(&self, letter: u8, number: u8) -> String {
        let letter = self.letter(letter);
        if self.padded_codes && number < 10 { format!("{letter}0{number}") } else { format!("{letter}{number}") }
    }

    /// A word that counts or names something, such as the P of a call.
    #[must_use]
    pub fn count(&self, letter: u8, number: u32) -> String {
        format!("{}{number}", self.letter(letter))
    }

    /// Text in this program's case.
    #[must_use]
    pub fn cased(&self, text: &str) -> String {
        if self.lower { text.to_ascii_lowercase() } else { text.to_ascii_uppercase() }
    }

    /// A letter in this program's case.
    #[must_use]
    pub fn letter(&self, letter: u8) -> char {
        char::from(if self.lower { letter.to_ascii_lowercase() } else { letter.to_ascii_uppercase() })
    }

    /// A word whose value is in program units, cut to the decimals the program needs for that letter.
    #[must_use]
    pub fn word(&self, letter: u8, value: f64, rounding: Rounding) -> String {
        let letter = letter.to_ascii_uppercase();
        let decimals = self.decimals(letter, value);
        format!("{}{}", self.letter(letter), self.number(letter, rounded(value, decimals, rounding), decimals))
    }

    /// A height in the air, rounded up to the digits the program types, 0.1 mm or 0.01 in at the finest.
    #[must_use]
    pub fn air(&self, letter: u8, value: f64) -> f64 {
        let seen = self.habit(letter.to_ascii_uppercase()).decimals;
        rounded(value, seen.clamp(1, self.length_decimals.saturating_sub(2)), Rounding::Up)
    }

    /// What a value becomes when it is written as a word with that letter.
    #[must_use]
    pub fn as_written(&self, letter: u8, value: f64, rounding: Rounding) -> f64 {
        rounded(value, self.decimals(letter.to_ascii_uppercase(), value), rounding)
    }

    /// Decimals of a number: lengths to the finest the units call for, feeds to four figures, never fewer than seen.
    fn decimals(&self, letter: u8, value: f64) -> u8 {
        let seen = self.habit(letter).decimals.min(6);
        if is_length(letter) {
            return self.length_decimals.max(seen);
        }
        let figures: u8 = match value.abs() {
            large if large >= 100.0 => 1,
            middle if middle >= 10.0 => 2,
            small if small >= 1.0 => 3,
            _ => 5,
        };
        figures.max(seen)
    }

    fn number(&self, letter: u8, value: f64, decimals: u8) -> String {
        let habit = self.habit(letter);
        if let Some(count) = self.increments(letter, value) {
            return count;
        }
        let fixed = habit.zeros > 0 && habit.bare == 0 && habit.point == 0;
        let mut text = trimmed(value, usize::from(decimals));
        if fixed {
            let at_least = text.split_once('.').map_or(0, |(_, tail)| tail.len()).max(usize::from(habit.decimals));
            text = format!("{value:.at_least$}");
        } else if !text.contains('.') && !self.may_stand_bare(letter, value) {
            text.push('.');
        }
        let leading_zero = match habit.zero_led.cmp(&habit.point_led) {
            Ordering::Greater => true,
            Ordering::Less => false,
            Ordering::Equal => self.leading_zero,
        };
        if leading_zero {
            return text;
        }
        match text.strip_prefix('-') {
            Some(tail) if tail.starts_with("0.") && tail.len() > 2 => format!("-{}", tail.trim_start_matches('0')),
            None if text.starts_with("0.") && text.len() > 2 => text.trim_start_matches('0').to_owned(),
            _ => text,
        }
    }

    /// The number in least increments, where the control counts bare numbers so and the program never types a point.
    fn increments(&self, letter: u8, value: f64) -> Option<String> {
        let Some(NumberInput::Increment(increment)) = self.input else { return None };
        if !is_length(letter) || self.habit(letter).pointed > 0 || increment <= 0.0 {
            return None;
        }
        let count = value / increment;
        let whole = libm::round(count);
        ((count - whole).abs() < 1e-6).then(|| trimmed(whole, 0))
    }

    /// Whether a whole number may go without its point. A control may count a bare length in least increments, so where
    /// the job does not say, a program that types points gets one; zero is zero either way.
    fn may_stand_bare(&self, letter: u8, value: f64) -> bool {
        let habit = self.habit(letter);
        let bare_habit = habit.bare > 0 && habit.bare >= habit.point + habit.zeros;
        if !is_length(letter) || value == 0.0 {
            return bare_habit || habit.point + habit.zeros == 0;
        }
        match self.input {
            Some(NumberInput::Decimal) => bare_habit,
            Some(NumberInput::Increment(_)) => false,
            None => bare_habit && !self.lengths_have_points,
        }
    }

    /// Words as one piece of a line.
    #[must_use]
    pub fn join(&self, words: &[String]) -> String {
        words.join(if self.spaced { " " } else { "" })
    }
}

/// `value` at so many decimals. A hair of float noise never pushes it to the next step.
fn rounded(value: f64, decimals: u8, rounding: Rounding) -> f64 {
    let scale = libm::pow(10.0, f64::from(decimals));
    let steps = value * scale;
    let nearest = libm::round(steps);
    let steps = match rounding {
        _ if (steps - nearest).abs() < 1e-4 => nearest,
        Rounding::Nearest => nearest,
        Rounding::Up => libm::ceil(steps),
        Rounding::Down => libm::floor(steps),
    };
    steps / scale
}

fn newline_of(bytes: &[u8]) -> &'static str {
    match memchr::memchr2(b'\n', b'\r', bytes).map(|at| (bytes.get(at), bytes.get(at + 1))) {
        Some((Some(b'\r'), Some(b'\n'))) => "\r\n",
        Some((Some(b'\r'), _)) => "\r",
        _ => "\n",
    }
}

/// Votes gathered while reading.
#[derive(Default)]
struct Tally {
    spaced: u32,
    tight: u32,
    lower: u32,
    upper: u32,
    padded: u32,
    unpadded: u32,
}

impl Tally {
    fn block(&mut self, bytes: &[u8], block: &Block, habits: &mut [Habit; 26]) {
        let mut last: Option<Span> = block.n;
        for word in &block.words {
            let text = word.span.of(bytes);
            if let Some(before) = last {
                let blank = before.end < word.span.start;
                count(blank, &mut self.spaced, &mut self.tight);
            }
            last = Some(word.span);
            let Some((letter, digits)) = text.split_first() else { continue };
            count(letter.is_ascii_lowercase(), &mut self.lower, &mut self.upper);
            if !matches!(word.value, Value::Number(_)) {
                continue;
            }
            let digits = digits.trim_ascii();
            if matches!(word.letter, b'G' | b'M') {
                match digits {
                    [b'0', b'0'..=b'9'] => self.padded += 1,
                    [b'0'..=b'9'] => self.unpadded += 1,
                    _ => {}
                }
                continue;
            }
            if let Some(habit) = habits.get_mut(usize::from(word.letter.wrapping_sub(b'A'))) {
                habit.number(digits);
            }
        }
    }
}

impl Habit {
    fn number(&mut self, digits: &[u8]) {
        let Some(point) = digits.iter().position(|byte| *byte == b'.') else {
            self.bare += 1;
            return;
        };
        self.pointed += 1;
        match digits.strip_prefix(b"-").unwrap_or(digits) {
            [b'0', b'.', _, ..] => self.zero_led += 1,
            [b'.', ..] => self.point_led += 1,
            _ => {}
        }
        let tail = digits.get(point + 1..).unwrap_or_default();
        if tail.is_empty() {
            self.point += 1;
        } else if tail.ends_with(b"0") {
            self.zeros += 1;
        }
        self.decimals = self.decimals.max(u8::try_from(tail.len()).unwrap_or(u8::MAX));
    }
}

fn count(yes: bool, for_yes: &mut u32, for_no: &mut u32) {
    *(if yes { for_yes } else { for_no }) += 1;
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(text: &str, input: Option<NumberInput>) -> Style {
        let machine = Machine { number_input: input, ..Machine::default() };
        Style::learn(text.as_bytes(), true, Some(&machine))
    }

    #[test]
    fn spacing_case_padding_and_line_ends_are_learned() {
        let posted = style("N10 G00 X1. Y2.\r\nN20 G01 Z-3.5 F159.\r\n", None);
        assert!(posted.spaced && posted.padded_codes && !posted.lower);
        assert_eq!(posted.newline, "\r\n");
        assert_eq!(posted.join(&[posted.code(b'G', 0), posted.word(b'Z', 3.0, Rounding::Nearest)]), "G00 Z3.");
        let tight = style("n1g0x1y2\nn2g1z-3.5f159\n", Some(NumberInput::Decimal));
        assert!(!tight.spaced && tight.lower && !tight.padded_codes);
        assert_eq!(tight.join(&[tight.code(b'G', 1), tight.word(b'X', 7.0, Rounding::Nearest)]), "g1x7");
    }

    #[test]
    fn each_letter_keeps_its_own_decimal_habit() {
        let posted = style("G1 X-388.516 Z-42.8 R3. F159.\nX10. S2650\n", Some(NumberInput::Decimal));
        assert_eq!(posted.word(b'Z', -33.7, Rounding::Up), "Z-33.7");
        assert_eq!(posted.word(b'R', 3.0, Rounding::Up), "R3.");
        assert_eq!(posted.word(b'F', 79.5, Rounding::Down), "F79.5");
        assert_eq!(posted.word(b'F', 80.0, Rounding::Down), "F80.");
        assert_eq!(posted.word(b'S', 3000.0, Rounding::Nearest), "S3000");
        let fixed = style("X10.000 Z-42.800 F0.10\n", None);
        assert_eq!(fixed.word(b'Z', -5.0, Rounding::Nearest), "Z-5.000");
        let bare = style("X.5 Z-.47\n", None);
        assert_eq!(bare.word(b'Z', -0.25, Rounding::Nearest), "Z-.25");
        let mixed = style("X0.5 Y0.5 Z-.47\n", None);
        assert_eq!(mixed.word(b'Z', -0.25, Rounding::Nearest), "Z-.25");
        assert_eq!(mixed.word(b'X', 0.25, Rounding::Nearest), "X0.25");
    }

    #[test]
    fn a_new_point_never_changes_what_a_number_means() {
        let counted = style("G1 X10000 Z-42800 F159\n", Some(NumberInput::Increment(0.001)));
        assert_eq!(counted.word(b'Z', -43.8, Rounding::Nearest), "Z-43800");
        assert_eq!(counted.word(b'F', 79.0, Rounding::Nearest), "F79");
        let mixed = style("G1 X10 Z-42.8\n", Some(NumberInput::Increment(0.001)));
        assert_eq!(mixed.word(b'Z', -43.0, Rounding::Nearest), "Z-43.");
        let unsaid = style("G1 X10 Z-42.8\n", None);
        assert_eq!(unsaid.word(b'X', 20.0, Rounding::Nearest), "X20.");
        let said = style("G1 X10 Z-42.8\n", Some(NumberInput::Decimal));
        assert_eq!(said.word(b'X', 20.0, Rounding::Nearest), "X20");
    }

    #[test]
    fn rounding_keeps_to_its_side() {
        let posted = style("Z-1.5 F10.\n", None);
        assert_eq!(posted.word(b'Z', -33.7681, Rounding::Up), "Z-33.768");
        assert_eq!(posted.word(b'Z', -33.7681, Rounding::Down), "Z-33.769");
        assert_eq!(posted.word(b'F', 159.158, Rounding::Down), "F159.1");
        assert_eq!(posted.word(b'Z', -33.700_000_000_1, Rounding::Down), "Z-33.7");
    }
}
