//! The words of one block by letter and by modal group, read with no allocation and no search.

use super::{Axes, Code, FaultKind, Group, Settings};
use crate::job::NumberInput;
use crate::source::Span;
use crate::syntax::{Block, Parameters, Row, Value, Word};

/// Axis letters in the order poses count them.
pub(super) const AXIS_LETTERS: [u8; 6] = *b"XYZABC";
/// Letters of lengths, that a control with least-increment input scales when they carry no point.
const LENGTHS: u32 = mask(b"XYZIJKRQ");
/// Letters whose value may not be negative.
const NEVER_NEGATIVE: u32 = mask(b"DFHLPST");
/// Letters whose value is a whole number.
const WHOLE: u32 = mask(b"DHLT");
/// Letters that have a meaning somewhere.
const KNOWN: u32 = mask(b"ABCDFHIJKLPQRSTXYZ");
/// Letters whose value is looked at before it is taken.
const CHECKED: u32 = NEVER_NEGATIVE | !KNOWN;
/// Most M codes of one block (NISTIR 6556, section 3.3.5).
const MOST_M_CODES: u8 = 4;
/// Modal groups.
const GROUPS: usize = Group::Other as usize;
/// Values this near to a whole number are one (NISTIR 6556, section 3.3.2.1).
const WHOLE_TOLERANCE: f64 = 0.0001;

