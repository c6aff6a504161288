//! How many guests are busy at once, and what they then need together.
//!
//! b_p of the n_p guests of profile p are busy, each with probability a_p and then needing Δ_p more than when idle.
//! One common factor z ~ N(0,1) (the nightly backup, patch day) ties them together with correlation r:
//!
//! `a_p(z) = Φ( (Φ⁻¹(a_p) − √r·z) / √(1−r) )`, and given z the guests are independent
//!
//! (Vasicek's one-factor model). [`Demand`] answers questions about `always + Σ b_p·Δ_p`. The tail given z is exact
//! wherever the groups split into two halves of at most some thousand sums each, else the lattice-corrected saddlepoint
//! approximation; z is summed by the trapezoidal rule, which converges exponentially for such smooth functions.

mod binomial;
mod bound;
mod corner;
pub mod estimated;
mod exact;
mod factor;
mod group;
mod normal;
pub mod observed;
mod ordered;
mod saddlepoint;
mod search;

use std::sync::OnceLock;

use crate::model::SLACK;

use corner::Corner;
use exact::Exact;
pub use factor::worst_rate;
use factor::{Coupling, Factor};
pub use group::Busy;
use group::{Chance, Group};
use ordered::Scratch;
use saddlepoint::Saddlepoint;

/// The demand of all guests together, a random quantity.
///
/// `always + Σ_p b_p·Δ_p`, b_p ~ Binomial(n_p, a_p(z)), z ~ N(0,1)
///
/// # Valid for
/// 0 ≤ a ≤ 1, Δ ≥ 0, 0 ≤ r < 1 (above 0.99 counts as 0.99); any number of guests and profiles. The tail is exact to
/// about 1e-8 of itself where it is enumerated; by saddlepoint it errs by some thousandths of itself.
///
/// # Source
/// O. Vasicek, "Loan Portfolio Value", Risk, December 2002; R. Lugannani & S. Rice, "Saddle point approximation for
/// the distribution of the sum of independent random variables", Adv. Appl. Prob. 12 (1980) 475–490.
///
/// # Example
/// ```
/// use berthage::model::demand::{Busy, Demand};
/// let twenty = Busy { guests: 20, probability: 0.3, extra: 1.0 };
/// let apart = Demand::new(0.0, &[twenty], 0.0);
/// assert!((apart.tail(10.0) - 0.0171448164313).abs() < 5e-14);
/// let together = Demand::new(0.0, &[twenty], 0.2);
/// assert!((together.tail(10.0) - 0.128420796665).abs() < 5e-13);
/// assert_eq!(apart.at_risk(0.05), 9.0);
/// ```
#[derive(Debug, Clone)]
pub struct Demand {
    always: f64,
    groups: Vec<Group>,
    /// Largest extra demand.
    most: f64,
    coupling: Coupling,
    /// Where the sum over the factor is taken, and how the tail at one z is found; made when first asked for, since many
    /// questions end before.
    factor: OnceLock<Factor>,
    /// How the tail at one z is found; made when first needed, since many tests end before.
    method: OnceLock<Method>,
}

/// How the tail at one value of the factor is found.
#[derive(Debug, Clone)]
enum Method {
    Exact(Exact),
    Saddlepoint(Saddlepoint),
}

impl Demand {
    /// The demand of these guests.
    ///
    /// - `always`: the part that is there when all are idle
    /// - `busy`: the guests, profile by profile
    /// - `correlation`: r, 0 ≤ r < 1
    pub fn new(always: f64, busy: &[Busy], correlation: f64) -> Demand {
        let (groups, certain) = group::merge(busy);
        Demand {
            always: always + certain,
            most: groups.iter().map(Group::most).sum(),
            coupling: Coupling::new(correlation),
            factor: OnceLock::new(),
            groups,
            method: OnceLock::new(),
        }
    }

    /// Mean demand: `always + Σ n·a·Δ`.
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// let guests = [Busy { guests: 5, probability: 0.2, extra: 4.0 }, Busy { guests: 8, probability: 0.5, extra: 1.0 }];
    /// assert!((Demand::new(10.0, &guests, 0.3).mean() - 18.0).abs() < 1e-12);
    /// ```
    pub fn mean(&self) -> f64 {
        self.always
            + self
                .groups
                .iter()
                .map(|group| group.most() * group.probability)
                .sum::<f64>()
    }

