//! The common factor that makes guests busy together, and the sum over its values.

use super::group::{Chance, Group};
use super::normal::{below, density, quantile};

/// Correlations above this count as this: at 1 all guests of a kind would be one guest.
const MOST_CORRELATION: f64 = 0.99;
/// Correlations below this count as none.
const LEAST_CORRELATION: f64 = 1e-9;
/// Step of the sum over z in units of the width of the step in the conditional tail.
///
/// The trapezoidal rule on the whole line errs by about e^(−2π²/step²) of the result for a step of Gaussian shape:
/// 6e-14 at 0.8, 3e-9 at 1. Shapes differ from the Gaussian, hence the reserve.
const STEP: f64 = 0.8;
/// Smallest step of z.
const LEAST_STEP: f64 = 0.002;
/// Steps above this keep a table of their sums; below it four terms of Euler and Maclaurin are as good.
const TABLE_ABOVE: f64 = 0.1;
/// The part of the result that may be left out at each end.
const LEFT_OUT: f64 = 1e-10;
/// Farthest value of z that is evaluated.
const FARTHEST: f64 = 38.0;
/// Reach of the table; Φ(−12) is 2e-33.
const TABLE_REACH: f64 = 12.0;

/// The share of a very large pool that is busy at its worst: Vasicek's limit.
///
/// `Φ( (Φ⁻¹(p) + √r·Φ⁻¹(confidence)) / √(1−r) )`
///
/// - `p`: probability of one guest being busy, 0–1
/// - `correlation`: r, 0 ≤ r < 1
/// - `confidence`: the share of all moments that are no worse, 0–1
///
/// Returns a share, 0–1. A probability of 0 or 1 stays what it is.
///
/// # Valid for
/// Many guests with one probability and one extra; a small pool spreads more.
///
/// # Source
/// O. Vasicek, "Loan Portfolio Value", Risk, December 2002.
///
/// # Example
/// ```
/// use berthage::model::demand::worst_rate;
/// // Hull, Risk Management and Financial Institutions, 2nd ed., table 11.4: 14.6 %
/// let rate = worst_rate(0.01, 0.2, 0.999);
/// assert!((rate - 0.146).abs() < 0.0005);
/// ```
pub fn worst_rate(p: f64, correlation: f64, confidence: f64) -> f64 {
    if p <= 0.0 || p >= 1.0 {
        return p.clamp(0.0, 1.0);
    }
    let r = correlation.clamp(0.0, MOST_CORRELATION);
    below((quantile(p) + r.sqrt() * quantile(confidence)) / (1.0 - r).sqrt())
}

/// How closely guests are tied together by the common factor.
#[derive(Debug, Clone, Copy)]
pub(super) struct Coupling {
    /// √r.
    loading: f64,
    /// √(1−r).
    own: f64,
}

impl Coupling {
    /// The coupling of a correlation r.
    pub fn new(correlation: f64) -> Coupling {
        let r = if correlation > LEAST_CORRELATION {
            correlation.min(MOST_CORRELATION)
        } else {
            0.0
        };
        Coupling {
            loading: r.sqrt(),
            own: (1.0 - r).sqrt(),
        }
    }

    /// Whether guests are busy independently of each other.
    pub fn is_independent(self) -> bool {
        self.loading == 0.0
    }

    /// a(z) = Φ( (Φ⁻¹(a) − √r·z) / √(1−r) ).
    pub fn chance(self, group: &Group, z: f64) -> Chance {
        if self.is_independent() {
            return Chance {
                busy: group.probability,
                quiet: 1.0 - group.probability,
            };
        }
        Group::chance_at((group.score - self.loading * z) / self.own)
    }
}

/// The common factor and the places at which its sum is taken: z = j·step for whole j.
///
/// The places depend on the groups alone, never on a limit: so a tail falls as its limit rises, to the last digits.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    coupling: Coupling,
    /// Distance of two places.
    step: f64,
    /// Sums of the weights up to place j, for j from −half to half; empty for small steps.
    sums: Vec<f64>,
}

impl Factor {
    /// The factor for these groups, in ascending order of their extra.
    pub fn new(groups: &[Group], coupling: Coupling) -> Factor {
        let step = if coupling.is_independent() {
            1.0
        } else {
            STEP * narrowest(groups, coupling.loading / coupling.own)
        };
        let mut factor = Factor {
            coupling,
            step: step.max(LEAST_STEP),
            sums: Vec::new(),
        };
        if !coupling.is_independent() && factor.step > TABLE_ABOVE {
            let half = (TABLE_REACH / factor.step) as i64;
            // The weights are the same on both sides of 0.
            let weights: Vec<f64> = (-half..=0).map(|place| factor.weight(place)).collect();
            let mut sum = 0.0;
            let all = weights.iter().chain(weights.iter().rev().skip(1));
            let sums = all.map(|weight| {
                sum += weight;
                sum
            });
            factor.sums = sums.collect();
        }
        factor
    }

    /// z of a place.
    pub fn at(&self, place: i64) -> f64 {
        place as f64 * self.step
    }

