//! The numbers that a law is computed over: the law is written once, for all of them.

use std::ops::{Add, Div, Mul, Sub};

/// A number that a law can be computed over.
///
/// `f64` counts, [`Term`](super::tape::Term) remembers how it came about, and [`Affine`](super::affine::Affine) is an
/// equation in what is sought.
///
/// # Example
/// ```
/// use berthage::model::affine::Affine;
/// use berthage::model::number::Number;
/// // One law, computed as a number and as an equation in the count.
/// fn held<N: Number>(count: N, each: N) -> N {
///     N::of(2.0) + count * each
/// }
/// assert_eq!(held(3.0, 5.0), 17.0);
/// let equation = held(Affine::<1>::unknown(0), Affine::of(5.0));
/// assert_eq!((equation.constant, equation.factors), (2.0, [5.0]));
/// ```
pub trait Number:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    /// A constant.
    fn of(value: f64) -> Self;

    /// A constant that is a part of a whole: 16 of the 4096 bytes of a page.
    fn ratio(part: f64, whole: f64) -> Self {
        Self::of(part / whole)
    }

    /// A constant, and what it measures.
    fn measured(value: f64, _measure: Measure) -> Self {
        Self::of(value)
    }

    /// Its value; none where it depends on what is not known.
    fn known(self) -> Option<f64>;

    /// The larger of the two.
    fn max(self, other: Self) -> Self;

    /// The smaller of the two.
    fn min(self, other: Self) -> Self;

    /// Rounded up; what is whole but for rounding errors stays as it is.
    fn ceil(self) -> Self;

    /// The sum of all parts, 0 where there are none.
    fn sum(parts: impl IntoIterator<Item = Self>) -> Self {
        parts.into_iter().fold(Self::of(0.0), Add::add)
    }

    /// A part of a law that has a name of its own, and what it measures: in a worked formula it is one number.
    #[must_use]
    fn named(self, _measure: Measure) -> Self {
        self
    }

    /// Whether it is above 0, as far as that is known.
    fn is_positive(self) -> bool {
        self.known().is_none_or(|value| value > 0.0)
    }
}

/// What a number measures: how a worked formula writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Without a unit.
    Plain,
    /// A share of 1.
    Share,
    /// Memory `[B]`.
    Bytes,
    /// Disk `[B]`, in decimal units.
    DiskBytes,
    /// A rate in `[B/s]`, written a day.
    BytesPerDay,
    /// A rate `[B/s]`.
    ByteRate,
    /// A rate `[bit/s]`.
    BitRate,
    /// A time `[s]`.
    Seconds,
    /// Power `[W]`.
    Watts,
}

/// The table of a lab that a key belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner<'l> {
    /// `[lab]`.
    Lab,
    /// `[policy]`.
    Policy,
    /// The host that is asked about; keys of its tables have their names in front: `memory.base`.
    Host,
    /// A pool of that host, by its name.
    Pool(&'l str),
    /// An image, by its name.
    Image(&'l str),
    /// A guest profile, by its name.
    Guest(&'l str),
}

/// How the values of a lab become numbers of a law.
pub trait Read {
    /// The numbers.
    type Number: Number;

    /// The value of a key.
    fn key(&self, owner: Owner, key: &str, value: f64, measure: Measure) -> Self::Number;
}

/// The values of a lab as they are.
#[derive(Debug, Clone, Copy, Default)]
pub struct Given;

impl Read for Given {
    type Number = f64;

    fn key(&self, _: Owner, _: &str, value: f64, _: Measure) -> f64 {
        value
    }
}

/// Rounding errors that a whole number may have, see [`Number::ceil`]: a few quotients of values with 15 digits.
const ROUNDING: f64 = 1e-9;

impl Number for f64 {
    fn of(value: f64) -> f64 {
        value
    }

    fn known(self) -> Option<f64> {
        Some(self)
    }

    fn max(self, other: f64) -> f64 {
        f64::max(self, other)
    }

    fn min(self, other: f64) -> f64 {
        f64::min(self, other)
    }

    fn ceil(self) -> f64 {
        f64::ceil(self - ROUNDING * f64::min(self, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::Number;

    #[test]
    fn whole_numbers_stay_whole_and_the_smallest_part_counts_as_one() {
        for (value, whole) in [
            (0.0, 0.0),
            (5.0, 5.0),
            (5.0 + 1e-12, 5.0),
            (5.01, 6.0),
            (0.3 / 0.1, 3.0),
            (1e-12, 1.0),
        ] {
            assert_eq!(Number::ceil(value), whole, "{value}");
        }
    }
}