/// A code with its place.
pub(super) type Coded = (&'static Code, Span);

/// The words of one block.
#[derive(Default)]
pub(super) struct Words {
    present: u32,
    unknown: u32,
    points: u32,
    values: [f64; 26],
    spans: [Span; 26],
    groups: u32,
    codes: [Option<Coded>; GROUPS],
    /// Codes outside all groups, in order.
    pub others: Vec<Coded>,
    /// G80 beside another motion code, as safety lines have it.
    pub cancel: Option<Span>,
    /// M codes that only this machine gives a meaning.
    pub machine_codes: Vec<(u32, Span)>,
    m_codes: u8,
    plain: bool,
}

/// What reading a block came upon.
pub(super) type Faults = Vec<(FaultKind, Span)>;

/// A set of letters, one bit each from A.
pub(super) const fn mask(letters: &[u8]) -> u32 {
    let (mut bits, mut at) = (0, 0);
    while at < letters.len() {
        bits |= 1 << (letters[at] - b'A');
        at += 1;
    }
    bits
}

#[inline]
fn slot(letter: u8) -> usize {
    usize::from(letter.wrapping_sub(b'A')).min(25)
}

impl Words {
    /// Whether the block has that letter.
    #[inline]
    pub fn has(&self, letter: u8) -> bool {
        self.present & (1 << slot(letter)) != 0
    }

    /// The letter's value in program units; `None` when absent or not known.
    #[inline]
    pub fn get(&self, letter: u8) -> Option<f64> {
        let bit = 1 << slot(letter);
        if self.present & bit == 0 || self.unknown & bit != 0 {
            return None;
        }
        self.values.get(slot(letter)).copied()
    }

    /// Whether the letter's value was typed with a decimal point, or computed.
    pub fn has_point(&self, letter: u8) -> bool {
        self.points & (1 << slot(letter)) != 0
    }

    /// Where the letter stands.
    pub fn span(&self, letter: u8) -> Span {
        self.spans.get(slot(letter)).copied().unwrap_or_default()
    }

    /// The code of that group.
    pub fn code(&self, group: Group) -> Option<Coded> {
        if self.groups & (1 << group as u32) == 0 {
            return None;
        }
        self.codes.get(group as usize).copied().flatten()
    }

    /// Whether any code stands in the block.
    pub fn has_codes(&self) -> bool {
        self.groups != 0 || !self.others.is_empty() || self.cancel.is_some()
    }

    /// Axes named in the block: A B C begin the alphabet and X Y Z end it.
    pub fn axes(&self) -> Axes {
        Axes((self.present >> slot(b'X') & 0b111 | (self.present & 0b111) << 3) as u8)
    }

    /// Whether the block has words of X, Y and Z alone, all of known value: the plain case of a move.
    pub fn are_plain(&self) -> bool {
        self.plain
    }

    /// Letters present, one bit each from A.
    pub fn letters(&self) -> u32 {
        self.present
    }

    /// Takes a letter out, when a code has used it up.
    pub fn take(&mut self, letter: u8) {
        self.present &= !(1 << slot(letter));
    }

    /// Fills this with the words of `block`.
    pub fn read(&mut self, block: &Block, settings: &Settings, parameters: &Parameters, faults: &mut Faults) {
        self.clear();
        for word in &block.words {
            let Some((value, point)) = self.value(word, parameters, faults) else { continue };
            match word.letter {
                b'G' | b'M' => self.enter_code(word, value, settings, faults),
                letter => self.enter(letter, value, point, word.span, settings, faults),
            }
        }
        let bare = !self.has_codes() && self.machine_codes.is_empty();
        self.plain = bare && self.unknown == 0 && self.present & !mask(b"XYZ") == 0;
    }

    /// Fills this with the words of `row`.
    #[inline]
    pub fn take_row(&mut self, row: &Row) {
        self.clear();
        self.present = u32::from(row.axes) << slot(b'X');
        self.points = self.present;
        self.plain = true;
        for (axis, (value, span)) in row.values.into_iter().zip(row.spans).enumerate() {
            let at = slot(b'X') + axis;
            if let (Some(slot), Some(place)) = (self.values.get_mut(at), self.spans.get_mut(at)) {
                (*slot, *place) = (value, span);
            }
        }
    }

    #[inline]
    fn clear(&mut self) {
        self.present = 0;
        self.unknown = 0;
        self.points = 0;
        self.groups = 0;
        self.others.clear();
        self.machine_codes.clear();
        self.cancel = None;
        self.m_codes = 0;
    }

    /// The word's value and whether it counts as typed with a point; `None` when there is none.
    fn value(&mut self, word: &Word, parameters: &Parameters, faults: &mut Faults) -> Option<(f64, bool)> {
        let expression = match &word.value {
            Value::Number(number) => return Some((number.value, number.point)),
            Value::Expression(expression) => expression,
        };
        match expression.eval(parameters) {
            Ok(value) => Some((value, true)),
            Err(error) => {
                faults.push((FaultKind::of_value(char::from(word.letter), error), word.span));
                let bit = 1 << slot(word.letter);
                self.present |= bit;
                self.unknown |= bit;
                if let Some(span) = self.spans.get_mut(slot(word.letter)) {
                    *span = word.span;
                }
                None
            }
        }
    }

    #[inline]
    fn enter(&mut self, letter: u8, value: f64, point: bool, span: Span, settings: &Settings, faults: &mut Faults) {
        let bit = 1 << slot(letter);
        let settled = point || LENGTHS & bit == 0;
        if settled && (self.present | CHECKED) & bit == 0 {
            return self.keep(letter, value, point, span);
        }
        self.enter_doubtful(letter, value, point, span, settings, faults);
    }

    /// A word whose value has to be looked at, or whose letter the block has already.
    fn enter_doubtful(
        &mut self,
        letter: u8,
        value: f64,
        point: bool,
        span: Span,
        settings: &Settings,
        faults: &mut Faults,
    ) {
        let bit = 1 << slot(letter);
        let name = char::from(letter);
        if self.present & bit != 0 {
            faults.push((FaultKind::Repeated(name), span));
            return;
        }
        let mut value = value;
        if CHECKED & bit != 0 {
            value = match checked(letter, value, settings, span, faults) {
                Some(value) => value,
                None => return,
            };
        }
        if !point && LENGTHS & bit != 0 {
            match settings.declared.number_input {
                Some(NumberInput::Decimal) => {}
                Some(NumberInput::Increment(size)) => value *= size,
                None if value == 0.0 => {}
                None => faults.push((FaultKind::Undeclared("machine.number_input"), span)),
            }
        }
        self.keep(letter, value, point, span);
    }

    #[inline]
    fn keep(&mut self, letter: u8, value: f64, point: bool, span: Span) {
        let (at, bit) = (slot(letter), 1 << slot(letter));
        self.present |= bit;
        self.points |= if point { bit } else { 0 };
        if let (Some(slot), Some(place)) = (self.values.get_mut(at), self.spans.get_mut(at)) {
            *slot = value;
            *place = span;
        }
    }

    fn enter_code(&mut self, word: &Word, value: f64, settings: &Settings, faults: &mut Faults) {
        let strict = settings.dialect.strict;
        if word.letter == b'M' {
            self.m_codes += 1;
            if strict && self.m_codes == MOST_M_CODES + 1 {
                faults.push((FaultKind::TooManyM, word.span));
            }
            if self.enter_machine_code(value, word.span, settings) {
                return;
            }
        }
        let Some(code) = Code::find(word.letter, value, settings.dialect.bit) else {
            let name = char::from(word.letter);
            let kind = if value < 0.0 { FaultKind::Negative(name, value) } else { FaultKind::UnknownCode(name, value) };
            faults.push((kind, word.span));
            return;
        };
        if code.group == Group::Other {
            self.others.push((code, word.span));
            return;
        }
        let bit = 1 << code.group as u32;
        let Some(place) = self.codes.get_mut(code.group as usize) else { return };
        if self.groups & bit == 0 {
            self.groups |= bit;
            *place = Some((code, word.span));
            return;
        }
        let Some((earlier, at)) = *place else { return };
        if !strict && code.is_cancel() {
            self.cancel = Some(word.span);
        } else if !strict && earlier.is_cancel() {
            self.cancel = Some(at);
            *place = Some((code, word.span));
        } else if strict || earlier.action != code.action {
            faults.push((FaultKind::SameGroup(earlier.name, code.name), word.span));
        }
    }

    /// Whether the job gives this M code a meaning of its own and no table row need do so.
    fn enter_machine_code(&mut self, value: f64, span: Span, settings: &Settings) -> bool {
        let Some(number) = whole(value) else { return false };
        let starts = settings.extraction_on.contains(&number);
        let stops = settings.extraction_off.contains(&number);
        if starts || stops {
            self.machine_codes.push((number, span));
        }
        starts || settings.known_codes.contains(&number) || stops && number != 9
    }
}

/// A value that is whole within the tolerance.
pub(super) fn whole(value: f64) -> Option<u32> {
    let nearest = libm::round(value);
    let fits = (value - nearest).abs() <= WHOLE_TOLERANCE && (0.0..=f64::from(u32::MAX)).contains(&nearest);
    fits.then_some(nearest as u32)
}

/// The value when it is in its letter's range; whole where it must be.
fn checked(letter: u8, value: f64, settings: &Settings, span: Span, faults: &mut Faults) -> Option<f64> {
    let name = char::from(letter);
    let most = settings.dialect.largest_tool;
    let mut wrong = |kind| {
        faults.push((kind, span));
        None
    };
    let bit = 1 << slot(letter);
    if KNOWN & bit == 0 {
        return wrong(FaultKind::UnknownWord(name));
    }
    if value < 0.0 {
        return wrong(FaultKind::Negative(name, value));
    }
    if WHOLE & bit == 0 {
        return Some(value);
    }
    match whole(value) {
        None => wrong(FaultKind::NotWhole(name, value)),
        Some(number) if letter != b'L' && number > most => wrong(FaultKind::TooLarge(name, value, most)),
        Some(number) => Some(f64::from(number)),
    }
}
