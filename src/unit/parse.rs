//! From `"96 GiB"`, `"2.5 Gbit/s"` or `"8 %"` to a number in base units.

use super::symbols;

pub use super::dimension::Dimension;
pub use error::{ParseError, ParseFault};

mod error;
#[cfg(test)]
mod tests;

/// Reads `text` as a value of dimension `wanted`; returned in base units (B, B/s, bit/s, 1/s, s, 0–1, W, 1).
///
/// The space before the unit is optional. The sign and the range are the caller's to judge.
///
/// # Errors
/// No number, a missing, unknown or foreign unit, or a number that is not finite or beyond what a number can hold.
///
/// # Example
/// ```
/// use berthage::unit::parse::{Dimension, parse};
/// assert_eq!(parse("2.5 Gbit/s", Dimension::BitRate), Ok(2.5e9));
/// assert_eq!(parse("1 MB/s", Dimension::BitRate), Ok(8e6));
/// assert_eq!(parse("12min", Dimension::Time), Ok(720.0));
/// assert!(parse("32", Dimension::Bytes).is_err());
/// ```
pub fn parse(text: &str, wanted: Dimension) -> Result<f64, ParseError> {
    let trimmed = text.trim();
    let fail = |fault| Err(ParseError::new(fault, trimmed, wanted));
    if trimmed.is_empty() {
        return fail(ParseFault::Empty);
    }
    let (number, unit) = trimmed.split_at(number_length(trimmed));
    let after_comma = unit.strip_prefix(',').unwrap_or_default();
    if after_comma.starts_with(|letter: char| letter.is_ascii_digit()) {
        return fail(ParseFault::Comma);
    }
    let Ok(value) = number.parse::<f64>() else {
        let word = trimmed.trim_start_matches(['+', '-']);
        return fail(match word.get(..3).unwrap_or_default() {
            head if head.eq_ignore_ascii_case("nan") || head.eq_ignore_ascii_case("inf") => {
                ParseFault::NotFinite
            }
            _ => ParseFault::NoNumber,
        });
    };
    let scaled = match unit.trim_start() {
        "" if wanted.readings().is_some() => {
            return Err(ParseError::new(ParseFault::MissingUnit, number, wanted));
        }
        "" => value,
        unit => in_base_units(value, unit, wanted)
            .map_err(|fault| ParseError::new(fault, number, wanted))?,
    };
    if scaled.is_finite() {
        Ok(scaled)
    } else {
        fail(ParseFault::TooLarge)
    }
}

/// Takes a number that the file gives without quotes as a value of dimension `wanted`.
///
/// # Errors
/// Where a bare number has two readings, is not finite, or is beyond what a number can hold.
pub fn from_number(value: f64, written: &str, wanted: Dimension) -> Result<f64, ParseError> {
    let fault = if value.is_finite() && wanted.readings().is_none() {
        return Ok(value);
    } else if value.is_finite() {
        ParseFault::MissingUnit
    } else if written.contains(|letter: char| letter.is_ascii_digit()) {
        ParseFault::TooLarge
    } else {
        // `inf` and `nan` have no digits.
        ParseFault::NotFinite
    };
    Err(ParseError::new(fault, written, wanted))
}

/// `value` of `unit` in base units, if it measures what is wanted.
fn in_base_units(value: f64, unit: &str, wanted: Dimension) -> Result<f64, ParseFault> {
    let Some(symbol) = symbols::find(unit) else {
        return Err(ParseFault::UnknownUnit(unit.to_owned()));
    };
    match (symbol.measures, wanted) {
        (measures, _) if measures == wanted => Ok(symbol.base(value)),
        // A byte rate and a bit rate are the same thing on a wire, and neither text can be misread.
        (Dimension::ByteRate, Dimension::BitRate) => Ok(symbol.base(value) * 8.0),
        (Dimension::BitRate, Dimension::ByteRate) => Ok(symbol.base(value) / 8.0),
        (measures, _) => Err(ParseFault::OtherUnit(unit.to_owned(), measures)),
    }
}

/// How many bytes at the start of `text` are a decimal number.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| {
        bytes
            .iter()
            .skip(from)
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let mut at = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    at += digits(at);
    if bytes.get(at) == Some(&b'.') {
        at += 1 + digits(at + 1);
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let exponent = digits(at + 1 + sign);
        if exponent > 0 {
            at += 1 + sign + exponent;
        }
    }
    at
}
