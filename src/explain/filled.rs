//! A formula with the numbers put in, written so that working it out gives the printed value.

use std::ops::{Add, Div, Mul, Sub};

use crate::model::{DAY, PAGE};
use crate::unit::format::exact;

/// What stands for a demand that has no bound.
const NO_BOUND: &str = "no bound";

/// A formula with the numbers put in.
#[derive(Debug, Clone)]
pub(super) struct Filled {
    text: String,
    level: Level,
}

/// How tightly the parts of a formula hold together: what may stand beside a sign without brackets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Level {
    Sum,
    Product,
    Atom,
}

impl Filled {
    fn atom(text: String) -> Filled {
        let level = if text.starts_with('-') {
            Level::Sum
        } else {
            Level::Atom
        };
        Filled { text, level }
    }

    /// What is told rather than worked out.
    pub(super) fn words(text: impl Into<String>) -> Filled {
        Filled::atom(text.into())
    }

    /// The text.
    pub(super) fn into_text(self) -> String {
        self.text
    }

    fn beside(self, sign: Level) -> String {
        if self.level < sign {
            format!("({})", self.text)
        } else {
            self.text
        }
    }
}

impl Add for Filled {
    type Output = Filled;
    fn add(self, other: Filled) -> Filled {
        let right = if other.text.starts_with('-') {
            other.beside(Level::Product)
        } else {
            other.text
        };
        Filled {
            text: format!("{} + {right}", self.text),
            level: Level::Sum,
        }
    }
}

impl Sub for Filled {
    type Output = Filled;
    fn sub(self, other: Filled) -> Filled {
        Filled {
            text: format!("{} − {}", self.text, other.beside(Level::Product)),
            level: Level::Sum,
        }
    }
}

impl Mul for Filled {
    type Output = Filled;
    fn mul(self, other: Filled) -> Filled {
        Filled {
            text: format!(
                "{}·{}",
                self.beside(Level::Product),
                other.beside(Level::Product)
            ),
            level: Level::Product,
        }
    }
}

impl Div for Filled {
    type Output = Filled;
    fn div(self, other: Filled) -> Filled {
        Filled {
            text: format!(
                "{}/{}",
                self.beside(Level::Product),
                other.beside(Level::Atom)
            ),
            level: Level::Product,
        }
    }
}

/// Σ of the parts; 0 where there are none.
pub(super) fn sum(parts: impl IntoIterator<Item = Filled>) -> Filled {
    parts
        .into_iter()
        .reduce(Add::add)
        .unwrap_or_else(|| plain(0.0))
}

/// The smallest of the parts.
pub(super) fn min(parts: impl IntoIterator<Item = Filled>) -> Filled {
    call("min", parts)
}

/// The largest of the parts.
pub(super) fn max(parts: impl IntoIterator<Item = Filled>) -> Filled {
    call("max", parts)
}

fn call(name: &str, parts: impl IntoIterator<Item = Filled>) -> Filled {
    let parts: Vec<String> = parts.into_iter().map(Filled::into_text).collect();
    Filled::atom(format!("{name}({})", parts.join(", ")))
}

/// Rounded up.
pub(super) fn ceil(inner: Filled) -> Filled {
    Filled::atom(format!("⌈{}⌉", inner.text))
}

/// A number in the words of its unit.
fn told(value: f64, text: fn(f64) -> String) -> Filled {
    if value.is_finite() {
        Filled::atom(text(value))
    } else {
        Filled::words(NO_BOUND)
    }
}

/// Memory `[B]`.
pub(super) fn bytes(value: f64) -> Filled {
    told(value, exact::bytes)
}

/// Disk `[B]`, in decimal units.
pub(super) fn disk(value: f64) -> Filled {
    told(value, exact::decimal_bytes)
}

/// A rate given in `[B/s]`, shown a day.
pub(super) fn per_day(value: f64) -> Filled {
    told(value * DAY, exact::bytes_per_day)
}

/// A rate `[B/s]`.
pub(super) fn byte_rate(value: f64) -> Filled {
    told(value, exact::byte_rate)
}

/// A rate `[bit/s]`.
pub(super) fn bit_rate(value: f64) -> Filled {
    told(value, exact::bit_rate)
}

/// A time `[s]`.
pub(super) fn seconds(value: f64) -> Filled {
    told(value, exact::seconds)
}

/// Power `[W]`.
pub(super) fn watts(value: f64) -> Filled {
    told(value, exact::power)
}

/// A share in percent.
pub(super) fn share(value: f64) -> Filled {
    told(value, exact::share)
}

/// A number without a unit.
pub(super) fn plain(value: f64) -> Filled {
    told(value, exact::number)
}

/// Bytes per byte, kept for each page of memory: "64/4096".
pub(super) fn per_page(bytes: f64) -> Filled {
    plain(bytes) / Filled::words(format!("{PAGE}"))
}

/// A whole number.
pub(super) fn count(value: u64) -> Filled {
    plain(value as f64)
}

/// A comparison that holds, and where: "at 62: 47.9 GiB ≤ 48.1 GiB".
pub(super) fn claim(place: impl AsRef<str>, left: Filled, relation: &str, right: Filled) -> Filled {
    Filled::words(format!(
        "{}: {} {relation} {}",
        place.as_ref(),
        left.text,
        right.text
    ))
}

/// Several comparisons, one after another.
pub(super) fn claims(parts: impl IntoIterator<Item = Filled>) -> Filled {
    let parts: Vec<String> = parts.into_iter().map(Filled::into_text).collect();
    Filled::words(parts.join("; "))
}

#[cfg(test)]
mod tests {
    use super::{bytes, ceil, plain, share, sum};

    #[test]
    fn brackets_stand_where_they_are_needed() {
        let n = |value: f64| plain(value);
        for (filled, text) in [
            (n(1.0) + n(2.0) * n(3.0), "1 + 2·3"),
            ((n(1.0) + n(2.0)) * n(3.0), "(1 + 2)·3"),
            (n(1.0) - (n(2.0) - n(3.0)), "1 − (2 − 3)"),
            (n(6.0) / (n(2.0) * n(3.0)), "6/(2·3)"),
            (n(6.0) / n(2.0) * n(3.0), "6/2·3"),
            (n(6.0) + n(-2.0), "6 + (-2)"),
            (n(6.0) - n(-2.0), "6 − (-2)"),
            (n(6.0) * n(-2.0), "6·(-2)"),
            (ceil(n(5.0) / n(4.0)) * bytes(2048.0), "⌈5/4⌉·2 KiB"),
            (share(0.5) * sum([]), "50 %·0"),
        ] {
            assert_eq!(filled.into_text(), text);
        }
    }
}
