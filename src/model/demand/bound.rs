//! Whether a demand is within a limit at a risk, as far as bounds on its tail can tell.

use super::Demand;
use super::normal::quantile;

/// The part of the risk that is left to values of the factor worse than the one that the bound is taken at.
const WORSE: f64 = 0.75;
/// The factor's chance, as a multiple of the risk, at which a demand past its limit is sought.
const PAST: f64 = 1.5;

impl Demand {
    /// Whether P(demand > limit) ≤ risk, where a bound says so; none near the border.
    ///
    /// Given the factor z the tail falls as z rises. With Φ(z₁) = ¾·risk, P(demand > limit) ≤ ¾·risk + P(demand > limit | z₁),
    /// and with Φ(z₂) = 1½·risk it is at least 1½·risk·P(demand > limit | z₂). Of a sum S of independent parts between 0
    /// and Δ with mean m and variance v
    ///
    /// - `P(S > m + t) ≤ exp(−t² / (2·(v + Δ·t/3)))` and `≤ exp(−2·t² / Σ nΔ²)`
    /// - `P(S ≤ m − t) ≤ exp(−t² / (2·Σ nΔ²a))`
    ///
    /// # Source
    /// S. N. Bernstein 1946; W. Hoeffding 1963; all in S. Boucheron, G. Lugosi & P. Massart, *Concentration Inequalities*, 2013, sections 2.8
    /// and 2.7 (the lower tail of non-negative parts, A. Maurer 2003).
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// let hundred = Demand::new(0.0, &[Busy { guests: 100, probability: 0.1, extra: 1.0 }], 0.1);
    /// assert_eq!([5.0, 25.0, 60.0].map(|limit| hundred.surely_within(limit, 0.05)), [Some(false), None, Some(true)]);
    /// ```
    pub fn surely_within(&self, limit: f64, risk: f64) -> Option<bool> {
        let threshold = self.threshold(limit);
        if threshold < 0.0 {
            return Some(risk >= 1.0);
        }
        if threshold >= self.most {
            return Some(true);
        }
        if !(risk > 0.0 && risk < 0.5) {
            return None;
        }
        let is_coupled = !self.coupling.is_independent();
        let z = if is_coupled {
            quantile(WORSE * risk)
        } else {
            0.0
        };
        let [mean, squares, spread] = self.moments(z);
        let above = threshold - mean;
        if above > 0.0 {
            let most = self.groups.last().map_or(0.0, |group| group.extra);
            let range: f64 = self.groups.iter().map(|one| one.most() * one.extra).sum();
            let slowest = f64::min(spread + most * above / 3.0, 0.25 * range);
            let bound = (-0.5 * above * above / slowest).exp();
            let left = if is_coupled {
                (1.0 - WORSE) * risk
            } else {
                risk
            };
            return (bound <= left).then_some(true);
        }
        let [mean, squares] = match is_coupled {
            true => {
                let [mean, squares, _] = self.moments(quantile(PAST * risk));
                [mean, squares]
            }
            false => [mean, squares],
        };
        let below = (mean - threshold).max(0.0);
        let past = 1.0 - (-0.5 * below * below / squares).exp();
        let chance = if is_coupled { PAST * risk } else { 1.0 };
        // The sum over the factor errs by far less than the slack here.
        (chance * past > risk * (1.0 + 1e-6)).then_some(false)
    }

    /// Mean of the extra demand at z, Σ nΔ²a, and its variance Σ nΔ²a(1−a).
    pub(super) fn moments(&self, z: f64) -> [f64; 3] {
        let mut moments = [0.0; 3];
        for group in &self.groups {
            let chance = self.coupling.chance(group, z);
            let mean = group.most() * chance.busy;
            moments[0] += mean;
            moments[1] += mean * group.extra;
            moments[2] += mean * group.extra * chance.quiet;
        }
        moments
    }
}

#[cfg(test)]
mod tests {
    use super::super::group::busy;
    use super::Demand;

    /// Where the bound decides, it decides as the tail itself; and it decides unless the limit is near the border.
    #[test]
    fn the_bound_is_never_wrong_and_often_decides() {
        let labs = [
            vec![busy(3, 0.1, 1.0)],
            vec![
                busy(40, 0.08, 2.0),
                busy(7, 0.3, 30.0),
                busy(100, 0.02, 0.5),
            ],
            vec![busy(300, 0.05, 1.0)],
        ];
        let (mut decided, mut asked) = (0, 0);
        for lab in labs {
            for correlation in [0.0, 0.05, 0.3, 0.8] {
                for risk in [0.2, 0.05, 0.005, 1e-4] {
                    let demand = Demand::new(10.0, &lab, correlation);
                    for step in 0..60 {
                        let limit = 10.0 + demand.most * f64::from(step) / 60.0;
                        asked += 1;
                        if let Some(found) = demand.surely_within(limit, risk) {
                            assert_eq!(
                                found,
                                demand.tail(limit) <= risk,
                                "{lab:?} {correlation} {risk} {limit}"
                            );
                            decided += 1;
                        }
                    }
                }
            }
        }
        assert!(decided * 5 > asked * 2, "{decided} of {asked}");
    }
}
