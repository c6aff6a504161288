//! The units: what they are called and what they are worth. What is typed is read by them, and what is printed is
//! written in them.

use super::dimension::Dimension;

/// A unit: what it is called, and how many base units it is.
pub(super) type Unit = (&'static str, f64);

/// Seconds in a day.
const DAY: f64 = 86_400.0;
/// Seconds in a year of 365.25 d.
const YEAR: f64 = 365.25 * DAY;

/// Sizes in powers of 1000 (IEC 80000-13) `[B]`.
pub(super) const DECIMAL_BYTES: [Unit; 7] = [
    ("B", 1.0),
    ("kB", 1e3),
    ("MB", 1e6),
    ("GB", 1e9),
    ("TB", 1e12),
    ("PB", 1e15),
    ("EB", 1e18),
];

/// Sizes in powers of 1024 (IEC 80000-13) `[B]`.
pub(super) const BINARY_BYTES: [Unit; 9] = [
    ("B", 1.0),
    ("KiB", 1024.0),
    ("MiB", 1_048_576.0),
    ("GiB", 1_073_741_824.0),
    ("TiB", 1_099_511_627_776.0),
    ("PiB", 1_125_899_906_842_624.0),
    ("EiB", 1_152_921_504_606_846_976.0),
    ("ZiB", 1_180_591_620_717_411_303_424.0),
    ("YiB", 1_208_925_819_614_629_174_706_176.0),
];

/// Amounts of bits `[bit]`.
pub(super) const BITS: [Unit; 5] = [
    ("bit", 1.0),
    ("kbit", 1e3),
    ("Mbit", 1e6),
    ("Gbit", 1e9),
    ("Tbit", 1e12),
];

/// Power `[W]`.
pub(super) const WATTS: [Unit; 3] = [("W", 1.0), ("kW", 1e3), ("MW", 1e6)];

/// Energy `[kWh]`; bills are in kWh, however large.
pub(super) const WATT_HOURS: [Unit; 2] = [("Wh", 1e-3), ("kWh", 1.0)];

/// Times as they are printed `[s]`.
pub(super) const TIMES: [Unit; 8] = [
    ("ns", 1e-9),
    ("µs", 1e-6),
    ("ms", 1e-3),
    ("s", 1.0),
    ("min", 60.0),
    ("h", 3_600.0),
    ("day", DAY),
    ("year", YEAR),
];

/// Times as they may be typed `[s]`; both signs that Unicode has for micro are taken.
pub(super) const TYPED_TIMES: [Unit; 16] = [
    ("us", 1e-6),
    ("\u{b5}s", 1e-6),
    ("\u{3bc}s", 1e-6),
    ("ms", 1e-3),
    ("s", 1.0),
    ("min", 60.0),
    ("h", 3_600.0),
    ("d", DAY),
    ("day", DAY),
    ("days", DAY),
    ("week", 7.0 * DAY),
    ("weeks", 7.0 * DAY),
    ("month", YEAR / 12.0),
    ("months", YEAR / 12.0),
    ("year", YEAR),
    ("years", YEAR),
];

/// Times that a rate may be counted in.
pub(super) const PER: [&str; 8] = ["s", "min", "h", "d", "day", "week", "month", "year"];

/// What people write for a unit that is named differently here, and what they mean.
pub(super) const HABITS: [(&str, Dimension, &[&str]); 26] = [
    ("k", Dimension::Bytes, &["KiB", "kB"]),
    ("kb", Dimension::Bytes, &["KiB", "kB"]),
    ("m", Dimension::Bytes, &["MiB", "MB"]),
    ("mb", Dimension::Bytes, &["MiB", "MB"]),
    ("g", Dimension::Bytes, &["GiB", "GB"]),
    ("gb", Dimension::Bytes, &["GiB", "GB"]),
    ("gi", Dimension::Bytes, &["GiB"]),
    ("mi", Dimension::Bytes, &["MiB"]),
    ("t", Dimension::Bytes, &["TiB", "TB"]),
    ("tb", Dimension::Bytes, &["TiB", "TB"]),
    ("bytes", Dimension::Bytes, &["B"]),
    ("sec", Dimension::Time, &["s"]),
    ("second", Dimension::Time, &["s"]),
    ("seconds", Dimension::Time, &["s"]),
    ("m", Dimension::Time, &["min", "ms"]),
    ("minutes", Dimension::Time, &["min"]),
    ("hours", Dimension::Time, &["h"]),
    ("hour", Dimension::Time, &["h"]),
    ("hr", Dimension::Time, &["h"]),
    ("y", Dimension::Time, &["years"]),
    ("mbps", Dimension::BitRate, &["Mbit/s"]),
    ("gbps", Dimension::BitRate, &["Gbit/s"]),
    ("mbps", Dimension::ByteRate, &["MB/s", "Mbit/s"]),
    ("iops", Dimension::EventRate, &["/s"]),
    ("percent", Dimension::Share, &["%"]),
    ("watt", Dimension::Power, &["W"]),
];

/// Sizes as they may be typed: up to 10^15 and 2^50 bytes, those in powers of 1000 first.
pub(super) fn typed_sizes() -> impl Iterator<Item = Unit> {
    let decimal = DECIMAL_BYTES.into_iter().take(6);
    decimal.chain(BINARY_BYTES.into_iter().take(6).skip(1))
}

/// What a unit of that name is worth.
pub(super) fn worth(units: impl IntoIterator<Item = Unit>, name: &str) -> Option<f64> {
    let found = units.into_iter().find(|(known, _)| *known == name);
    found.map(|(_, worth)| worth)
}