    /// The demand with no guest busy, but for those that always are.
    pub fn least(&self) -> f64 {
        self.always
    }

    /// Whether nothing about it is random: no guest whose busy spells are chance changes it.
    pub fn is_certain(&self) -> bool {
        self.groups.is_empty()
    }

    /// P(demand > limit); demand equal to the limit, up to [`SLACK`], is within.
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// let pair = Demand::new(1.0, &[Busy { guests: 2, probability: 0.5, extra: 1.0 }], 0.0);
    /// assert_eq!([0.9, 1.0, 2.0, 3.0].map(|limit| pair.tail(limit)), [1.0, 0.75, 0.25, 0.0]);
    /// ```
    pub fn tail(&self, limit: f64) -> f64 {
        let threshold = self.threshold(limit);
        if threshold < 0.0 {
            return 1.0;
        }
        if threshold >= self.most {
            return 0.0;
        }
        self.with_tail(threshold, |tail| {
            if self.coupling.is_independent() {
                return tail(0.0).min(1.0);
            }
            let factor = self.factor();
            factor.expect(factor.place_of(&self.groups, threshold), tail)
        })
    }

    /// Whether P(demand > limit) ≤ risk; faster than [`Demand::tail`], since it stops when the answer is certain.
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// let hundred = Demand::new(0.0, &[Busy { guests: 100, probability: 0.1, extra: 1.0 }], 0.0);
    /// assert!(hundred.within(27.0, 1e-6) && !hundred.within(26.0, 1e-6));
    /// ```
    pub fn within(&self, limit: f64, risk: f64) -> bool {
        self.surely_within(limit, risk).unwrap_or_else(|| {
            self.with_tail(self.threshold(limit), |tail| self.is_within(risk, tail))
        })
    }

    /// Whether P(demand > limit) ≤ risk by a normal approximation with skewness: a guide for a search, never its end.
    ///
    /// At each z the normal argument t is corrected to t − γ·(t²−1)/6, γ the skewness (Cornish & Fisher 1937).
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// // Exactly, 18 is the smallest limit within a risk of 0.5 %.
    /// let hundred = Demand::new(0.0, &[Busy { guests: 100, probability: 0.1, extra: 1.0 }], 0.0);
    /// assert!(hundred.nearly_within(19.0, 0.005) && !hundred.nearly_within(17.0, 0.005));
    /// ```
    pub fn nearly_within(&self, limit: f64, risk: f64) -> bool {
        let threshold = self.threshold(limit);
        if threshold < 0.0 {
            return risk >= 1.0;
        }
        if threshold >= self.most {
            return true;
        }
        self.is_within(risk, |z| self.rough_tail(threshold, z))
    }

    /// What the extra demand may come to.
    fn threshold(&self, limit: f64) -> f64 {
        limit + SLACK * limit.abs() - self.always
    }

    /// What `of` makes of the tail past a threshold, 0 to `most`, as a function of the common factor.
    fn with_tail<T>(&self, threshold: f64, of: impl FnOnce(&mut dyn FnMut(f64) -> f64) -> T) -> T {
        let mut chances = Vec::with_capacity(self.groups.len());
        match self.method() {
            Method::Exact(exact) => {
                let first_past = exact.first_past(&self.groups, threshold);
                let mut scratch = Scratch::default();
                of(&mut |z| {
                    self.chances(z, &mut chances);
                    exact.tail(&self.groups, &chances, &first_past, &mut scratch)
                })
            }
            Method::Saddlepoint(saddlepoint) => {
                let corner = Corner::new(&self.groups, self.most, threshold);
                of(&mut |z| {
                    self.chances(z, &mut chances);
                    match corner {
                        Some(corner) => corner.tail(&self.groups, &chances),
                        None => saddlepoint.tail(&self.groups, &chances, threshold),
                    }
                })
            }
        }
    }

    /// Whether the mean of a tail over the common factor is at most a risk.
    fn is_within(&self, risk: f64, mut tail: impl FnMut(f64) -> f64) -> bool {
        if self.coupling.is_independent() {
            return tail(0.0).min(1.0) <= risk;
        }
        self.factor().is_within(risk, tail)
    }

