//! Points in time as text, `2026-11-25T07:25:00Z`, and back: UTC, whole seconds.

/// Days from 0000-03-01 to 1970-01-01.
const DAYS_TO_EPOCH: i64 = 719_468;
/// Days in 400 years.
const DAYS_IN_ERA: i64 = 146_097;
const SECONDS_IN_DAY: i64 = 86_400;

/// The text of a time in seconds since 1970 `[s]`.
///
/// # Source
/// ISO 8601 / RFC 3339; the calendar is counted in eras of 400 years that start in March (definition of the proleptic
/// Gregorian calendar).
///
/// # Example
/// ```
/// assert_eq!(berthage::unit::instant::text(951_782_400.0), "2000-02-29T00:00:00Z");
/// ```
pub fn text(seconds: f64) -> String {
    // Years beyond 9999 have no four-digit writing.
    let seconds = seconds.floor().clamp(0.0, 253_402_300_799.0) as i64;
    let (days, second) = (
        seconds / SECONDS_IN_DAY + DAYS_TO_EPOCH,
        seconds % SECONDS_IN_DAY,
    );
    let (era, day_of_era) = (days / DAYS_IN_ERA, days % DAYS_IN_ERA);
    let year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * shifted_month + 2) / 5 + 1;
    let month = if shifted_month < 10 {
        shifted_month + 3
    } else {
        shifted_month - 9
    };
    let year = era * 400 + year_of_era + i64::from(month <= 2);
    format!(
        "{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}Z",
        second / 3600,
        second / 60 % 60,
        second % 60
    )
}

/// The time that a text says `[s]` since 1970: with `T` or a blank between day and time, a `Z` or an offset such as
/// `+02:00` or nothing (then UTC) at its end, seconds optional.
///
/// # Example
/// ```
/// use berthage::unit::instant::seconds;
/// assert_eq!(seconds("2000-02-29T00:00:00Z"), Some(951_782_400.0));
/// assert_eq!(seconds("2000-02-29 01:00+01:00"), Some(951_782_400.0));
/// assert_eq!(seconds("yesterday"), None);
/// ```
pub fn seconds(text: &str) -> Option<f64> {
    let (day, rest) = (text.get(..10)?, text.get(10..)?);
    let mut parts = day.split('-').map(|part| part.parse::<u32>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    if parts.next().is_some() || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let rest = rest.strip_prefix(['T', 't', ' '])?;
    let (time, offset) = match rest.find(['Z', 'z', '+', '-']) {
        Some(at) => (&rest[..at], offset(&rest[at..])?),
        None => (rest, 0.0),
    };
    let mut clock = time.trim().split(':');
    let (hour, minute): (u32, u32) = (clock.next()?.parse().ok()?, clock.next()?.parse().ok()?);
    let second: f64 = clock
        .next()
        .map_or(Some(0.0), |second| second.parse().ok())?;
    if clock.next().is_some() || hour > 24 || minute > 59 || !(0.0..61.0).contains(&second) {
        return None;
    }
    let days = days(i64::from(year), i64::from(month), i64::from(day));
    Some((days * SECONDS_IN_DAY) as f64 + f64::from(hour * 3600 + minute * 60) + second - offset)
}

/// Seconds that local time is ahead of UTC.
fn offset(text: &str) -> Option<f64> {
    let sign = match text.get(..1)? {
        "+" => 1.0,
        "-" => -1.0,
        _ => return (text.len() == 1).then_some(0.0),
    };
    let digits: String = text[1..].chars().filter(|letter| *letter != ':').collect();
    let hours: f64 = digits.get(..2)?.parse().ok()?;
    let minutes: f64 = digits
        .get(2..)
        .filter(|rest| !rest.is_empty())
        .map_or(Some(0.0), |rest| rest.parse().ok())?;
    Some(sign * (hours * 3600.0 + minutes * 60.0))
}

/// Days since 1970.
fn days(year: i64, month: i64, day: i64) -> i64 {
    let year = year - i64::from(month <= 2);
    let (era, year_of_era) = (year.div_euclid(400), year.rem_euclid(400));
    let shifted_month = if month > 2 { month - 3 } else { month + 9 };
    let day_of_year = (153 * shifted_month + 2) / 5 + day - 1;
    era * DAYS_IN_ERA + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year
        - DAYS_TO_EPOCH
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{any, prop_assert_eq, proptest};

    use super::{seconds, text};

    proptest! {
        #[test]
        fn what_is_written_is_read_back(at in 0i64..253_402_300_799) {
            prop_assert_eq!(seconds(&text(at as f64)), Some(at as f64));
        }

        #[test]
        fn nothing_panics(words in any::<String>()) {
            let _ = seconds(&words);
            let _ = seconds(&format!("2026-01-01T{words}"));
        }
    }
}
