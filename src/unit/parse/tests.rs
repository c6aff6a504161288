//! Tests of the units.

use proptest::prelude::{prop_assert, prop_assert_eq};
use proptest::{proptest, test_runner::Config};

use super::{Dimension, ParseError, ParseFault, from_number, parse};

/// One of each unit and its worth in base units, by IEC 80000-13 and the calendar of the inventory.
const WORTH: [(&str, Dimension, f64); 38] = [
    ("B", Dimension::Bytes, 1.0),
    ("kB", Dimension::Bytes, 1e3),
    ("MB", Dimension::Bytes, 1e6),
    ("GB", Dimension::Bytes, 1e9),
    ("TB", Dimension::Bytes, 1e12),
    ("PB", Dimension::Bytes, 1e15),
    ("KiB", Dimension::Bytes, 1024.0),
    ("MiB", Dimension::Bytes, 1048576.0),
    ("GiB", Dimension::Bytes, 1073741824.0),
    ("TiB", Dimension::Bytes, 1099511627776.0),
    ("PiB", Dimension::Bytes, 1125899906842624.0),
    ("B/s", Dimension::ByteRate, 1.0),
    ("MB/s", Dimension::ByteRate, 1e6),
    ("MiB/s", Dimension::ByteRate, 1048576.0),
    ("GB/day", Dimension::ByteRate, 1e9 / 86400.0),
    ("kB/min", Dimension::ByteRate, 1e3 / 60.0),
    ("MB/h", Dimension::ByteRate, 1e6 / 3600.0),
    ("bit/s", Dimension::BitRate, 1.0),
    ("kbit/s", Dimension::BitRate, 1e3),
    ("Mbit/s", Dimension::BitRate, 1e6),
    ("Gbit/s", Dimension::BitRate, 1e9),
    ("MB/s", Dimension::BitRate, 8e6),
    ("/s", Dimension::EventRate, 1.0),
    ("/min", Dimension::EventRate, 1.0 / 60.0),
    ("/h", Dimension::EventRate, 1.0 / 3600.0),
    ("/day", Dimension::EventRate, 1.0 / 86400.0),
    ("us", Dimension::Time, 1e-6),
    ("\u{b5}s", Dimension::Time, 1e-6),
    ("\u{3bc}s", Dimension::Time, 1e-6),
    ("ms", Dimension::Time, 1e-3),
    ("s", Dimension::Time, 1.0),
    ("min", Dimension::Time, 60.0),
    ("h", Dimension::Time, 3600.0),
    ("d", Dimension::Time, 86400.0),
    ("week", Dimension::Time, 604800.0),
    ("years", Dimension::Time, 31557600.0),
    ("%", Dimension::Share, 0.01),
    ("kW", Dimension::Power, 1e3),
];

#[test]
fn each_unit_has_its_worth() {
    for (unit, dimension, worth) in WORTH {
        for text in [
            format!("3{unit}"),
            format!("3 {unit}"),
            format!("  3  {unit} "),
        ] {
            let value = parse(&text, dimension).unwrap_or(f64::NAN);
            assert!(
                (value - 3.0 * worth).abs() <= 1e-12 * worth,
                "{text}: {value} is not {}",
                3.0 * worth
            );
        }
    }
}

#[test]
fn bare_numbers_are_taken_only_where_they_are_clear() {
    for dimension in [Dimension::Share, Dimension::EventRate, Dimension::Number] {
        assert_eq!(parse("0.25", dimension), Ok(0.25));
        assert_eq!(from_number(0.25, "0.25", dimension), Ok(0.25));
    }
    for dimension in [
        Dimension::Bytes,
        Dimension::ByteRate,
        Dimension::BitRate,
        Dimension::Time,
        Dimension::Power,
    ] {
        assert!(matches!(
            parse("32", dimension),
            Err(ParseError {
                fault: ParseFault::MissingUnit,
                ..
            })
        ));
        assert!(matches!(
            from_number(32.0, "32", dimension),
            Err(ParseError {
                fault: ParseFault::MissingUnit,
                ..
            })
        ));
    }
    let error = parse("32", Dimension::Bytes).unwrap_err();
    assert_eq!(error.to_string(), "is `32` without a unit");
    assert!(
        error.hint().contains("\"32 GiB\" or \"32 GB\""),
        "{}",
        error.hint()
    );
    assert!(
        parse("5", Dimension::ByteRate)
            .unwrap_err()
            .hint()
            .contains("\"5 MiB/s\" or \"5 MB/s\"")
    );
}

#[test]
fn what_is_not_finite_is_refused() {
    for text in [
        "nan",
        "inf",
        "-inf",
        "NaN",
        "+nan",
        "infinity",
        "1e400",
        "1e400 GiB",
        "1e308 PiB",
        "-1e999 %",
    ] {
        for (_, dimension, _) in WORTH {
            assert!(parse(text, dimension).is_err(), "{text} as {dimension:?}");
        }
    }
    assert!(matches!(
        parse("nan", Dimension::Share),
        Err(ParseError {
            fault: ParseFault::NotFinite,
            ..
        })
    ));
    for text in ["1e308 PiB", "1e999 GiB"] {
        let error = parse(text, Dimension::Bytes).unwrap_err();
        assert_eq!(
            error.to_string(),
            format!("is `{text}`, which is too large")
        );
    }
    let error = parse("-1e308 PiB", Dimension::Bytes).unwrap_err();
    assert_eq!(
        error.to_string(),
        "is `-1e308 PiB`, which is too far below 0"
    );
    assert!(matches!(
        from_number(f64::INFINITY, "1e999", Dimension::Number),
        Err(ParseError {
            fault: ParseFault::TooLarge,
            ..
        })
    ));
    assert!(matches!(
        from_number(f64::INFINITY, "+inf", Dimension::Number),
        Err(ParseError {
            fault: ParseFault::NotFinite,
            ..
        })
    ));
    assert!(from_number(f64::NAN, "nan", Dimension::Number).is_err());
}

