//! The unit symbols that a text may end in.

use super::dimension::Dimension;
use super::units::{BITS, HABITS, PER, TYPED_TIMES, typed_sizes, worth};

/// What a unit symbol measures and how many base units it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Symbol {
    /// What it measures.
    pub measures: Dimension,
    /// Base units in `parts` of it.
    factor: f64,
    /// Divided by at the end: 70 % is 70/100 = 0.7, where 70·0.01 would miss it by a rounding.
    parts: f64,
}

impl Symbol {
    /// `value` of it in base units.
    pub(super) fn base(&self, value: f64) -> f64 {
        value * self.factor / self.parts
    }
}

/// The unit of that symbol.
pub(super) fn find(unit: &str) -> Option<Symbol> {
    let (measures, factor, parts) = match unit.split_once('/') {
        Some((amount, time)) => {
            let (measures, factor) = match amount.trim_end() {
                "" => (Dimension::EventRate, 1.0),
                amount => match worth(typed_sizes(), amount) {
                    Some(bytes) => (Dimension::ByteRate, bytes),
                    None => (Dimension::BitRate, worth(BITS, amount)?),
                },
            };
            let time = Some(time.trim_start()).filter(|time| PER.contains(time))?;
            (measures, factor, worth(TYPED_TIMES, time)?)
        }
        None => match unit {
            "%" => (Dimension::Share, 1.0, 100.0),
            "W" => (Dimension::Power, 1.0, 1.0),
            "kW" => (Dimension::Power, 1e3, 1.0),
            _ => match worth(typed_sizes(), unit) {
                Some(bytes) => (Dimension::Bytes, bytes, 1.0),
                None => (Dimension::Time, worth(TYPED_TIMES, unit)?, 1.0),
            },
        },
    };
    Some(Symbol {
        measures,
        factor,
        parts,
    })
}

/// Every unit that a text of `dimension` may end in, as a regular expression each; none for plain numbers.
pub(super) fn patterns(dimension: Dimension) -> Vec<String> {
    let time = PER.join("|");
    let rate = |amounts: Vec<&str>| format!("({}) *[/] *({time})", amounts.join("|"));
    let sizes = || typed_sizes().map(|(name, _)| name).collect();
    match dimension {
        Dimension::ByteRate | Dimension::BitRate => {
            vec![rate(sizes()), rate(BITS.map(|(name, _)| name).to_vec())]
        }
        Dimension::EventRate => vec![format!("[/] *({time})")],
        _ => simple(dimension).into_iter().map(str::to_owned).collect(),
    }
}

/// The units of a dimension that are one word.
fn simple(dimension: Dimension) -> Vec<&'static str> {
    match dimension {
        Dimension::Bytes => typed_sizes().map(|(name, _)| name).collect(),
        Dimension::Time => TYPED_TIMES.map(|(name, _)| name).to_vec(),
        Dimension::Share => vec!["%"],
        Dimension::Power => vec!["W", "kW"],
        _ => Vec::new(),
    }
}

/// Units of dimension `wanted` that a reader could have meant by `unit`, the likeliest first.
pub(super) fn near(unit: &str, wanted: Dimension) -> Vec<&'static str> {
    let mut habits = HABITS.iter();
    let is_habit = |(written, measures, _): &&(&str, Dimension, &[&str])| {
        *measures == wanted && unit.eq_ignore_ascii_case(written)
    };
    if let Some((_, _, meant)) = habits.find(is_habit) {
        return meant.to_vec();
    }
    let mut known: Vec<&'static str> = match wanted {
        Dimension::ByteRate => vec!["kB/s", "MB/s", "GB/s", "GB/day", "MiB/s"],
        Dimension::BitRate => vec!["bit/s", "kbit/s", "Mbit/s", "Gbit/s"],
        Dimension::Share => Vec::new(),
        _ => simple(wanted),
    };
    known.retain(|symbol| symbol.eq_ignore_ascii_case(unit));
    known.truncate(2);
    known
}
