//! Today, from the clock.

use crate::job::Date;
use std::time::{SystemTime, UNIX_EPOCH};

const SECONDS_A_DAY: u64 = 86_400;

/// Today in UTC; `None` when the clock stands before 1970.
pub fn today() -> Option<Date> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).ok()?.as_secs();
    civil(i64::try_from(seconds / SECONDS_A_DAY).ok()?)
}

/// The Gregorian day that many days after 1970-01-01: whole years, then whole months, are taken off in turn.
fn civil(days: i64) -> Option<Date> {
    let mut left = u32::try_from(days).ok()?;
    for year in 1970..=9999 {
        for month in 1..=12 {
            let length = u32::from(Date::days_in(year, month));
            if left < length {
                return Some(Date { year, month, day: u8::try_from(left + 1).ok()? });
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
}
