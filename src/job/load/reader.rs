//! What every part of the loader shares: the file, its units, where in it we stand, and the faults so far.

use super::amount::{Amount, AmountFault, Measure};
use super::at::At;
use super::error::{JobError, did_you_mean};
use crate::job::Limit;
use crate::source::{Source, Span};
use crate::units::{Millimetres, UnitSystem};
use std::sync::Arc;

/// An amount a file may leave out.
pub(super) type Given = Option<At<Amount>>;
/// Two amounts, least and most.
pub(super) type Pair = Option<At<[At<Amount>; 2]>>;

/// Reads one file.
pub(super) struct Reader {
    pub file: Arc<Source>,
    pub units: Option<UnitSystem>,
    pub errors: Vec<JobError>,
    path: String,
    unitless: Vec<(Span, String)>,
}

/// Which numbers a key takes.
#[derive(Clone, Copy, PartialEq)]
enum Sign {
    Any,
    NotNegative,
    Positive,
}

impl Reader {
    pub fn new(file: Arc<Source>) -> Self {
        Self { file, units: None, errors: Vec::new(), path: String::new(), unitless: Vec::new() }
    }

    /// All faults. Numbers without a unit have one cause and are one fault, told at the first of them.
    pub fn finish(mut self) -> Vec<JobError> {
        let Some((span, key)) = self.unitless.iter().min_by_key(|(span, _)| *span).cloned() else {
            return self.errors;
        };
        let message = match self.unitless.len() {
            1 => format!("`{key}` has no unit"),
            2 => format!("`{key}` and one more amount have no unit"),
            count => format!("`{key}` and {} more amounts have no unit", count - 1),
        };
        let help = "give each its unit, such as \"6.0 mm\", or set `units` for the whole file";
        self.error(span, message, Some(help.to_owned()));
        self.errors
    }

    /// Runs `work` one table deeper.
    pub fn within<T>(&mut self, name: &str, work: impl FnOnce(&mut Self) -> T) -> T {
        let outer = self.path.len();
        if outer > 0 {
            self.path.push('.');
        }
        self.path.push_str(name);
        let done = work(self);
        self.path.truncate(outer);
        done
    }

