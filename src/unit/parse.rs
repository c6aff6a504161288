//! From `"96 GiB"`, `"2.5 Gbit/s"` or `"8 %"` to a number in base units.

use super::symbols::{self, Symbol};

pub use super::dimension::Dimension;
pub use error::ParseError;

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
    if trimmed.is_empty() {
        return Err(ParseError::Empty { wanted });
    }
    let (number, unit) = trimmed.split_at(number_length(trimmed));
    if unit
        .strip_prefix(',')
        .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
    {
        return Err(ParseError::Comma {
            text: trimmed.to_owned(),
        });
    }
    let unit = unit.trim_start();
    let Ok(value) = number.parse::<f64>() else {
        let word = trimmed.trim_start_matches(['+', '-']);
        let head = word.get(..3).unwrap_or("");
        let text = trimmed.to_owned();
        return Err(
            if head.eq_ignore_ascii_case("nan") || head.eq_ignore_ascii_case("inf") {
                ParseError::NotFinite { text, wanted }
            } else {
                ParseError::NoNumber { text, wanted }
            },
        );
    };
    let scaled = if unit.is_empty() {
        if wanted.readings().is_some() {
            return Err(ParseError::NoUnit {
                number: number.to_owned(),
                wanted,
            });
        }
        value
    } else {
        in_base_units(value, number, unit, wanted)?
    };
    if scaled.is_finite() {
        Ok(scaled)
    } else {
        Err(ParseError::TooLarge {
            text: trimmed.to_owned(),
            wanted,
        })
    }
}

/// Takes a number that the file gives without quotes as a value of dimension `wanted`.
///
/// # Errors
/// Where a bare number has two readings, is not finite, or is beyond what a number can hold.
pub fn from_number(value: f64, written: &str, wanted: Dimension) -> Result<f64, ParseError> {
    if !value.is_finite() {
        let text = written.to_owned();
        // `inf` and `nan` have no digits.
        return Err(if text.contains(|c: char| c.is_ascii_digit()) {
            ParseError::TooLarge { text, wanted }
        } else {
            ParseError::NotFinite { text, wanted }
        });
    }
    if wanted.readings().is_some() {
        return Err(ParseError::NoUnit {
            number: written.to_owned(),
            wanted,
        });
    }
    Ok(value)
}

/// `value` of `unit` in base units, if it measures what is wanted.
fn in_base_units(
    value: f64,
    number: &str,
    unit: &str,
    wanted: Dimension,
) -> Result<f64, ParseError> {
    match symbols::find(unit) {
        Some(symbol @ Symbol { measures, .. }) => match (measures, wanted) {
            _ if measures == wanted => Ok(symbol.base(value)),
            // A byte rate and a bit rate are the same thing on a wire, and neither text can be misread.
            (Dimension::ByteRate, Dimension::BitRate) => Ok(symbol.base(value) * 8.0),
            (Dimension::BitRate, Dimension::ByteRate) => Ok(symbol.base(value) / 8.0),
            _ => Err(ParseError::OtherUnit {
                unit: unit.to_owned(),
                measures,
                wanted,
            }),
        },
        None => Err(ParseError::UnknownUnit {
            number: number.to_owned(),
            unit: unit.to_owned(),
            wanted,
        }),
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
