//! An answer as JSON, the format other programs read.

use serde::Serialize;
use serde_json::Value;

use crate::unit::printable::is_printable;

/// From 2^53 on a float no longer holds every whole number, and is written as the float it is.
const WHOLE_BELOW: f64 = 9_007_199_254_740_992.0;

/// An answer as a JSON value, keys in the order of the fields.
///
/// Floats that are whole are whole numbers (`68719476736`, not `68719476736.0`), so that sizes in bytes and counts read
/// as what they are; floats that are infinite or undefined are `null`.
///
/// # Panics
///
/// If a map's keys are neither text nor numbers, or serialising fails by the type's own doing; no answer does either.
pub fn value(answer: &impl Serialize) -> Value {
    let mut value = serde_json::to_value(answer).expect("an answer is plain data");
    make_whole(&mut value);
    value
}

/// Writes an answer as indented JSON that ends in a newline.
///
/// # Panics
///
/// As [`value`].
///
/// # Example
///
/// ```
/// let answer = [("visible", 68_719_476_736.0), ("price", f64::NAN), ("load", 0.25)];
/// let text = berthage::report::json::render(&answer[0]);
/// assert_eq!(text, "[\n  \"visible\",\n  68719476736\n]\n");
/// assert!(berthage::report::json::render(&answer[1]).contains("null"));
/// ```
pub fn render(answer: &impl Serialize) -> String {
    text(&value(answer))
}

/// Writes a value as indented JSON that ends in a newline; letters that must not be shown as they are (see
/// [`is_printable`]) are escaped, so that it reads back as it was.
pub fn text(value: &Value) -> String {
    let plain = format!("{value:#}\n");
    let mut shown = String::with_capacity(plain.len());
    for letter in plain.chars() {
        if letter == '\n' || is_printable(letter) {
            shown.push(letter);
        } else {
            for unit in letter.encode_utf16(&mut [0; 2]) {
                shown.push_str(&format!("\\u{unit:04x}"));
            }
        }
    }
    shown
}

fn make_whole(value: &mut Value) {
    match value {
        Value::Array(entries) => entries.iter_mut().for_each(make_whole),
        Value::Object(fields) => fields.values_mut().for_each(make_whole),
        Value::Number(number) if number.is_f64() => {
            let float = number.as_f64().unwrap_or(f64::NAN);
            if float.fract() == 0.0 && float.abs() < WHOLE_BELOW {
                // Exact: the value is whole and well within the range.
                *value = (float as i64).into();
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert_eq, proptest};
    use serde::{Deserialize, Serialize};

    use super::render;

    #[derive(Debug, PartialEq, Serialize, Deserialize)]
    struct Answer {
        report: String,
        fits: Option<u64>,
        bytes: f64,
        load: f64,
        mix: Vec<(String, f64)>,
        empty: Vec<f64>,
    }

    #[test]
    fn fields_keep_their_order_and_bytes_are_whole() {
        let answer = Answer {
            report: "fit \"a\"\u{1b}".to_owned(),
            fits: None,
            bytes: 68_719_476_736.0,
            load: 0.97,
            mix: vec![("web".to_owned(), -3.0)],
            empty: Vec::new(),
        };
        let text = render(&answer);
        let expected = "{\n  \"report\": \"fit \\\"a\\\"\\u001b\",\n  \"fits\": null,\n  \"bytes\": 68719476736,\n  \
                        \"load\": 0.97,\n  \"mix\": [\n    [\n      \"web\",\n      -3\n    ]\n  ],\n  \"empty\": []\n}\n";
        assert_eq!(text, expected);
        assert_eq!(
            serde_json::from_str::<Answer>(&text).expect("it parses"),
            answer
        );
    }

    #[test]
    fn what_is_no_number_is_null() {
        assert_eq!(render(&[f64::NAN]), "[\n  null\n]\n");
        assert_eq!(render(&f64::NEG_INFINITY), "null\n");
        assert_eq!(render(&f32::NAN), "null\n");
        assert_eq!(render(&0.5f32), "0.5\n");
        assert_eq!(render(&-0.0), "0\n");
        assert_eq!(render(&1e300), "1e+300\n");
    }

    proptest! {
        #[test]
        fn every_number_reads_back(value in proptest::num::f64::NORMAL | proptest::num::f64::ZERO) {
            prop_assert_eq!(render(&value).trim_end().parse(), Ok(value));
        }

        #[test]
        fn every_whole_number_reads_back(value in -9_007_199_254_740_991i64..9_007_199_254_740_991) {
            prop_assert_eq!(render(&(value as f64)), format!("{value}\n"));
        }
    }
}