    /// Mean extra demand at z.
    pub fn mean(&self, groups: &[Group], z: f64) -> f64 {
        groups
            .iter()
            .map(|group| group.most() * self.coupling.chance(group, z).busy)
            .sum()
    }

    /// The place where the mean extra demand is nearest to an amount.
    pub fn place_of(&self, groups: &[Group], amount: f64) -> i64 {
        let edge = (TABLE_REACH / self.step) as i64;
        let (mut low, mut high) = (-edge, edge);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if self.mean(groups, self.at(middle)) > amount {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The weight of a place: step·φ(z).
    fn weight(&self, place: i64) -> f64 {
        self.step * density(self.at(place))
    }

    /// The sum of the weights of all places up to and with this one.
    fn weight_up_to(&self, place: i64) -> f64 {
        if !self.sums.is_empty() {
            let half = (self.sums.len() / 2) as i64;
            return match place + half {
                before if before < 0 => 0.0,
                index => self.sums[(index as usize).min(self.sums.len() - 1)],
            };
        }
        // Euler and Maclaurin at the middle between this place and the next.
        let z = self.at(place) + 0.5 * self.step;
        let (h2, z2) = (self.step * self.step, z * z);
        let first = -z;
        let third = -z * (z2 - 3.0);
        let fifth = -z * (z2 * z2 - 10.0 * z2 + 15.0);
        let terms =
            h2 * (-first / 24.0 + h2 * (third * 7.0 / 5760.0 - h2 * fifth * 31.0 / 967_680.0));
        (below(z) + density(z) * terms).max(0.0)
    }

    /// The mean of a conditional tail over the factor, walked outwards from a place inside its step.
    ///
    /// `tail` gets z; it falls as z rises, so what lies left of a place is between its value there and 1, what lies
    /// right of it between 0 and its value. The walk ends when that says enough.
    pub fn expect(&self, start: i64, mut tail: impl FnMut(f64) -> f64) -> f64 {
        let middle = tail(self.at(start));
        let (mut place, mut here, mut sum) = (start, middle, 0.0);
        loop {
            sum += self.weight(place) * here;
            let rest = self.weight_up_to(place - 1);
            if rest * (1.0 - here) <= LEFT_OUT * (sum + rest * here) {
                sum += rest;
                break;
            }
            if self.at(place) < -FARTHEST {
                break;
            }
            place -= 1;
            here = tail(self.at(place));
        }
        (place, here) = (start, middle);
        loop {
            let rest = self.weight_up_to(-place - 1);
            if rest * here <= LEFT_OUT * sum || self.at(place) > FARTHEST {
                return sum.min(1.0);
            }
            place += 1;
            here = tail(self.at(place));
            sum += self.weight(place) * here;
        }
    }

    /// Whether the mean of a conditional tail over the factor is at most a risk.
    ///
    /// The walk begins where the factor is as bad as the risk, since there a tail at the border has its step, and goes
    /// on to the side that leaves more open until the mean is known to lie on one side of the risk.
    pub fn is_within(&self, risk: f64, mut tail: impl FnMut(f64) -> f64) -> bool {
        let start = quantile(risk.clamp(1e-300, 1.0 - 1e-15)) / self.step - 0.5;
        let start = start.ceil() as i64;
        let middle = tail(self.at(start));
        let mut sum = self.weight(start) * middle;
        let (mut left, mut right) = ((start, middle), (start, middle));
        loop {
            let worse = self.weight_up_to(left.0 - 1);
            let better = self.weight_up_to(-right.0 - 1);
            let least = sum + worse * left.1;
            if least > risk {
                return false;
            }
            if sum + worse + better * right.1 <= risk {
                return true;
            }
            let open = |gap: f64, z: f64| if z.abs() > FARTHEST { 0.0 } else { gap };
            let on_left = open(worse * (1.0 - left.1), self.at(left.0));
            let on_right = open(better * right.1, self.at(right.0));
            // A tail that has overflowed to no number is within nothing.
            if least.is_nan() || on_left.max(on_right) <= LEFT_OUT * least {
                return sum + worse <= risk;
            }
            let side = if on_left > on_right {
                left.0 -= 1;
                &mut left
            } else {
                right.0 += 1;
                &mut right
            };
            side.1 = tail(self.at(side.0));
            sum += self.weight(side.0) * side.1;
        }
    }
}

/// The width in z of the narrowest step a conditional tail of these groups can have, times that of φ.
///
/// The step's width is σ(z)/|µ'(z)| with σ² = Σ nΔ²a(1−a) and µ' = √(r/(1−r))·Σ nΔφ, and √(a(1−a)) ≥ √(π/2)·φ. Groups
/// of large extra make their own, wider steps and leave the narrow ones of the small groups between them, so the
/// narrowest is sought over the groups up to each extra.
fn narrowest(groups: &[Group], slope: f64) -> f64 {
    let (mut squares, mut sum) = (0.0, 0.0);
    let mut least = f64::INFINITY;
    for group in groups {
        squares += group.most() * group.extra;
        sum += group.most();
        least = f64::min(least, squares.sqrt() / sum);
    }
    let width = std::f64::consts::FRAC_PI_2.sqrt() * least / slope;
    if width.is_finite() {
        width / (1.0 + width * width).sqrt()
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use super::super::group::busy;
    use super::super::group::{Group, merge};
    use super::super::normal::below;
    use super::{Coupling, Factor, STEP};

    /// Some guests, tied ever more closely.
    fn factors() -> impl Iterator<Item = (Vec<Group>, Factor)> {
        let labs = [
            vec![busy(3, 0.1, 1.0)],
            vec![busy(40, 0.3, 2.0), busy(7, 0.9, 30.0)],
            vec![busy(900, 0.02, 1e9)],
        ];
        labs.into_iter().flat_map(|lab| {
            [1e-6, 0.1, 0.5, 0.95].map(|correlation| {
                let (groups, _) = merge(&lab);
                let factor = Factor::new(&groups, Coupling::new(correlation));
                (groups, factor)
            })
        })
    }

    /// The mean falls as z rises; the place is the last at which it is past the amount.
    #[test]
    fn places() {
        for (groups, factor) in factors() {
            let most: f64 = groups.iter().map(Group::most).sum();
            let edge = (12.0 / factor.step) as i64;
            let amounts = (0..=40).map(|k| most * f64::from(k) / 40.0);
            for amount in amounts.chain([1e-12 * most, 1e-4 * most]) {
                let place = factor.place_of(&groups, amount);
                let past = |place| factor.mean(&groups, factor.at(place)) > amount;
                assert!(past(place) || place == -edge, "{amount} of {most}");
                assert!(!past(place + 1) || place + 1 == edge, "{amount} of {most}");
            }
        }
    }

    /// Table or closed form, the sum of weights is the sum of the weights, and all together are 1.
    #[test]
    fn sums_of_weights() {
        let just_below_the_table =
            Factor::new(&merge(&[busy(150, 0.5, 1.0)]).0, Coupling::new(0.4));
        assert!((0.09..0.1).contains(&just_below_the_table.step));
        for factor in factors()
            .map(|(_, factor)| factor)
            .chain([just_below_the_table])
        {
            let reach = (9.0 / factor.step) as i64;
            let mut sum = 0.0;
            for place in -reach..=reach {
                sum += factor.weight(place);
                let up_to = factor.weight_up_to(place);
                let allowed = 1e-12 * sum + 2e-13;
                assert!(
                    (up_to - sum).abs() <= allowed,
                    "{} {place}: {up_to:e} for {sum:e}",
                    factor.step
                );
            }
            assert!((sum - 1.0).abs() < 1e-12);
            assert!(factor.weight_up_to(-20 * reach) < 1e-30);
            assert!((factor.weight_up_to(20 * reach) - 1.0).abs() < 1e-12);
        }
    }

    /// A tail that falls like Φ((c − z)/w) has the mean Φ(c/√(1+w²)): the sum of two normal quantities is normal.
    ///
    /// From inside its step about twenty places say it to ten digits, and fewer decide on which side of a risk it lies.
    #[test]
    fn mean_of_a_normal_step() {
        let (mut to_know, mut to_decide, mut cases) = (0_u32, 0_u32, 0_u32);
        for (guests, correlation) in [(1, 0.02), (4, 0.2), (60, 0.3), (900, 0.5), (500_000, 0.9)] {
            let factor = Factor::new(
                &merge(&[busy(guests, 0.5, 1.0)]).0,
                Coupling::new(correlation),
            );
            let share = factor.step / STEP;
            let width = share / (1.0 - share * share).sqrt();
            for centre in [-6.0, -3.5, -2.0, -0.7, 0.0, 1.1, 3.0, 5.0] {
                let expected = below(centre / width.hypot(1.0));
                let inside = (centre / factor.step).round() as i64;
                let mean = |start, evaluations: &mut u32| {
                    factor.expect(start, |z| {
                        *evaluations += 1;
                        below((centre - z) / width)
                    })
                };
                let close = |mean: f64| {
                    let miss = (mean / expected - 1.0).abs();
                    assert!(miss < 2e-10, "{guests} at {centre}: {miss:e}");
                };
                close(mean(inside, &mut to_know));
                for share in [0.001, 0.9, 1.0 - 1e-9, 1.0 + 1e-9, 1.1, 1000.0] {
                    let risk = (share * expected).min(1.0 - 1e-12);
                    let mut evaluations = 0;
                    let within = factor.is_within(risk, |z| {
                        evaluations += 1;
                        below((centre - z) / width)
                    });
                    assert_eq!(within, risk > expected, "{guests} at {centre} {share}");
                    if share == 0.9 || share == 1.1 {
                        to_decide += evaluations;
                    }
                }
                // From anywhere else it takes longer.
                for start in [-13.0, -3.0, 2.0, 13.0] {
                    close(mean((start / factor.step) as i64, &mut 0));
                }
                cases += 1;
            }
        }
        let evaluations = (
            f64::from(to_know) / f64::from(cases),
            f64::from(to_decide) / f64::from(2 * cases),
        );
        assert!(
            evaluations.0 < 17.5 && evaluations.1 < 5.0,
            "{evaluations:?}"
        );
    }
}
