//! Numbers to work with: six significant digits, so that a formula worked out by hand gives the printed result.

use super::digits::{
    EXPONENT_BELOW, NOT_A_NUMBER, Precision, grouped, per, scaled, six_significant,
};
use crate::unit::units::{BINARY_BYTES, BITS, DECIMAL_BYTES, TIMES, Unit, WATTS};

/// A size in binary units: "62.4375 GiB".
pub fn bytes(bytes: f64) -> String {
    six(bytes, &BINARY_BYTES)
}

/// A size in decimal units, as disks are sold: "600 TB".
pub fn decimal_bytes(bytes: f64) -> String {
    six(bytes, &DECIMAL_BYTES)
}

/// A rate in bytes per day: "41.1234 GB/day".
pub fn bytes_per_day(bytes_per_day: f64) -> String {
    per(decimal_bytes(bytes_per_day), "day")
}

/// A rate in bytes per second: "450 MB/s".
pub fn byte_rate(bytes_per_second: f64) -> String {
    per(decimal_bytes(bytes_per_second), "s")
}

/// A rate in bits per second: "2.5 Gbit/s".
pub fn bit_rate(bits_per_second: f64) -> String {
    per(six(bits_per_second, &BITS), "s")
}

/// A time: "5.3 µs", "12.3456 min", "6.4 years" (of 365.25 days).
pub fn seconds(seconds: f64) -> String {
    six(seconds, &TIMES)
}

/// Electrical power: "62.3125 W".
pub fn power(watts: f64) -> String {
    six(watts, &WATTS)
}

/// A share of 1 in percent: "98.4375 %".
pub fn share(share: f64) -> String {
    if share.is_finite() {
        format!("{} %", number(share * 100.0))
    } else {
        NOT_A_NUMBER.to_owned()
    }
}

/// A number without a unit: "4.25", "1,306.5", "5.3e-6".
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
