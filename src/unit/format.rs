//! Numbers as a person reads them at a glance: few digits, the unit that suits the size, "–" for what is no number.
//!
//! Units are spelled as an inventory spells them. Sizes in memory are binary (GiB), disks and rates decimal (GB).

mod digits;
pub mod exact;

use std::fmt::Display;

use super::units::{BINARY_BYTES, BITS, DECIMAL_BYTES, TIMES, WATT_HOURS, WATTS};
use digits::{
    NOT_A_NUMBER, Precision, grouped, per, plain, rounded, scaled, to_decimals, with_commas,
};

/// A size in binary units: "62.4 GiB".
pub fn bytes(bytes: f64) -> String {
    scaled(whole(bytes), &BINARY_BYTES, Precision::Three)
}

/// A size in decimal units, as disks are sold: "600 TB".
pub fn decimal_bytes(bytes: f64) -> String {
    scaled(whole(bytes), &DECIMAL_BYTES, Precision::Three)
}

/// Less than this is what rounding leaves of nothing: no one meets a thousandth of a byte `[B]`.
const NO_BYTE: f64 = 1e-3;

/// A twelfth of 365.25 days `[s]`.
const MONTH: f64 = 365.25 / 12.0 * 86_400.0;

fn whole(bytes: f64) -> f64 {
    if bytes.abs() < NO_BYTE { 0.0 } else { bytes }
}

/// A rate in bytes per second: "450 MB/s".
pub fn byte_rate(bytes_per_second: f64) -> String {
    per(decimal_bytes(bytes_per_second), "s")
}

/// A rate in bytes per day: "41.1 GB/day".
pub fn bytes_per_day(bytes_per_day: f64) -> String {
    per(decimal_bytes(bytes_per_day), "day")
}

/// A rate in bits per second: "2.5 Gbit/s".
pub fn bit_rate(bits_per_second: f64) -> String {
    per(scaled(bits_per_second, &BITS, Precision::Three), "s")
}

/// A time: "1.5 µs", "20 ms", "42 s", "12 min", "6 h", "3.2 days", "6.4 years" (of 365.25 days).
pub fn seconds(seconds: f64) -> String {
    scaled(seconds, &TIMES, Precision::Glance)
}

/// Months, each a twelfth of a year, as they are planned with: "13.5 months"; what is shorter or much longer as a time.
pub fn months(months: f64) -> String {
    match months {
        1.0..36.0 => numbered(months, "month", "months"),
        _ => seconds(months * MONTH),
    }
}

/// Electrical power: "62 W".
pub fn power(watts: f64) -> String {
    scaled(watts, &WATTS, Precision::Three)
}

/// Electrical energy: "543 kWh".
pub fn energy(kilowatt_hours: f64) -> String {
    if kilowatt_hours.is_finite() && kilowatt_hours.abs() >= 999.5 {
        return format!("{} kWh", number(kilowatt_hours));
    }
    scaled(kilowatt_hours, &WATT_HOURS, Precision::Three)
}

/// A span of years as it was given: "1 year", "4.5 years".
pub fn years(years: f64) -> String {
    numbered(years, "year", "years")
}

/// A share of 1 in percent: "98 %", "0.5 %", "<0.1 %".
///
/// What is close to 100 % keeps the digit that tells on which side it lies: "99.6 %", ">99.9 %", "100.4 %".
pub fn share(share: f64) -> String {
    // A sum of shares that should be 1 may miss it by rounding; that is no news to a reader.
    let percent = if (share - 1.0).abs() < 1e-9 {
        100.0
    } else {
        share * 100.0
    };
    let size = percent.abs();
    if !percent.is_finite() {
        NOT_A_NUMBER.to_owned()
    } else if size > 0.0 && size < 0.05 {
        if percent < 0.0 {
            "-<0.1 %".to_owned()
        } else {
            "<0.1 %".to_owned()
        }
    } else if (99.95..100.0).contains(&percent) {
        ">99.9 %".to_owned()
    } else if percent > 100.0 && percent < 100.05 {
        ">100 %".to_owned()
    } else if size < 9.95 || (99.5..100.5).contains(&percent) {
        format!("{} %", plain(to_decimals(percent, 1)))
    } else {
        format!("{} %", grouped(percent.round()))
    }
}

/// A whole number with a comma between thousands: "1,306".
pub fn count(number: u64) -> String {
    with_commas(&number.to_string())
}

/// A number that need not be whole, to three digits and with a comma between thousands: "4.25", "1,306".
pub fn number(value: f64) -> String {
    if value.is_finite() {
        grouped(rounded(value, Precision::Three))
    } else {
        NOT_A_NUMBER.to_owned()
    }
}

/// A number that need not be whole and its noun: "1 core", "4.25 cores".
pub fn numbered(value: f64, one: &str, many: &str) -> String {
    let number = number(value);
    let noun = if number == "1" { one } else { many };
    format!("{number} {noun}")
}

/// Operations or events per second: "1,250/s".
pub fn rate(per_second: f64) -> String {
    per(number(per_second), "s")
}

/// Money: "1,190 EUR", "19.50 EUR"; the number alone where `currency` is empty.
pub fn money(amount: f64, currency: &str) -> String {
    if !amount.is_finite() {
        return NOT_A_NUMBER.to_owned();
    }
    let cents = to_decimals(amount, 2);
    let number = if amount != 0.0 && cents == 0.0 {
        if amount < 0.0 {
            "-<0.01".to_owned()
        } else {
            "<0.01".to_owned()
        }
    } else if cents.abs() >= 100.0 {
        grouped(amount.round())
    } else if cents.fract() == 0.0 {
        plain(cents)
    } else {
        format!("{cents:.2}")
    };
    if currency.is_empty() {
        number
    } else {
        format!("{number} {currency}")
    }
}

/// How many times as much: "1.4 ×".
pub fn ratio(ratio: f64) -> String {
    if !ratio.is_finite() {
        return NOT_A_NUMBER.to_owned();
    }
    let digits = if ratio.abs() < 1.0 {
        to_decimals(ratio, 2)
    } else {
        rounded(ratio, Precision::Three)
    };
    format!("{} ×", grouped(digits))
}

/// A number and its noun: "1 guest", "62 guests".
pub fn plural(number: u64, one: &str, many: &str) -> String {
    format!("{} {}", count(number), by_number(number, one, many))
}

/// "1 guest", "62 guests".
pub fn guests(number: u64) -> String {
    plural(number, "guest", "guests")
}

/// The word that goes with a number: "is" with 1, else "are".
pub fn by_number<'a>(number: u64, one: &'a str, many: &'a str) -> &'a str {
    if number == 1 { one } else { many }
}

/// Names in a sentence: "a", "a and b", "a, b and c".
///
/// # Example
/// ```
/// let names = ["web", "db", "mail"];
/// assert_eq!(berthage::unit::format::listed(names), "web, db and mail");
/// ```
pub fn listed(names: impl IntoIterator<Item = impl Display>) -> String {
    let mut names: Vec<String> = names.into_iter().map(|name| name.to_string()).collect();
    match names.pop() {
        Some(last) if !names.is_empty() => format!("{} and {last}", names.join(", ")),
        last => last.unwrap_or_default(),
    }
}

/// Texts in a row with something between them: "a, b, c".
pub fn joined(texts: impl IntoIterator<Item = impl Display>, between: &str) -> String {
    let texts: Vec<String> = texts.into_iter().map(|text| text.to_string()).collect();
    texts.join(between)
}

#[cfg(test)]
mod tests;
