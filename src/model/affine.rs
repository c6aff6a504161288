//! Numbers that depend linearly on what is sought: a law over them is an equation.

use std::array::from_fn;
use std::ops::{Add, Div, Mul, Sub};

use super::number::Number;

/// `constant + Σ factors·unknowns`, for K unknowns.
///
/// Sums of these, and products and quotients with a constant, are exact. A product of two that both hold an unknown, a
/// quotient by one that does, and a minimum, maximum or rounding of one are no longer linear: they give a constant that is
/// not a number, and in builds with debug assertions a panic says so.
///
/// # Example
/// ```
/// use berthage::model::affine::Affine;
/// use berthage::model::number::Number;
/// let [base, each] = [0, 1].map(Affine::<2>::unknown);
/// // Base and 8 guests, each a tenth more than read: 3 + base + 8.8·each.
/// let used = Affine::of(3.0) + base + Affine::of(8.0) * each * Affine::of(1.1);
/// assert_eq!(used.constant, 3.0);
/// assert_eq!(used.at(&[10.0, 0.0]), 13.0);
/// assert!((used.factors[1] - 8.8).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Affine<const K: usize> {
    /// The part that does not depend on what is sought.
    pub constant: f64,
    /// What each unknown is multiplied by.
    pub factors: [f64; K],
}

impl<const K: usize> Affine<K> {
    /// One of the unknowns.
    pub fn unknown(index: usize) -> Affine<K> {
        Affine {
            constant: 0.0,
            factors: from_fn(|at| if at == index { 1.0 } else { 0.0 }),
        }
    }

    /// Its value where the unknowns have these values.
    pub fn at(&self, unknowns: &[f64; K]) -> f64 {
        let parts = self.factors.iter().zip(unknowns);
        self.constant + parts.map(|(factor, unknown)| factor * unknown).sum::<f64>()
    }

    /// This times a factor.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Affine<K> {
        Affine {
            constant: self.constant * factor,
            factors: self.factors.map(|own| own * factor),
        }
    }

    fn together(self, other: Affine<K>, with: impl Fn(f64, f64) -> f64) -> Affine<K> {
        Affine {
            constant: with(self.constant, other.constant),
            factors: from_fn(|at| with(self.factors[at], other.factors[at])),
        }
    }

    /// The result of what is only defined for constants.
    fn of_constants<const L: usize>(
        all: [Affine<K>; L],
        result: impl Fn([f64; L]) -> f64,
    ) -> Affine<K> {
        let known = all.map(|one| one.known().unwrap_or(f64::NAN));
        debug_assert!(
            !known.iter().any(|value| value.is_nan()),
            "no longer linear in what is sought"
        );
        Affine::of(result(known))
    }
}

impl<const K: usize> Number for Affine<K> {
    fn of(value: f64) -> Affine<K> {
        Affine {
            constant: value,
            factors: [0.0; K],
        }
    }

    fn known(self) -> Option<f64> {
        let is_constant = self.factors.iter().all(|factor| *factor == 0.0);
        is_constant.then_some(self.constant)
    }

    fn max(self, other: Affine<K>) -> Affine<K> {
        Affine::of_constants([self, other], |[one, other]| Number::max(one, other))
    }

    fn min(self, other: Affine<K>) -> Affine<K> {
        Affine::of_constants([self, other], |[one, other]| Number::min(one, other))
    }

    fn ceil(self) -> Affine<K> {
        Affine::of_constants([self], |[one]| Number::ceil(one))
    }
}

impl<const K: usize> Add for Affine<K> {
    type Output = Affine<K>;
    fn add(self, other: Affine<K>) -> Affine<K> {
        self.together(other, Add::add)
    }
}

impl<const K: usize> Sub for Affine<K> {
    type Output = Affine<K>;
    fn sub(self, other: Affine<K>) -> Affine<K> {
        self.together(other, Sub::sub)
    }
}

impl<const K: usize> Mul for Affine<K> {
    type Output = Affine<K>;
    fn mul(self, other: Affine<K>) -> Affine<K> {
        match (self.known(), other.known()) {
            (Some(factor), _) => other.scaled(factor),
            (None, Some(factor)) => self.scaled(factor),
            (None, None) => Affine::of_constants([self, other], |[one, other]| one * other),
        }
    }
}

impl<const K: usize> Div for Affine<K> {
    type Output = Affine<K>;
    fn div(self, other: Affine<K>) -> Affine<K> {
        match other.known() {
            Some(divisor) => Affine {
                constant: self.constant / divisor,
                factors: self.factors.map(|own| own / divisor),
            },
            None => Affine::of_constants([other], |[divisor]| divisor),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Affine;
    use crate::model::number::Number;

    #[test]
    fn sums_products_and_quotients_are_those_of_the_numbers_at_any_place() {
        let [x, y] = [0, 1].map(Affine::<2>::unknown);
        let n = Affine::<2>::of;
        let place = [7.0, -3.0];
        for (affine, number) in [
            (x + y * n(2.0), 7.0 - 6.0),
            ((x - n(1.0)) / n(4.0), 1.5),
            (n(3.0) * (y - x), -30.0),
            (Affine::sum([x, y, n(0.5)]), 4.5),
            (n(2.4).ceil() + n(1.0).max(n(2.0)).min(n(1.5)), 4.5),
        ] {
            assert_eq!(affine.at(&place), number);
        }
        assert_eq!((x.known(), (x - x).known()), (None, Some(0.0)));
    }

    #[test]
    #[cfg_attr(debug_assertions, should_panic(expected = "no longer linear"))]
    fn what_is_not_linear_is_not_a_number() {
        let x = Affine::<1>::unknown(0);
        assert!((x * x).constant.is_nan() && x.max(Affine::of(1.0)).constant.is_nan());
    }
}
