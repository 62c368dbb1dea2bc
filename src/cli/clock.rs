//! Calendar days: today's from the clock, others from an argument.

use crate::job::Date;
use std::time::{SystemTime, UNIX_EPOCH};

const SECONDS_A_DAY: u64 = 86_400;

/// Today in UTC; `None` when the clock stands before 1970.
pub fn today() -> Option<Date> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).ok()?.as_secs();
    civil(i64::try_from(seconds / SECONDS_A_DAY).ok()?)
}

/// Reads `YYYY-MM-DD` (ISO 8601).
pub fn parse_date(text: &str) -> Result<Date, String> {
    let wrong = || format!("`{text}` is not a day as YYYY-MM-DD");
    let mut parts = text.split('-');
    let mut part = |digits: usize| {
        let part = parts.next().filter(|part| part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit()));
        part.and_then(|part| part.parse::<u16>().ok())
    };
    let (year, month, day) = (part(4).ok_or_else(wrong)?, part(2).ok_or_else(wrong)?, part(2).ok_or_else(wrong)?);
    if parts.next().is_some() || !(1..=12).contains(&month) || day == 0 || day > days_in(year, month) {
        return Err(wrong());
    }
    Ok(Date { year, month: u8::try_from(month).map_err(|_| wrong())?, day: u8::try_from(day).map_err(|_| wrong())? })
}

fn days_in(year: u16, month: u16) -> u16 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 => 28 + u16::from(leap),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// The Gregorian day that many days after 1970-01-01: whole years, then whole months, are taken off in turn.
fn civil(days: i64) -> Option<Date> {
    let mut left = u32::try_from(days).ok()?;
    for year in 1970..=9999 {
        for month in 1..=12 {
            let length = u32::from(days_in(year, month));
            if left < length {
                return Some(Date { year, month: u8::try_from(month).ok()?, day: u8::try_from(left + 1).ok()? });
            }
            left -= length;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_since_1970_become_dates() {
        assert_eq!(civil(0).unwrap().to_string(), "1970-01-01");
        assert_eq!(civil(11_016).unwrap().to_string(), "2000-02-29");
        assert_eq!(civil(20_759).unwrap().to_string(), "2026-11-02");
    }

    #[test]
    fn only_days_of_the_calendar_are_taken() {
        assert_eq!(parse_date("2028-02-29").unwrap().to_string(), "2028-02-29");
        for wrong in ["2027-02-29", "2026-13-01", "2026-00-10", "26-1-1", "2026-01-01-1", "today", "2026-1-001", ""] {
            assert!(parse_date(wrong).is_err(), "{wrong}");
        }
    }
}
