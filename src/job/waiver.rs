//! Waivers: an accepted departure with its bound, reason, people and end.

use super::load::size_in;
use std::fmt;
use std::str::FromStr;

/// A calendar day, year-month-day as ISO 8601 writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Year.
    pub year: u16,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day, 1 to 31.
    pub day: u8,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Date {
    /// Days of a month of the Gregorian calendar; 0 for a month that is none.
    #[must_use]
    pub fn days_in(year: u16, month: u8) -> u8 {
        match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
            2 => 28,
            _ => 0,
        }
    }
}

/// Reads `YYYY-MM-DD` (ISO 8601).
impl FromStr for Date {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || format!("`{text}` is not a day as YYYY-MM-DD");
        let mut parts = text.split('-');
        let mut part = |digits: usize| {
            let part =
                parts.next().filter(|part| part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit()));
            part.and_then(|part| part.parse::<u16>().ok())
        };
        let (year, month, day) = (part(4).ok_or_else(wrong)?, part(2).ok_or_else(wrong)?, part(2).ok_or_else(wrong)?);
        let small = |number: u16| u8::try_from(number).map_err(|_| wrong());
        let date = Self { year, month: small(month)?, day: small(day)? };
        let last = Self::days_in(date.year, date.month);
        if parts.next().is_some() || date.day == 0 || date.day > last { Err(wrong()) } else { Ok(date) }
    }
}

/// `[[waiver]]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Waiver {
    /// Number, such as `WV-012`.
    pub id: String,
    /// Rule it accepts.
    pub rule: String,
    /// Hole names it covers; empty covers every place.
    pub holes: Vec<String>,
    /// Tools it covers; empty covers every tool.
    pub tools: Vec<u32>,
    /// The measured value may not pass this, in the bad direction; see [`Waiver::bound_in`].
    pub bound: Option<f64>,
    /// Unit of `bound`, as written.
    pub bound_unit: String,
    /// Why; never empty.
    pub reason: String,
    /// Who asked.
    pub raised_by: String,
    /// Who approved.
    pub approved_by: String,
    /// When.
    pub date: Option<Date>,
    /// Last day it holds.
    pub expires: Option<Date>,
    /// Parts or serials it holds for, in words.
    pub effectivity: String,
    /// Request or deviation number.
    pub reference: String,
}

impl Waiver {
    /// The bound in the unit a rule measures in; `None` where its own unit measures something else.
    #[must_use]
    pub fn bound_in(&self, unit: &str) -> Option<f64> {
        Some(self.bound? * size_in(&self.bound_unit, unit)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_days_of_the_calendar_are_taken() {
        assert_eq!("2028-02-29".parse::<Date>().unwrap().to_string(), "2028-02-29");
        for wrong in [
            "2027-02-29",
            "2026-13-01",
            "2026-00-10",
            "26-1-1",
            "2026-01-01-1",
            "today",
            "2026-1-001",
            "2026/11/02",
            "",
        ] {
            assert!(wrong.parse::<Date>().is_err(), "{wrong}");
        }
    }
}