    fn chances(&self, z: f64, into: &mut Vec<Chance>) {
        into.clear();
        into.extend(
            self.groups
                .iter()
                .map(|group| self.coupling.chance(group, z)),
        );
    }

    fn factor(&self) -> &Factor {
        self.factor
            .get_or_init(|| Factor::new(&self.groups, self.coupling))
    }

    fn method(&self) -> &Method {
        // Without a common factor the sums are evaluated once and not at each of its values.
        let times = if self.coupling.is_independent() {
            16
        } else {
            1
        };
        self.method
            .get_or_init(|| match Exact::new(&self.groups, times) {
                Some(exact) => Method::Exact(exact),
                None => Method::Saddlepoint(Saddlepoint::new(&self.groups)),
            })
    }

    fn rough_tail(&self, threshold: f64, z: f64) -> f64 {
        let (mut mean, mut variance, mut third) = (0.0, 0.0, 0.0);
        for group in &self.groups {
            let Chance { busy, quiet } = self.coupling.chance(group, z);
            mean += group.most() * busy;
            let spread = group.most() * group.extra * busy * quiet;
            variance += spread;
            third += spread * group.extra * (quiet - busy);
        }
        let deviation = variance.sqrt();
        if deviation == 0.0 {
            return if mean > threshold { 1.0 } else { 0.0 };
        }
        let skewness = third / (variance * deviation);
        let t = (threshold - mean) / deviation;
        // The parabola falls again past 3/γ.
        let t = if skewness > 0.0 {
            t.min(3.0 / skewness)
        } else {
            t.max(3.0 / skewness.min(-1e-300))
        };
        normal::below(-(t - skewness * (t * t - 1.0) / 6.0))
    }
}

#[cfg(test)]
mod tests {
    use super::group::busy;
    use super::{Busy, Demand, Method};

    /// The guide decides at Φ(−(t − γ·(t²−1)/6)), t no farther out than 3/γ; computed from the definition with mpmath.
    #[test]
    fn guide() {
        let rare = [
            busy(40, 0.1, 0.25),
            busy(30, 0.2, 0.75),
            busy(20, 0.05, 1.5),
        ];
        let often = [busy(30, 0.9, 2.0), busy(10, 0.7, 1.0)];
        let tied = [busy(20, 0.3, 1.0)];
        let rows: [(&[Busy], f64, f64, f64); 15] = [
            (&rare, 0.0, 1.0, 0.998806687364561),
            (&rare, 0.0, 5.0, 0.809527955346193),
            (&rare, 0.0, 7.0, 0.475815615655757),
            (&rare, 0.0, 9.0, 0.18362946777315),
            (&rare, 0.0, 13.0, 0.0108386203424956),
            (&rare, 0.0, 20.0, 6.85082416441996e-5),
            (&rare, 0.0, 29.0, 1.44416533646496e-5),
            (&rare, 0.0, 40.0, 1.44416533646496e-5),
            (&often, 0.0, 20.0, 0.999952031178803),
            (&often, 0.0, 45.0, 0.999373277979215),
            (&often, 0.0, 56.0, 0.908401569754672),
            (&often, 0.0, 61.0, 0.525985130023269),
            (&often, 0.0, 66.0, 0.0730766086532387),
            (&often, 0.0, 69.0, 0.00646697797606935),
            // The very tail: over the factor the guide is as poor as at its poorest place.
            (&tied, 0.2, 10.0, 0.128420796665),
        ];
        for (guests, correlation, limit, tail) in rows {
            let demand = Demand::new(100.0, guests, correlation);
            // A limit of the extra demand times the slack and what is always there do not add up to the same.
            let limit = (100.0 + limit * (1.0 + 1e-9)) / (1.0 + 1e-9);
            let near = if correlation > 0.0 { 0.25 } else { 1e-4 };
            for (off, within) in [(-near, false), (near, true)] {
                assert_eq!(
                    demand.nearly_within(limit, tail * (1.0 + off)),
                    within,
                    "{guests:?} at {limit}"
                );
            }
        }
        // Symmetric: no skewness, Φ(−2/√5).
        let symmetric = Demand::new(0.0, &[busy(20, 0.5, 1.0)], 0.0);
        for (risk, within) in [(0.18554, false), (0.18555, true)] {
            assert_eq!(symmetric.nearly_within(12.0, risk), within);
        }
        // Less than what is always there, and just that.
        let single = Demand::new(100.0, &[busy(1, 0.5, 1.0)], 0.0);
        assert!(!single.nearly_within(99.8, 0.95) && single.nearly_within(99.8, 1.0));
        let none = Demand::new(0.0, &[busy(1, 0.5, 1.0)], 0.0);
        assert!(none.nearly_within(0.0, 0.9));
        let demand = Demand::new(100.0, &rare, 0.0);
        assert!(!demand.nearly_within(99.0, 0.999) && demand.nearly_within(99.0, 1.0));
        assert!(demand.nearly_within(100.0 + 62.5, 1e-300));
    }

