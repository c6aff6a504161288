//! What each kind of value looks like, above all next to the borders of units.

use proptest::prelude::{prop_assert, proptest};

use super::{
    bit_rate, byte_rate, bytes, bytes_per_day, count, decimal_bytes, energy, money, number, plural,
    power, rate, ratio, seconds, share, years,
};

const GIB: f64 = 1_073_741_824.0;

#[test]
fn sizes() {
    for (value, text) in [
        (0.0, "0 B"),
        (0.5, "0.5 B"),
        (1.15e-7, "0 B"),
        (-1e-9, "0 B"),
        (512.0, "512 B"),
        (1023.0, "1023 B"),
        (1023.6, "1 KiB"),
        (1024.0, "1 KiB"),
        (4096.0, "4 KiB"),
        (62.4 * GIB, "62.4 GiB"),
        (GIB - 1.0, "1 GiB"),
        (GIB * 1023.4 / 1024.0, "1023 MiB"),
        (GIB * 1010.0, "1010 GiB"),
        (GIB * 1024.0 * 1.006, "1.01 TiB"),
        (-3.0 * GIB, "-3 GiB"),
        (f64::NAN, "–"),
        (f64::INFINITY, "–"),
    ] {
        assert_eq!(bytes(value), text);
    }
    assert_eq!(decimal_bytes(600e12), "600 TB");
    assert_eq!(decimal_bytes(999.6e9), "1 TB");
    assert_eq!(decimal_bytes(1.5e3), "1.5 kB");
}

#[test]
fn rates() {
    assert_eq!(byte_rate(450e6), "450 MB/s");
    assert_eq!(bytes_per_day(41.096e9), "41.1 GB/day");
    assert_eq!(bit_rate(2.5e9), "2.5 Gbit/s");
    assert_eq!(bit_rate(999_999_999.0), "1 Gbit/s");
    assert_eq!(rate(1250.0), "1,250/s");
    assert_eq!(byte_rate(f64::NAN), "–");
    assert_eq!(rate(f64::NAN), "–");
}

#[test]
fn times() {
    for (value, text) in [
        (0.0, "0 s"),
        (1.5e-6, "1.5 µs"),
        (0.02, "20 ms"),
        (0.9996, "1 s"),
        (42.0, "42 s"),
        (59.6, "1 min"),
        (90.0, "1.5 min"),
        (720.0, "12 min"),
        (21_600.0, "6 h"),
        (86_399.0, "1 day"),
        (3.2 * 86_400.0, "3.2 days"),
        (365.0 * 86_400.0, "365 days"),
        (31_557_600.0, "1 year"),
        (6.4 * 31_557_600.0, "6.4 years"),
        (-90.0, "-1.5 min"),
        (f64::INFINITY, "–"),
    ] {
        assert_eq!(seconds(value), text);
    }
}

#[test]
fn shares_tell_on_which_side_of_the_limit_they_lie() {
    for (value, text) in [
        (0.0, "0 %"),
        (0.0001, "<0.1 %"),
        (0.005, "0.5 %"),
        (0.0996, "10 %"),
        (0.98, "98 %"),
        (0.996, "99.6 %"),
        (0.9999, ">99.9 %"),
        (0.1 + 0.2 + 0.7, "100 %"),
        (1.0 + 1e-12, "100 %"),
        (1.0001, ">100 %"),
        (1.004, "100.4 %"),
        (1.2, "120 %"),
        (15.0, "1,500 %"),
        (-0.05, "-5 %"),
        (f64::NAN, "–"),
    ] {
        assert_eq!(share(value), text);
    }
}

#[test]
fn counts_money_and_the_rest() {
    assert_eq!(count(1306), "1,306");
    assert_eq!(count(u64::MAX), "18,446,744,073,709,551,615");
    assert_eq!(number(1306.4), "1,306");
    assert_eq!(number(4.254), "4.25");
    assert_eq!(money(1190.0, "EUR"), "1,190 EUR");
    assert_eq!(money(1190.0, ""), "1,190");
    assert_eq!(money(19.5, "EUR"), "19.50 EUR");
    assert_eq!(money(99.999, "EUR"), "100 EUR");
    assert_eq!(money(0.0, "EUR"), "0 EUR");
    assert_eq!(money(0.001, "EUR"), "<0.01 EUR");
    assert_eq!(money(-12.0, "EUR"), "-12 EUR");
    assert_eq!(money(f64::NAN, "EUR"), "–");
    assert_eq!(ratio(1.4), "1.4 ×");
    assert_eq!(ratio(0.123), "0.12 ×");
    assert_eq!(power(62.0), "62 W");
    assert_eq!(power(1200.0), "1.2 kW");
    assert_eq!(energy(543.12), "543 kWh");
    assert_eq!(energy(0.25), "250 Wh");
    assert_eq!(energy(1841.3), "1,841 kWh");
    assert_eq!(energy(999.9), "1,000 kWh");
    assert_eq!(years(1.0), "1 year");
    assert_eq!(years(4.5), "4.5 years");
    assert_eq!(plural(1, "guest", "guests"), "1 guest");
    assert_eq!(plural(62, "guest", "guests"), "62 guests");
    assert_eq!(plural(0, "guest", "guests"), "0 guests");
}

proptest! {
    #[test]
    fn no_number_is_too_odd(value in proptest::num::f64::ANY) {
        for text in [
            bytes(value), decimal_bytes(value), byte_rate(value), bytes_per_day(value), bit_rate(value), seconds(value),
            share(value), number(value), rate(value), money(value, "EUR"), ratio(value), power(value), energy(value),
        ] {
            prop_assert!(!text.is_empty() && text.chars().count() < 32, "{text}");
            prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
        }
    }

    #[test]
    fn a_size_stays_within_half_a_percent_of_itself(exponent in 0.0f64..60.0) {
        let value = exponent.exp2();
        let text = bytes(value);
        let (digits, name) = text.split_once(' ').expect("a number and a unit");
        let unit = super::BINARY_BYTES.iter().find(|unit| unit.0 == name).expect("a known unit");
        let read: f64 = digits.parse().expect("plain digits");
        prop_assert!((read * unit.1 / value - 1.0).abs() <= 0.0051, "{text}");
        prop_assert!(read < 1024.0, "{text}");
    }
}
