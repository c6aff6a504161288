//! The digits of a number and the choice of its unit, shared by every kind of value.

use crate::unit::units::Unit;

/// The text where a number would be infinite or undefined.
pub(super) const NOT_A_NUMBER: &str = "–";

/// From here on a number has more digits than a person reads, and is written with an exponent.
const EXPONENT_FROM: f64 = 1e15;
/// Below this a number has more leading zeros than a person counts.
pub(super) const EXPONENT_BELOW: f64 = 1e-3;

/// How many digits are shown.
#[derive(Clone, Copy)]
pub(super) enum Precision {
    /// Three significant digits, but never fewer than the whole part.
    Three,
    /// One decimal below 10, whole numbers from 10 on.
    Glance,
    /// Six significant digits: enough to work with.
    Six,
}

/// `value` in the largest of `units` (ascending) in which it is at least 1 once rounded.
///
/// Rounding comes before the choice, so that 1023.9 MiB reads "1 GiB" and never "1024 MiB".
pub(super) fn scaled(value: f64, units: &[Unit], precision: Precision) -> String {
    if !value.is_finite() {
        return NOT_A_NUMBER.to_owned();
    }
    // Nothing at all is said in the base unit.
    let is_base = |unit: &Unit| value == 0.0 && unit.1 == 1.0;
    let smallest = units.iter().position(is_base).unwrap_or(0);
    let mut chosen = units[smallest];
    for &larger in &units[smallest + 1..] {
        let shown = rounded(value / chosen.1, precision) * chosen.1;
        if value.abs().max(shown.abs()) < larger.1 {
            break;
        }
        chosen = larger;
    }
    let (name, size) = chosen;
    let number = rounded(value / size, precision);
    // Four digits are read without a comma, and 1023 MiB can be typed back in.
    let digits = if number.abs() < 1e4 {
        plain(number)
    } else {
        grouped(number)
    };
    match name {
        // Only these are words, which have a plural.
        "day" | "year" if digits != "1" => format!("{digits} {name}s"),
        _ => format!("{digits} {name}"),
    }
}

/// `value` to the digits that are shown.
pub(super) fn rounded(value: f64, precision: Precision) -> f64 {
    let size = value.abs();
    let decimals = match precision {
        Precision::Six => return six_significant(value),
        Precision::Three if size < 1e-1 => return three_significant(value),
        Precision::Three if size < 1.0 => 3,
        Precision::Three if size < 9.995 => 2,
        Precision::Three if size < 99.95 => 1,
        Precision::Glance if size < 0.05 => return three_significant(value),
        Precision::Glance if size < 9.95 => 1,
        Precision::Three | Precision::Glance => 0,
    };
    to_decimals(value, decimals)
}

/// `value` to a number of decimals; what is too large to have any stays as it is.
pub(super) fn to_decimals(value: f64, decimals: i32) -> f64 {
    let step = 10f64.powi(decimals);
    let stepped = (value * step).round() / step;
    if stepped.is_finite() { stepped } else { value }
}

/// The number that three significant decimal digits stand for.
fn three_significant(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

/// The number that six significant decimal digits stand for.
pub(super) fn six_significant(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// An already rounded number without needless zeros: "62.4", "1", "0.5", "1.5e-9".
pub(super) fn plain(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 {
        "0".to_owned()
    } else if (EXPONENT_BELOW..EXPONENT_FROM).contains(&size) {
        format!("{value}")
    } else {
        format!("{:e}", three_significant(value))
    }
}

/// An already rounded number with a comma between thousands: "1,306.5".
pub(super) fn grouped(value: f64) -> String {
    let text = plain(value);
    let whole_end = text.find(['.', 'e']).unwrap_or(text.len());
    let (whole, rest) = text.split_at(whole_end);
    match whole.strip_prefix('-') {
        Some(digits) => format!("-{}{rest}", with_commas(digits)),
        None => with_commas(whole) + rest,
    }
}

/// Digits with a comma between thousands.
pub(super) fn with_commas(digits: &str) -> String {
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// A formatted amount as a rate; what is no number gets no unit.
pub(super) fn per(amount: String, time: &str) -> String {
    if amount == NOT_A_NUMBER {
        amount
    } else {
        format!("{amount}/{time}")
    }
}

#[cfg(test)]
mod tests {
    use super::{Precision, grouped, plain, rounded};

    #[test]
    fn thousands_are_set_apart() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0, "0"),
            (7.0, "7"),
            (999.0, "999"),
            (1_000.0, "1,000"),
            (-1_306.5, "-1,306.5"),
            (-100.0, "-100"),
            (1_234_567.0, "1,234,567"),
            (1e15, "1e15"),
        ] {
            assert_eq!(grouped(value), text);
        }
    }

    #[test]
    fn three_digits_carry_over_into_the_next_place() {
        for (value, text) in [
            (9.996, "10"),
            (99.96, "100"),
            (9.994, "9.99"),
            (0.0999999, "0.1"),
            (1e-9, "1e-9"),
        ] {
            assert_eq!(plain(rounded(value, Precision::Three)), text);
        }
    }
}