    /// Extras whose squares overflow leave no number to compare with; the search ends all the same.
    #[test]
    fn guide_past_what_a_number_holds() {
        for correlation in [0.0, 0.3] {
            let demand = Demand::new(0.0, &[busy(10, 0.5, 1e300), busy(3, 0.1, 1.0)], correlation);
            assert!(!demand.nearly_within(1e299, 0.05) && !demand.within(1e299, 0.05));
            assert!(demand.within(2e301, 0.05));
        }
    }

    /// Where the factor leaves no chance: no guest busy is not past a threshold of 0.
    #[test]
    fn guide_without_spread() {
        let demand = Demand::new(0.0, &[busy(20, 0.3, 1.0)], 0.9);
        let rough = |threshold, z| demand.rough_tail(threshold, z);
        assert_eq!(
            (rough(3.0, -1e3), rough(3.0, 1e3), rough(0.0, 1e3)),
            (1.0, 0.0, 0.0)
        );
    }

    #[test]
    fn certain_or_not() {
        let certain = |guests: &[Busy]| Demand::new(1.0, guests, 0.2).is_certain();
        assert!(certain(&[]) && certain(&[busy(4, 1.0, 2.0), busy(4, 0.0, 2.0)]));
        assert!(!certain(&[busy(1, 0.5, 2.0)]));
        let demand = Demand::new(1.0, &[busy(4, 1.0, 2.0), busy(3, 0.5, 5.0)], 0.0);
        assert_eq!((demand.at_risk(1.0), demand.at_risk(0.0)), (9.0, 24.0));
    }

    /// Hoeffding's bound holds above the mean only.
    #[test]
    fn far_below_the_mean_nothing_is_within() {
        let demand = Demand::new(0.0, &[busy(100, 0.5, 1.0)], 0.0);
        assert!(!demand.within(5.0, 0.01));
    }

    /// Hoeffding's exp(−2·45²/100) is 2.6e-18: up to there nothing has to be summed.
    #[test]
    fn far_above_the_mean_a_bound_decides() {
        for (risk, decided) in [(0.01, true), (2.7e-18, true), (2.5e-18, false)] {
            let demand = Demand::new(0.0, &[busy(100, 0.5, 1.0)], 0.0);
            assert!(demand.within(95.0, risk));
            assert_eq!(demand.method.get().is_none(), decided, "{risk:e}");
        }
    }

    /// Few sums are evaluated one by one, and sixteen times as many where that is done once.
    #[test]
    fn method() {
        let exact = |guests: &[Busy], correlation| {
            matches!(
                Demand::new(0.0, guests, correlation).method(),
                Method::Exact(_)
            )
        };
        let single = [busy(40_000, 0.1, 1.0)];
        assert!(exact(&single, 0.0) && exact(&single, 0.3));
        assert!(!exact(&[busy(40_001, 0.1, 1.0)], 0.0));
        // 40,000 sums beside a single group of more guests.
        let beside = |guests| {
            [
                busy(guests, 0.1, 1.0),
                busy(199, 0.1, 1.3),
                busy(25_000, 0.1, 0.7),
            ]
        };
        assert!(exact(&beside(199), 0.3) && !exact(&beside(200), 0.3));
        assert!(exact(&beside(200), 0.0));
        // Halves of 200 · 100 and 199 · 101 sums.
        let halves = |last| {
            [
                busy(199, 0.1, 1.0),
                busy(198, 0.1, 1.3),
                busy(last, 0.1, 1.7),
                busy(99, 0.1, 1.9),
            ]
        };
        assert!(exact(&halves(99), 0.3) && !exact(&halves(101), 0.3));
        assert!(exact(&halves(101), 0.0));
    }
}
