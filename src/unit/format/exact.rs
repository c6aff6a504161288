//! Numbers to work with: six significant digits, so that a formula worked out by hand gives the printed result.

use super::digits::{NOT_A_NUMBER, Precision, grouped, per, scaled, six_significant};
use crate::unit::units::{BINARY_BYTES, BITS, DECIMAL_BYTES, TIMES, Unit, WATTS};

/// Below this a number has more leading zeros than a person counts.
const EXPONENT_BELOW: f64 = 1e-3;

/// A size in binary units: "62.4375 GiB".
#[must_use]
pub fn bytes(bytes: f64) -> String {
    six(bytes, &BINARY_BYTES)
}

/// A size in decimal units, as disks are sold: "600 TB".
#[must_use]
pub fn decimal_bytes(bytes: f64) -> String {
    six(bytes, &DECIMAL_BYTES)
}

/// A rate in bytes per day: "41.1234 GB/day".
#[must_use]
pub fn bytes_per_day(bytes_per_day: f64) -> String {
    per(decimal_bytes(bytes_per_day), "day")
}

/// A rate in bytes per second: "450 MB/s".
#[must_use]
pub fn byte_rate(bytes_per_second: f64) -> String {
    per(decimal_bytes(bytes_per_second), "s")
}

/// A rate in bits per second: "2.5 Gbit/s".
#[must_use]
pub fn bit_rate(bits_per_second: f64) -> String {
    per(six(bits_per_second, &BITS), "s")
}

/// A time: "5.3 µs", "12.3456 min", "6.4 years" (of 365.25 days).
#[must_use]
pub fn seconds(seconds: f64) -> String {
    if seconds == 0.0 {
        return "0 s".to_owned();
    }
    six(seconds, &TIMES)
}

/// Electrical power: "62.3125 W".
#[must_use]
pub fn power(watts: f64) -> String {
    six(watts, &WATTS)
}

/// A share of 1 in percent: "98.4375 %".
#[must_use]
pub fn share(share: f64) -> String {
    if share.is_finite() {
        format!("{} %", number(share * 100.0))
    } else {
        NOT_A_NUMBER.to_owned()
    }
}

/// A number without a unit: "4.25", "1,306.5", "5.3e-6".
#[must_use]
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return NOT_A_NUMBER.to_owned();
    }
    let value = six_significant(value);
    if value != 0.0 && value.abs() < EXPONENT_BELOW {
        format!("{value:e}")
    } else {
        grouped(value)
    }
}

fn six(value: f64, units: &[Unit]) -> String {
    let (name, size) = units[0];
    // Below the smallest unit a number has an exponent, and still six digits.
    if value != 0.0 && value.abs() < EXPONENT_BELOW * size {
        return format!("{} {name}", number(value / size));
    }
    scaled(value, units, Precision::Six)
}

#[cfg(test)]
mod tests {
    use super::{bytes, number, seconds, share};

    #[test]
    fn six_digits_are_kept_and_zeros_are_not() {
        for (value, text) in [
            (5.3e-6, "5.3e-6"),
            (1.0 / 3.0, "0.333333"),
            (1_234_567.0, "1,234,570"),
            (2.0, "2"),
            (0.0, "0"),
        ] {
            assert_eq!(number(value), text);
        }
        assert_eq!(bytes(62.984_375 * 1_073_741_824.0), "62.9844 GiB");
        assert_eq!(bytes(1_073_741_823.9), "1 GiB");
        assert_eq!(seconds(5.3e-6), "5.3 µs");
        assert_eq!(seconds(8.561_31e-28), "8.56131e-19 ns");
        assert_eq!(share(0.7), "70 %");
        assert_eq!(share(0.000_012_345_678), "0.00123457 %");
    }
}