#[test]
fn wrong_units_say_what_was_meant() {
    let hint = |text, dimension| parse(text, dimension).unwrap_err().hint();
    assert!(hint("4 gb", Dimension::Bytes).contains("\"4 GiB\" or \"4 GB\""));
    assert!(hint("4 G", Dimension::Bytes).contains("\"4 GiB\" or \"4 GB\""));
    assert!(hint("4 gib", Dimension::Bytes).contains("\"4 GiB\""));
    assert!(hint("2 Mbps", Dimension::BitRate).contains("\"2 Mbit/s\""));
    assert!(hint("7 iops", Dimension::EventRate).contains("\"7/s\""));
    let other = parse("4 GiB", Dimension::Time).unwrap_err();
    assert_eq!(
        other.to_string(),
        "has the unit `GiB`, which measures a size"
    );
    assert!(other.hint().contains("\"6 h\""));
    assert!(matches!(
        parse("1,5 GiB", Dimension::Bytes),
        Err(ParseError {
            fault: ParseFault::Comma,
            ..
        })
    ));
    assert!(matches!(
        parse("GiB", Dimension::Bytes),
        Err(ParseError {
            fault: ParseFault::NoNumber,
            ..
        })
    ));
    assert!(matches!(
        parse(" ", Dimension::Bytes),
        Err(ParseError {
            fault: ParseFault::Empty,
            ..
        })
    ));
}

#[test]
fn numbers_may_have_signs_and_exponents() {
    assert_eq!(parse("-5 GB", Dimension::Bytes), Ok(-5e9));
    assert_eq!(parse("+.5 kB", Dimension::Bytes), Ok(500.0));
    assert_eq!(parse("1e3 B", Dimension::Bytes), Ok(1000.0));
    assert_eq!(
        parse("3 GB / day", Dimension::ByteRate),
        parse("3 GB/day", Dimension::ByteRate)
    );
}

proptest! {
    #![proptest_config(Config { cases: 256, failure_persistence: None, ..Config::default() })]

    #[test]
    fn what_is_written_is_read_back(number in -1e12f64..1e12, row in 0..WORTH.len(), gap in " {0,2}") {
        let (unit, dimension, worth) = WORTH[row];
        let read = parse(&format!("{number}{gap}{unit}"), dimension);
        let wanted = number * worth;
        prop_assert!(read.is_ok_and(|value| (value - wanted).abs() <= 1e-12 * wanted.abs()));
    }

    #[test]
    fn a_bare_share_is_itself(number in proptest::num::f64::NORMAL) {
        prop_assert_eq!(parse(&format!("{number:e}"), Dimension::Share), Ok(number));
    }

    #[test]
    fn no_text_panics_and_no_value_is_infinite(text in ".{0,24}", row in 0..WORTH.len()) {
        let (unit, dimension, _) = WORTH[row];
        for text in [text.clone(), format!("{text}{unit}"), format!("1{text}")] {
            match parse(&text, dimension) {
                Ok(value) => prop_assert!(value.is_finite()),
                Err(error) => prop_assert!(!error.to_string().is_empty() && !error.hint().is_empty()),
            }
        }
    }
}

#[test]
fn a_share_in_percent_is_the_nearest_number_to_it() {
    for percent in 0..=1_000 {
        let (whole, tenth) = (percent / 10, percent % 10);
        let written: f64 = format!("{percent}e-3").parse().unwrap();
        let read = parse(&format!("{whole}.{tenth} %"), Dimension::Share).unwrap();
        // 70·0.01 is 0.7000000000000001; a tenth of a percent is itself not exact, a whole one must be.
        if tenth == 0 {
            assert_eq!(read, written);
        }
        assert!((read - written).abs() <= f64::EPSILON * written);
    }
    assert_eq!(parse("70 %", Dimension::Share), Ok(0.7));
}

#[test]
fn a_comma_in_a_number_is_told_with_both_readings() {
    for text in ["2,5 GiB", "1,024 MiB", "2,5"] {
        let error = parse(text, Dimension::Bytes).expect_err("a comma");
        assert!(error.fault == ParseFault::Comma, "{error}");
        assert!(error.to_string().contains(text), "{error}");
    }
    let hint = parse("2,5 GiB", Dimension::Bytes)
        .expect_err("a comma")
        .hint();
    assert!(hint.contains("\"2.5 GiB\" or \"25 GiB\""), "{hint}");
    assert!(matches!(
        parse("2, GiB", Dimension::Bytes),
        Err(ParseError {
            fault: ParseFault::UnknownUnit(_),
            ..
        })
    ));
}
