//! An answer as JSON, the format other programs read.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter};

/// From 2^53 on a float no longer holds every whole number, and is written as the float it is.
const WHOLE_BELOW: f64 = 9_007_199_254_740_992.0;

/// Writes an answer as indented JSON that ends in a newline, keys in the order of the fields.
///
/// Floats that are whole are written as whole numbers (`68719476736`, not `68719476736.0`), so that sizes in bytes and
/// counts read as what they are; floats that are infinite or undefined are written as `null`.
///
/// # Panics
///
/// If a map's keys are neither text nor numbers, or serialising fails by the type's own doing; no answer does either.
///
/// # Example
///
/// ```
/// use std::collections::BTreeMap;
///
/// let answer = BTreeMap::from([("load", 0.25), ("price", f64::NAN), ("visible", 68_719_476_736.0)]);
/// let text = berthage::report::json::render(&answer);
/// assert_eq!(text, "{\n  \"load\": 0.25,\n  \"price\": null,\n  \"visible\": 68719476736\n}\n");
/// ```
pub fn render<T: Serialize>(answer: &T) -> String {
    let mut bytes = Vec::new();
    let layout = WholeNumbers {
        pretty: PrettyFormatter::new(),
    };
    let mut serializer = serde_json::Serializer::with_formatter(&mut bytes, layout);
    answer
        .serialize(&mut serializer)
        .expect("an answer is plain data");
    bytes.push(b'\n');
    String::from_utf8(bytes).expect("JSON is UTF-8")
}

/// The usual indented layout, but for whole floats. Going through `serde_json::Value` instead would sort the keys.
struct WholeNumbers<'a> {
    pretty: PrettyFormatter<'a>,
}

impl Formatter for WholeNumbers<'_> {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        if value.fract() == 0.0 && value.abs() < WHOLE_BELOW {
            // Exact: the value is whole and well within the range.
            self.pretty.write_i64(writer, value as i64)
        } else {
            self.pretty.write_f64(writer, value)
        }
    }

    fn write_f32<W: ?Sized + Write>(&mut self, writer: &mut W, value: f32) -> io::Result<()> {
        self.write_f64(writer, f64::from(value))
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.pretty.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.pretty.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_object_value(writer)
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
