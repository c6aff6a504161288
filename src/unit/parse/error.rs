//! Why a text is no value, and what is allowed.

use std::fmt;

use crate::unit::dimension::Dimension;
use crate::unit::parse::parse;
use crate::unit::symbols;

/// Why a text is no value of the wanted dimension.
#[derive(Debug, Clone, PartialEq)]
pub enum ParseError {
    /// Nothing was written.
    Empty {
        /// What was wanted.
        wanted: Dimension,
    },
    /// The text does not start with a number.
    NoNumber {
        /// The text.
        text: String,
        /// What was wanted.
        wanted: Dimension,
    },
    /// `nan` or `inf`.
    NotFinite {
        /// The text.
        text: String,
        /// What was wanted.
        wanted: Dimension,
    },
    /// A number beyond what a number can hold.
    TooLarge {
        /// The text.
        text: String,
        /// What was wanted.
        wanted: Dimension,
    },
    /// A number without the unit it needs.
    NoUnit {
        /// The number as written.
        number: String,
        /// What was wanted.
        wanted: Dimension,
    },
    /// A comma in the number, for a decimal point or between thousands.
    Comma {
        /// The text.
        text: String,
    },
    /// A unit that does not exist here.
    UnknownUnit {
        /// The number as written.
        number: String,
        /// The unit as written.
        unit: String,
        /// What was wanted.
        wanted: Dimension,
    },
    /// A unit that measures something else.
    OtherUnit {
        /// The unit as written.
        unit: String,
        /// What the unit measures.
        measures: Dimension,
        /// What was wanted.
        wanted: Dimension,
    },
}

impl fmt::Display for ParseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ParseError::Empty { .. } => write!(f, "is empty"),
            ParseError::NoNumber { text, .. } => write!(
                f,
                "is `{}`, which does not start with a number",
                short(text)
            ),
            ParseError::NotFinite { text, .. } => {
                write!(f, "is `{}`, which is not a finite number", short(text))
            }
            ParseError::TooLarge { text, .. } if text.starts_with('-') => {
                write!(f, "is `{}`, which is too far below 0", short(text))
            }
            ParseError::TooLarge { text, .. } => {
                write!(f, "is `{}`, which is too large", short(text))
            }
            ParseError::NoUnit { number, .. } => write!(f, "is `{}` without a unit", short(number)),
            ParseError::Comma { text } => {
                write!(f, "is `{}`, with a comma in the number", short(text))
            }
            ParseError::UnknownUnit { unit, .. } => {
                write!(f, "has the unknown unit `{}`", short(unit))
            }
            ParseError::OtherUnit { unit, measures, .. } => {
                write!(
                    f,
                    "has the unit `{}`, which measures {}",
                    short(unit),
                    measures.noun()
                )
            }
        }
    }
}

impl std::error::Error for ParseError {}

impl ParseError {
    /// The values that a bare number could have meant, in base units; none where it was not a missing unit.
    pub fn readings(&self) -> impl Iterator<Item = f64> {
        let meant = match self {
            ParseError::NoUnit { number, wanted } => wanted
                .readings()
                .map(|units| units.map(|unit| parse(&spelled_plain(number, unit), *wanted))),
            _ => None,
        };
        meant.into_iter().flatten().filter_map(Result::ok)
    }

    /// What is allowed, or how to fix it.
    pub fn hint(&self) -> String {
        match self {
            ParseError::Empty { wanted }
            | ParseError::NoNumber { wanted, .. }
            | ParseError::TooLarge { wanted, .. } => {
                format!("write {}", wanted.all_examples())
            }
            ParseError::NotFinite { wanted, .. } => {
                format!(
                    "write a finite number, for example {}",
                    wanted.all_examples()
                )
            }
            ParseError::Comma { text } => format!(
                "write a point before decimals and nothing between thousands: \"{}\" or \"{}\"",
                short(&text.replacen(',', ".", 1)),
                short(&text.replacen(',', "", 1))
            ),
            ParseError::NoUnit { number, wanted } => bare_hint(number, *wanted),
            ParseError::UnknownUnit {
                number,
                unit,
                wanted,
            } => match symbols::near(unit, *wanted).as_slice() {
                [] => format!("units of {}: {}", wanted.noun(), wanted.units()),
                [one] => format!("write \"{}\"", spelled(number, one)),
                [one, two, ..] => format!(
                    "write \"{}\" or \"{}\"",
                    spelled(number, one),
                    spelled(number, two)
                ),
            },
            ParseError::OtherUnit { wanted, .. } => {
                format!(
                    "units of {}: {}; for example {}",
                    wanted.noun(),
                    wanted.units(),
                    wanted.all_examples()
                )
            }
        }
    }
}

/// A bare number with a unit. TOML allows underscores in a number; a quantity in quotes does not.
fn spelled_plain(number: &str, unit: &str) -> String {
    format!("{} {unit}", number.replace('_', ""))
}

/// Both readings of a bare number, as complete values to copy.
fn bare_hint(number: &str, wanted: Dimension) -> String {
    let number = &number.replace('_', "");
    match wanted.readings() {
        Some([one, two]) => {
            let meant = format!(
                "write \"{}\" or \"{}\"",
                spelled(number, one),
                spelled(number, two)
            );
            match wanted {
                Dimension::Bytes | Dimension::ByteRate => {
                    format!("{meant}: GiB is 2^30 bytes, GB is 10^9; likewise MiB and MB")
                }
                _ => format!("{meant}; units of {}: {}", wanted.noun(), wanted.units()),
            }
        }
        None => format!("write {}", wanted.all_examples()),
    }
}

/// Number and unit with the space between them that the unit wants.
fn spelled(number: &str, unit: &str) -> String {
    let number = short(number);
    if unit.starts_with('/') {
        format!("{number}{unit}")
    } else {
        format!("{number} {unit}")
    }
}

/// The start of a text that may be megabytes long.
fn short(text: &str) -> String {
    const LONGEST: usize = 40;
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
