//! The unit symbols of the inventory and what they are worth.

use super::dimension::Dimension;

/// What a unit symbol measures and how many base units it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Symbol {
    /// What it measures.
    pub measures: Dimension,
    /// Base units in `parts` of it.
    pub factor: f64,
    /// Divided by at the end: 70 % is 70/100 = 0.7, where 70·0.01 would miss it by a rounding.
    pub parts: f64,
}

impl Symbol {
    /// `value` of it in base units.
    pub(super) fn base(&self, value: f64) -> f64 {
        value * self.factor / self.parts
    }
}

/// Seconds in a year of 365.25 d.
const YEAR: f64 = 365.25 * DAY;
/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// Sizes (IEC 80000-13) `[B]`.
const SIZES: [(&str, f64); 11] = [
    ("B", 1.0),
    ("kB", 1e3),
    ("MB", 1e6),
    ("GB", 1e9),
    ("TB", 1e12),
    ("PB", 1e15),
    ("KiB", 1024.0),
    ("MiB", 1_048_576.0),
    ("GiB", 1_073_741_824.0),
    ("TiB", 1_099_511_627_776.0),
    ("PiB", 1_125_899_906_842_624.0),
];

/// Amounts of bits `[bit]`.
const BITS: [(&str, f64); 5] = [
    ("bit", 1.0),
    ("kbit", 1e3),
    ("Mbit", 1e6),
    ("Gbit", 1e9),
    ("Tbit", 1e12),
];

/// Times `[s]`; both signs that Unicode has for micro are taken.
const TIMES: [(&str, f64); 14] = [
    ("us", 1e-6),
    ("\u{b5}s", 1e-6),
    ("\u{3bc}s", 1e-6),
    ("ms", 1e-3),
    ("s", 1.0),
    ("min", 60.0),
    ("h", 3600.0),
    ("d", DAY),
    ("day", DAY),
    ("days", DAY),
    ("week", 7.0 * DAY),
    ("weeks", 7.0 * DAY),
    ("year", YEAR),
    ("years", YEAR),
];

/// Times that a rate may be counted in `[s]`.
const PER: [(&str, f64); 7] = [
    ("s", 1.0),
    ("min", 60.0),
    ("h", 3600.0),
    ("d", DAY),
    ("day", DAY),
    ("week", 7.0 * DAY),
    ("year", YEAR),
];

/// What people write for a unit that is named differently here, and what they mean.
const HABITS: [(&str, Dimension, &[&str]); 26] = [
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

/// The unit of that symbol.
pub(super) fn find(unit: &str) -> Option<Symbol> {
    if let Some((amount, time)) = unit.split_once('/') {
        let (amount, seconds) = (amount.trim_end(), look(&PER, time.trim_start())?);
        let (measures, factor) = if amount.is_empty() {
            (Dimension::EventRate, 1.0)
        } else if let Some(bytes) = look(&SIZES, amount) {
            (Dimension::ByteRate, bytes)
        } else {
            (Dimension::BitRate, look(&BITS, amount)?)
        };
        return Some(Symbol {
            measures,
            factor,
            parts: seconds,
        });
    }
    let part = |measures, factor, parts| {
        Some(Symbol {
            measures,
            factor,
            parts,
        })
    };
    let simple = |measures, factor| part(measures, factor, 1.0);
    match unit {
        "%" => part(Dimension::Share, 1.0, 100.0),
        "W" => simple(Dimension::Power, 1.0),
        "kW" => simple(Dimension::Power, 1e3),
        _ => match look(&SIZES, unit) {
            Some(bytes) => simple(Dimension::Bytes, bytes),
            None => simple(Dimension::Time, look(&TIMES, unit)?),
        },
    }
}

/// Every unit that a text of `dimension` may end in, as a regular expression each; none for plain numbers.
pub(super) fn written(dimension: Dimension) -> Vec<String> {
    let names = |table: &[(&str, f64)]| -> Vec<String> {
        table
            .iter()
            .map(|(symbol, _)| (*symbol).to_owned())
            .collect()
    };
    let time = names(&PER).join("|");
    let rate = |amounts: &[(&str, f64)]| format!("({}) *[/] *({time})", names(amounts).join("|"));
    match dimension {
        Dimension::Bytes => names(&SIZES),
        Dimension::ByteRate | Dimension::BitRate => vec![rate(&SIZES), rate(&BITS)],
        Dimension::EventRate => vec![format!("[/] *({time})")],
        Dimension::Time => names(&TIMES),
        Dimension::Share => vec!["%".to_owned()],
        Dimension::Power => vec!["W".to_owned(), "kW".to_owned()],
        Dimension::Number => Vec::new(),
    }
}

/// Units of dimension `wanted` that a reader could have meant by `unit`, the likeliest first.
pub(super) fn near(unit: &str, wanted: Dimension) -> Vec<&'static str> {
    let habit = |(written, measures, meant): &(&str, Dimension, &'static [&'static str])| {
        (*measures == wanted && unit.eq_ignore_ascii_case(written)).then_some(*meant)
    };
    if let Some(meant) = HABITS.iter().find_map(habit) {
        return meant.to_vec();
    }
    let known: &[(&'static str, f64)] = match wanted {
        Dimension::Bytes => &SIZES,
        Dimension::Time => &TIMES,
        Dimension::Power => &[("W", 1.0), ("kW", 1e3)],
        Dimension::ByteRate => &[
            ("kB/s", 1e3),
            ("MB/s", 1e6),
            ("GB/s", 1e9),
            ("GB/day", 1e9),
            ("MiB/s", 1e6),
        ],
        Dimension::BitRate => &[
            ("bit/s", 1.0),
            ("kbit/s", 1e3),
            ("Mbit/s", 1e6),
            ("Gbit/s", 1e9),
        ],
        Dimension::EventRate | Dimension::Share | Dimension::Number => &[],
    };
    known
        .iter()
        .filter(|(symbol, _)| symbol.eq_ignore_ascii_case(unit))
        .map(|(symbol, _)| *symbol)
        .take(2)
        .collect()
}

/// The factor that belongs to `symbol` in a table of symbols.
fn look(table: &[(&str, f64)], symbol: &str) -> Option<f64> {
    table
        .iter()
        .find(|(known, _)| *known == symbol)
        .map(|(_, factor)| *factor)
}