    /// Full name of a key of this table.
    pub fn key(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// Full name of this table.
    pub fn path(&self) -> &str {
        &self.path
    }

    pub fn error(&mut self, span: Span, message: impl Into<String>, help: Option<String>) {
        self.errors.push(JobError { file: Arc::clone(&self.file), span, message: message.into(), help });
    }

    /// An unknown word, with the nearest of those known.
    pub fn unknown(&mut self, span: Span, message: String, word: &str, known: &[&str]) {
        self.error(span, message, did_you_mean(word, known));
    }

    /// Where a value of this table comes from: file, key and specification.
    pub fn origin(&self, name: &str, spec: &str) -> String {
        self.origin_of(&self.key(name), spec)
    }

    /// Where this table comes from.
    pub fn origin_here(&self, spec: &str) -> String {
        self.origin_of(&self.path, spec)
    }

    fn origin_of(&self, key: &str, spec: &str) -> String {
        let file = self.file.name.rsplit('/').next().unwrap_or_default();
        if spec.is_empty() { format!("{file}: {key}") } else { format!("{file}: {key}, {spec}") }
    }

    /// A length in millimetres, worded in the file's unit.
    pub fn length(&self, value: f64) -> String {
        self.units.unwrap_or_default().length(Millimetres(value))
    }

    /// A point in millimetres, worded in the file's unit.
    pub fn place(&self, [x, y]: [f64; 2]) -> String {
        let units = self.units.unwrap_or_default();
        format!("{} {}", units.coordinate('X', Millimetres(x)), units.coordinate('Y', Millimetres(y)))
    }

    /// Any amount.
    pub fn any<M: Measure>(&mut self, name: &str, raw: &Given) -> Option<M> {
        self.amount(name, raw.as_ref()?, Sign::Any)
    }

    /// An amount of zero or more.
    pub fn not_negative<M: Measure>(&mut self, name: &str, raw: &Given) -> Option<M> {
        self.amount(name, raw.as_ref()?, Sign::NotNegative)
    }

    /// An amount above zero.
    pub fn positive<M: Measure>(&mut self, name: &str, raw: &Given) -> Option<M> {
        self.amount(name, raw.as_ref()?, Sign::Positive)
    }

    /// An amount above zero with its origin.
    pub fn limit<M: Measure>(&mut self, name: &str, raw: &Given, spec: &str) -> Option<Limit<M>> {
        let value = self.positive(name, raw)?;
        Some(Limit::new(value, self.origin(name, spec)))
    }

    /// An amount of zero or more with its origin.
    pub fn limit_from_zero<M: Measure>(&mut self, name: &str, raw: &Given, spec: &str) -> Option<Limit<M>> {
        let value = self.not_negative(name, raw)?;
        Some(Limit::new(value, self.origin(name, spec)))
    }

    /// An amount above zero outside an `Option`.
    pub fn one<M: Measure>(&mut self, name: &str, raw: &At<Amount>) -> Option<M> {
        self.amount(name, raw, Sign::Positive)
    }

    /// Any amount outside an `Option`.
    pub fn one_any<M: Measure>(&mut self, name: &str, raw: &At<Amount>) -> Option<M> {
        self.amount(name, raw, Sign::Any)
    }

    /// Least and most, in order.
    pub fn pair<M: Measure + PartialOrd>(&mut self, name: &str, raw: &Pair) -> Option<(M, M)> {
        let At { value: [low, high], span } = raw.as_ref()?;
        let (low, high) = (self.one_any(name, low), self.one_any(name, high));
        let (low, high) = (low?, high?);
        if low >= high {
            self.error(*span, format!("`{}` must run from less to more", self.key(name)), None);
            return None;
        }
        Some((low, high))
    }

    /// A whole number above zero.
    pub fn count(&mut self, name: &str, raw: Option<&At<u32>>) -> Option<u32> {
        let raw = raw?;
        if raw.value == 0 {
            self.error(raw.span, format!("`{}` must be at least 1, not 0", self.key(name)), None);
        }
        (raw.value > 0).then_some(raw.value)
    }

    /// A plain number between two bounds, both inclusive.
    pub fn number(&mut self, name: &str, raw: Option<&At<f64>>, least: f64, most: f64) -> Option<f64> {
        let At { value, span } = raw?;
        if !value.is_finite() || !(least..=most).contains(value) {
            let range =
                if most.is_finite() { format!("between {least} and {most}") } else { format!("at least {least}") };
            self.error(*span, format!("`{}` must be {range}, not {value}", self.key(name)), None);
            return None;
        }
        Some(*value)
    }

    /// A share such as `5 %`, from 0 to under 1.
    pub fn share(&mut self, name: &str, raw: &At<Amount>) -> Option<f64> {
        let share = if raw.value.symbol() == "%" { raw.value.number() / 100.0 } else { f64::NAN };
        if !(0.0..1.0).contains(&share) {
            self.error(raw.span, format!("`{}` must be from 0 to under 100 %", self.key(name)), None);
            return None;
        }
        Some(share)
    }

    fn amount<M: Measure>(&mut self, name: &str, raw: &At<Amount>, sign: Sign) -> Option<M> {
        let key = self.key(name);
        let fault = match raw.value.read::<M>(self.units) {
            Ok(amount) if sign == Sign::Any => return Some(amount),
            Ok(amount) => {
                let number = raw.value.number();
                if number > 0.0 || (sign == Sign::NotNegative && number == 0.0) {
                    return Some(amount);
                }
                let wanted = if sign == Sign::Positive { "more than 0" } else { "0 or more" };
                self.error(raw.span, format!("`{key}` must be {wanted}, not {number}"), None);
                return None;
            }
            Err(fault) => fault,
        };
        let known: Vec<&str> = M::UNITS.iter().map(|(symbol, _)| *symbol).collect();
        let example = Some(format!("write it like \"{}\"", M::EXAMPLE));
        match fault {
            AmountFault::NotANumber => self.error(raw.span, format!("`{key}` must be {}", M::WHAT), example),
            AmountFault::NoUnits => self.unitless.push((raw.span, key)),
            AmountFault::Unit(symbol) => self.error(
                raw.span,
                format!("`{key}` is {}, and `{symbol}` is no unit of it", M::WHAT),
                Some(format!("units here: {}", known.join(", "))),
            ),
        }
        None
    }
}
