//! Numbers that options take: each refusal says what is allowed and gives a value that is.

use std::convert::Infallible;
use std::ffi::{OsStr, OsString};

use super::refused::Refused;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::lab::keys::range::{MONEY, POWER, Range};
use crate::lab::{self, DAY_MINUTES};
use crate::unit::format;
use crate::unit::parse::{Dimension, ParseFault, parse};

/// Reads a whole number from `low` to `high`; `example` is shown where something else was typed.
///
/// # Errors
/// What is allowed, and what to write.
pub(super) fn whole<T: TryFrom<u64>>(
    low: u64,
    high: u64,
    example: u64,
) -> impl Fn(&str) -> Result<T, Refused> + Clone {
    move |text| {
        let allowed = |text: &str| {
            let number = text.parse::<u64>().ok();
            number.filter(|number| (low..=high).contains(number))
        };
        if let Some(number) = allowed(text.trim()).and_then(|number| T::try_from(number).ok()) {
            return Ok(number);
        }
        let is_between_thousands = |letter: &char| matches!(letter, ',' | '_' | '\'' | ' ');
        let plain = text.chars().filter(|letter| !is_between_thousands(letter));
        let meant = allowed(&plain.collect::<String>());
        let (low, high) = (format::count(low), format::count(high));
        let must = format!("a whole number from {low} to {high}");
        Err(match meant {
            Some(meant) => Refused {
                must: must + " with nothing between thousands",
                but: None,
                hint: format!("write {meant}"),
            },
            None => Refused {
                must,
                but: None,
                hint: format!("write for example {example}"),
            },
        })
    }
}

/// A time of the day, in seconds since midnight.
pub(super) fn time_of_day(text: &str) -> Result<f64, Refused> {
    let minute = lab::time_of_day(text).filter(|minute| *minute < DAY_MINUTES);
    minute
        .map(|minute| f64::from(minute) * 60.0)
        .ok_or_else(|| Refused {
            must: "a time of the day from 0:00 to 23:59".to_owned(),
            but: None,
            hint: "write for example 22:00".to_owned(),
        })
}

/// The value of an option. What is wrong with it is kept until the lab is read, so that everything that is wrong with a
/// call can be reported at once.
pub type Value<T> = Result<T, Diagnostic>;

/// Reads a number with the unit of its dimension, in base units.
pub(super) fn typed(
    option: &'static str,
    allowed: Range,
) -> impl Fn(&str) -> Result<Value<f64>, Infallible> + Clone {
    move |text| Ok(quantity(option, text, allowed))
}

/// A number with the unit of its dimension, in base units.
///
/// # Errors
/// What is allowed for this option, what was given, and what was likely meant.
pub fn quantity(option: &str, text: &str, allowed: Range) -> Value<f64> {
    let (given, hint) = match parse(text, allowed.dimension) {
        Ok(value) if allowed.holds(value) => return Ok(value),
        Ok(_) => (format!("is {text:?}"), None),
        Err(error) => {
            let (is_unit, is_comma) = match error.fault {
                ParseFault::UnknownUnit(_) | ParseFault::OtherUnit(..) => (true, false),
                _ => (false, error.fault == ParseFault::Comma),
            };
            // Other errors show all that was given.
            let given = match is_unit {
                true => format!("{text:?} {error}"),
                false => error.to_string(),
            };
            let is_meant =
                is_unit || is_comma || error.readings().any(|value| allowed.holds(value));
            (given, is_meant.then(|| error.hint()))
        }
    };
    let example = match allowed.dimension {
        Dimension::Share => "85%",
        _ => "5min",
    };
    let message = format!("{option} must be {}, but {given}", allowed.words);
    let hint = hint.unwrap_or_else(|| format!("write for example {example}"));
    Err(Diagnostic::new(ErrorKind::InvalidOption, message).hint(hint))
}

/// An amount of money, in the currency of the lab.
pub(super) fn money(text: &str) -> Result<f64, Refused> {
    bare(text, MONEY, "a number between 0 and 10^15", "900")
}

/// Power at the wall `[W]`.
pub(super) fn watts(text: &str) -> Result<f64, Refused> {
    let words = "a number of watts between 0 and 1,000,000,000";
    match parse(text, Dimension::Power) {
        Ok(watts) if POWER.holds(watts) => Ok(watts),
        _ => bare(text, POWER, words, "120"),
    }
}

fn bare(text: &str, range: Range, must: &str, example: &str) -> Result<f64, Refused> {
    match text.trim().parse::<f64>() {
        Ok(value) if range.holds(value) => Ok(value),
        _ => Err(Refused {
            must: must.to_owned(),
            but: None,
            hint: format!("write for example {example}"),
        }),
    }
}

/// The arguments with each value that begins with a sign joined to its option: `--wait -5min` is a time that is too short,
/// not an option that does not exist.
pub(super) fn joined(args: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut all: Vec<OsString> = Vec::new();
    let mut is_options = true;
    for arg in args {
        is_options &= arg != "--";
        match all.last_mut() {
            Some(option) if is_options && awaits_value(option) && is_negative(&arg) => {
                option.push("=");
                option.push(arg);
            }
            _ => all.push(arg),
        }
    }
    all
}

fn awaits_value(arg: &OsStr) -> bool {
    arg.to_str()
        .is_some_and(|text| text.len() > 2 && text.starts_with("--") && !text.contains('='))
}

/// Whether it is a minus with a number after it.
fn is_negative(arg: &OsStr) -> bool {
    let number = arg.to_str().and_then(|text| text.strip_prefix('-'));
    number.is_some_and(|number| {
        let word = number.get(..3).unwrap_or_default();
        number.starts_with(|first: char| first.is_ascii_digit() || first == '.')
            || word.eq_ignore_ascii_case("inf")
            || word.eq_ignore_ascii_case("nan")
    })
}

#[cfg(test)]
mod tests {
    use std::ffi::OsString;

    use super::{joined, money, watts, whole};

    #[test]
    fn whole_numbers_and_what_was_meant() {
        let draws = whole::<u64>(1, 1_000_000, 1000);
        assert_eq!((draws("1"), draws("1000000")), (Ok(1), Ok(1_000_000)));
        let told = draws("10,000").unwrap_err();
        assert_eq!(told.hint, "write 10000");
        for text in ["0", "1000001", "-5", "1.5", "abc", "", "1e300", "NaN"] {
            let told = draws(text).unwrap_err();
            assert_eq!(
                told.to_string(),
                "it must be a whole number from 1 to 1,000,000; write for example 1000"
            );
        }
        // What fits the range but not the type is refused too.
        assert!(whole::<u8>(0, 1000, 1)("300").is_err());
    }

    #[test]
    fn money_and_watts_are_finite() {
        assert_eq!((money("0"), money("1e15")), (Ok(0.0), Ok(1e15)));
        assert_eq!((watts("60"), watts("60 W")), (Ok(60.0), Ok(60.0)));
        for text in ["-5", "NaN", "inf", "1e300", "", "abc"] {
            assert!(money(text).is_err() && watts(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_negative_value_belongs_to_its_option() {
        let join = |args: &[&str]| joined(args.iter().map(OsString::from));
        assert_eq!(join(&["--wait", "-5min"]), ["--wait=-5min"]);
        assert_eq!(join(&["--draws", "-inf", "-h"]), ["--draws=-inf", "-h"]);
        for apart in [
            &["--why", "--plot"][..],
            &["--wait=5min", "-5"],
            &["-5", "-5"],
            &["--", "-5"],
            &["--output", "-"],
        ] {
            assert_eq!(join(apart), apart, "{apart:?}");
        }
    }
}
