//! Why a text is no value, and what is allowed.

use std::fmt;

use crate::unit::dimension::Dimension;
use crate::unit::symbols;

/// A text that is no value of the wanted dimension.
#[derive(Debug, Clone, PartialEq)]
pub struct ParseError {
    /// What is wrong with it.
    pub fault: ParseFault,
    /// The number that it starts with, or all of it where no number can be read.
    pub text: String,
    /// What was wanted.
    pub wanted: Dimension,
}

/// What is wrong with a text.
#[derive(Debug, Clone, PartialEq)]
pub enum ParseFault {
    /// Nothing was written.
    Empty,
    /// It does not start with a number.
    NoNumber,
    /// `nan` or `inf`.
    NotFinite,
    /// Beyond what a number can hold.
    TooLarge,
    /// A number without the unit it needs.
    MissingUnit,
    /// A comma in the number, for a decimal point or between thousands.
    Comma,
    /// A unit that does not exist here.
    UnknownUnit(String),
    /// A unit that measures something else, and what that is.
    OtherUnit(String, Dimension),
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = short(&self.text);
        match &self.fault {
            ParseFault::Empty => write!(f, "is empty"),
            ParseFault::NoNumber => write!(f, "is `{text}`, which does not start with a number"),
            ParseFault::NotFinite => write!(f, "is `{text}`, which is not a finite number"),
            ParseFault::TooLarge if text.starts_with('-') => {
                write!(f, "is `{text}`, which is too far below 0")
            }
            ParseFault::TooLarge => write!(f, "is `{text}`, which is too large"),
            ParseFault::MissingUnit => write!(f, "is `{text}` without a unit"),
            ParseFault::Comma => write!(f, "is `{text}`, with a comma in the number"),
            ParseFault::UnknownUnit(unit) => write!(f, "has the unknown unit `{}`", short(unit)),
            ParseFault::OtherUnit(unit, measures) => {
                let (unit, noun) = (short(unit), measures.noun());
                write!(f, "has the unit `{unit}`, which measures {noun}")
            }
        }
    }
}

impl std::error::Error for ParseError {}

impl ParseError {
    pub(super) fn new(fault: ParseFault, text: &str, wanted: Dimension) -> ParseError {
        let text = text.to_owned();
        ParseError {
            fault,
            text,
            wanted,
        }
    }

    /// The values that a bare number could have meant, in base units; none where it was not a missing unit.
    pub fn readings(&self) -> impl Iterator<Item = f64> {
        let is_bare = self.fault == ParseFault::MissingUnit;
        let units = self.wanted.readings().filter(|_| is_bare);
        // TOML allows underscores in a number.
        let number = self.text.replace('_', "").parse::<f64>();
        let symbols = units.into_iter().flatten().filter_map(symbols::find);
        symbols
            .filter_map(move |symbol| Some(symbol.base(*number.as_ref().ok()?)))
            .filter(|value| value.is_finite())
    }

    /// What is allowed, or how to fix it.
    pub fn hint(&self) -> String {
        let (text, wanted) = (&self.text, self.wanted);
        let (noun, units, examples) = (wanted.noun(), wanted.units(), wanted.all_examples());
        match &self.fault {
            ParseFault::Empty | ParseFault::NoNumber | ParseFault::TooLarge => {
                format!("write {examples}")
            }
            ParseFault::NotFinite => format!("write a finite number, for example {examples}"),
            ParseFault::Comma => format!(
                "write a point before decimals and nothing between thousands: \"{}\" or \"{}\"",
                short(&text.replacen(',', ".", 1)),
                short(&text.replacen(',', "", 1))
            ),
            ParseFault::MissingUnit => match wanted.readings() {
                Some(readings) => {
                    // TOML allows underscores in a number; a quantity in quotes does not.
                    let meant = spellings(&text.replace('_', ""), &readings);
                    match wanted {
                        Dimension::Bytes | Dimension::ByteRate => format!(
                            "write {meant}: GiB is 2^30 bytes, GB is 10^9; likewise MiB and MB"
                        ),
                        _ => format!("write {meant}; units of {noun}: {units}"),
                    }
                }
                None => format!("write {examples}"),
            },
            ParseFault::UnknownUnit(unit) => match symbols::near(unit, wanted).as_slice() {
                [] => format!("units of {noun}: {units}"),
                near => format!("write {}", spellings(text, near)),
            },
            ParseFault::OtherUnit(..) => {
                format!("units of {noun}: {units}; for example {examples}")
            }
        }
    }
}

/// A number with each of one or two units in turn, in quotes: `"2 MiB" or "2 MB"`.
fn spellings(number: &str, units: &[&str]) -> String {
    let number = short(number);
    let spelled = units.iter().take(2).map(|unit| match unit {
        // A rate of operations has no space between number and unit.
        unit if unit.starts_with('/') => format!("\"{number}{unit}\""),
        unit => format!("\"{number} {unit}\""),
    });
    spelled.collect::<Vec<_>>().join(" or ")
}

/// The start of a text that may be megabytes long.
fn short(text: &str) -> String {
    const LONGEST: usize = 40;
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
