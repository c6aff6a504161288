//! What a value of a dimension may look like as a text, as a regular expression for editors and other programs.

use super::dimension::Dimension;
use super::symbols;

/// A decimal number as [`super::parse::parse`] takes it.
const NUMBER: &str = r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?";

/// The whole text of a value of `dimension`, in the dialect of JSON Schema; made from the table of units.
///
/// # Example
/// ```
/// use berthage::unit::{parse::Dimension, pattern::pattern};
/// assert!(pattern(Dimension::Power).ends_with("(W|kW)[ ]*$"));
/// ```
pub fn pattern(dimension: Dimension) -> String {
    let units = symbols::patterns(dimension).join("|");
    let unit = match dimension.readings() {
        // A number alone would have two readings.
        Some(_) => format!("({units})"),
        None => format!("({units})?"),
    };
    format!("^[ ]*{NUMBER}[ ]*{unit}[ ]*$")
}

#[cfg(test)]
mod tests {
    use super::pattern;
    use crate::unit::parse::{Dimension, parse};

    const ALL: [Dimension; 7] = [
        Dimension::Bytes,
        Dimension::ByteRate,
        Dimension::BitRate,
        Dimension::EventRate,
        Dimension::Time,
        Dimension::Share,
        Dimension::Power,
    ];

    /// Texts that one dimension takes and others do not.
    const TEXTS: [&str; 22] = [
        "96 GiB",
        "600MB",
        " 1.5e3 kB ",
        "450 MB/s",
        "3 GB/day",
        "2.5 Gbit/s",
        "12/s",
        "12 /s",
        "20 ms",
        "6 h",
        "5 years",
        "8 %",
        ".5 %",
        "9 W",
        "1.2 kW",
        "7",
        "7 gb",
        "GiB",
        "",
        "-3 W",
        "1..2 W",
        "3 GB / day",
    ];

    #[test]
    fn the_pattern_takes_what_is_parsed() {
        for dimension in ALL {
            let pattern =
                jsonschema::validator_for(&serde_json::json!({ "pattern": pattern(dimension) }))
                    .expect("a valid schema");
            for text in TEXTS {
                let parsed = parse(text, dimension).is_ok();
                let matched = pattern.is_valid(&serde_json::Value::String(text.to_owned()));
                assert_eq!(parsed, matched, "{text:?} as {dimension:?}");
            }
        }
    }
}
