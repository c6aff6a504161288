//! The tail of a sum of binomials where there are too many sums to enumerate: the saddlepoint approximation.

use super::binomial::fill;
use super::group::{Chance, Group};
use super::normal::{below, density};

/// Most sums of the groups that are enumerated.
const COARSE_BUDGET: u64 = 200;
/// Smallest lattice step looked for, as a share of the smallest extra.
const FINEST_LATTICE: f64 = 1e-4;
/// Below this ŵ the formula's two terms cancel and the limit at the mean is used.
const NEAR_MEAN: f64 = 1e-3;
/// A saddlepoint is found when K' misses the amount by no more than this share of the standard deviation there.
const CLOSE: f64 = 1e-8;
/// Most steps to a saddlepoint; it needs about five.
const STEPS: usize = 60;

/// The groups, split by how much one guest of them matters.
#[derive(Debug, Clone)]
pub(super) struct Saddlepoint {
    /// Index of the first group whose counts are enumerated, because one guest of it outweighs the spread of all the
    /// smaller ones together and the sum has several humps.
    coarse: usize,
    /// Step of the lattice on which the sums of the other groups lie.
    lattice: Option<f64>,
}

impl Saddlepoint {
    /// Splits groups that are in ascending order of their extra.
    pub fn new(groups: &[Group]) -> Saddlepoint {
        let variance = |group: &Group| {
            group.most() * group.extra * group.probability * (1.0 - group.probability)
        };
        let mut coarse = groups.len();
        let mut rest: f64 = groups.iter().map(variance).sum();
        let mut sums = 1_u64;
        while coarse > 1 {
            let group = &groups[coarse - 1];
            rest -= variance(group);
            sums = sums.saturating_mul(group.guests.saturating_add(1));
            if group.extra * group.extra <= rest || sums > COARSE_BUDGET {
                break;
            }
            coarse -= 1;
        }
        Saddlepoint {
            coarse,
            lattice: lattice(&groups[..coarse]),
        }
    }

    /// P(sum > threshold) at one value of the factor.
    pub fn tail(&self, groups: &[Group], chances: &[Chance], threshold: f64) -> f64 {
        if threshold < 0.0 {
            return 1.0;
        }
        if self.coarse == groups.len() {
            return self.smooth_tail(groups, chances, threshold);
        }
        let last = groups.len() - 1;
        let (group, chance) = (&groups[last], chances[last]);
        let mut weights = vec![0.0; group.guests as usize + 1];
        let window = fill(group.guests, chance, &mut weights);
        (window.first..=window.last)
            .map(|count| {
                let left = threshold - count as f64 * group.extra;
                weights[count] * self.tail(&groups[..last], &chances[..last], left)
            })
            .sum()
    }

    fn smooth_tail(&self, groups: &[Group], chances: &[Chance], threshold: f64) -> f64 {
        if threshold < groups[0].extra {
            // Past it as soon as anybody is busy.
            let nobody: f64 = groups
                .iter()
                .zip(chances)
                .map(|(g, c)| g.guests as f64 * c.quiet.ln())
                .sum();
            return -nobody.exp_m1();
        }
        // A chance too small for a number takes its group out.
        let possible = || {
            groups
                .iter()
                .zip(chances)
                .filter(|(_, chance)| chance.busy > 0.0)
        };
        let most: f64 = possible().map(|(group, _)| group.most()).sum();
        if threshold >= most - groups[0].extra {
            // Past it only when all are busy.
            let all: f64 = possible()
                .map(|(group, chance)| group.guests as f64 * chance.busy.ln())
                .sum();
            return if threshold < most { all.exp() } else { 0.0 };
        }
        let amount = match self.lattice {
            Some(step) => ((threshold / step).floor() + 0.5) * step,
            None => threshold,
        };
        tail_at(
            &Cumulants {
                groups,
                chances,
                most,
            },
            amount,
            self.lattice,
        )
    }
}

/// P(sum > amount) of a continuous sum, or of one on a lattice between whose points the amount lies half-way.
///
/// `Φ(−ŵ) + φ(ŵ)·(1/û − 1/ŵ)`, ŵ = sgn(t)·√(2(t·x − K(t))), û = t·√K''(t), K'(t) = x; on a lattice of step d:
/// û = 2/d·sinh(t·d/2)·√K''(t).
///
/// # Source
/// R. Lugannani & S. Rice, Adv. Appl. Prob. 12 (1980) 475–490; lattice: H. E. Daniels, Int. Stat. Rev. 55 (1987)
/// 37–48, second continuity correction.
fn tail_at(cumulants: &Cumulants, amount: f64, lattice: Option<f64>) -> f64 {
    let t = cumulants.saddle(amount);
    let (_, second, third) = cumulants.slopes(t);
    if second <= 0.0 {
        // Chances of nearly 0 and 1 leave no spread.
        return if t < 0.0 { 1.0 } else { 0.0 };
    }
    let square = 2.0 * (t * amount - cumulants.value(t));
    let w = square.max(0.0).sqrt().copysign(t);
    if w.abs() < NEAR_MEAN {
        let skewness = third / (second * second.sqrt());
        return (below(-w) - density(w) * skewness / 6.0).clamp(0.0, 1.0);
    }
    let reach = match lattice {
        Some(step) => 2.0 / step * (0.5 * t * step).sinh(),
        None => t,
    };
    let u = reach * second.sqrt();
    (below(-w) + density(w) * (1.0 / u - 1.0 / w)).clamp(0.0, 1.0)
}

/// The cumulant generating function of the sum.
struct Cumulants<'a> {
    groups: &'a [Group],
    chances: &'a [Chance],
    /// Largest possible sum.
    most: f64,
}

impl Cumulants<'_> {
    fn each(&self) -> impl Iterator<Item = (f64, f64, &Chance)> {
        let both = self.groups.iter().zip(self.chances);
        both.filter(|(_, chance)| chance.busy > 0.0)
            .map(|(group, chance)| (group.guests as f64, group.extra, chance))
    }

    /// K(t) = Σ n·ln(1 − a + a·e^(tΔ)).
    fn value(&self, t: f64) -> f64 {
        self.each()
            .map(|(n, extra, chance)| {
                let power = t * extra;
                if power > 0.0 {
                    n * (power + (chance.busy + chance.quiet * (-power).exp()).ln())
                } else {
                    n * (chance.busy * power.exp_m1()).ln_1p()
                }
            })
            .sum()
    }

    /// K'(t), K''(t), K'''(t).
    fn slopes(&self, t: f64) -> (f64, f64, f64) {
        let mut slopes = (0.0, 0.0, 0.0);
        for (n, extra, chance) in self.each() {
            let against = chance.quiet / chance.busy * (-t * extra).exp();
            let tilted = 1.0 / (1.0 + against);
            let spread = if against.is_finite() {
                against * tilted * tilted
            } else {
                0.0
            };
            slopes.0 += n * extra * tilted;
            slopes.1 += n * extra * extra * spread;
            slopes.2 += n * extra * extra * extra * spread * (1.0 - 2.0 * tilted);
        }
        slopes
    }

    /// The t with K'(t) = amount, for 0 < amount < most.
    fn saddle(&self, amount: f64) -> f64 {
        self.solve(amount, |t| self.slopes(t))
    }

    /// The t at which the first of the slopes is the amount.
    ///
    /// K'/most is a mean of the shares of busy guests of the groups, so t lies between the values that bring one of
    /// them alone to the share wanted. Newton on the logit of K'/most, which is a straight line for one group; halving
    /// where it leaves the bracket.
    fn solve(&self, amount: f64, slopes: impl Fn(f64) -> (f64, f64, f64)) -> f64 {
        let logit = |x: f64| (x / (self.most - x)).ln();
        let wanted = logit(amount);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (_, extra, chance) in self.each() {
            let odds = chance.quiet.max(f64::MIN_POSITIVE).ln() - chance.busy.ln();
            let alone = (wanted + odds) / extra;
            (low, high) = (low.min(alone), high.max(alone));
        }
        let mut t = 0_f64.max(low).min(high);
        for _ in 0..STEPS {
            let (first, second, _) = slopes(t);
            let miss = first - amount;
            if miss.abs() <= CLOSE * second.sqrt() {
                break;
            }
            if miss < 0.0 {
                low = t;
            } else {
                high = t;
            }
            let slope = second * self.most / (first * (self.most - first));
            let next = t + (wanted - logit(first)) / slope;
            t = if next > low && next < high {
                next
            } else {
                low + 0.5 * (high - low)
            };
        }
        t
    }
}

/// The largest step of which all extras are whole multiples, if there is one worth the name.
pub(super) fn lattice(groups: &[Group]) -> Option<f64> {
    let finest = FINEST_LATTICE * groups[0].extra;
    let step = groups
        .iter()
        .fold(0.0, |step, group| common_step(step, group.extra, finest));
    let whole = |group: &Group| {
        let multiple = group.extra / step;
        (multiple - multiple.round()).abs() <= 1e-9 * multiple
    };
    // The largest extra holds most steps and so fixes one best.
    let largest = groups[groups.len() - 1].extra;
    (step > finest && groups.iter().all(whole)).then(|| largest / (largest / step).round())
}

/// Euclid's algorithm on lengths; remainders up to `finest` count as none.
fn common_step(one: f64, other: f64, finest: f64) -> f64 {
    let (mut small, mut large) = (one.min(other), one.max(other));
    while small > finest {
        let remainder = large - (large / small).round() * small;
        (small, large) = (remainder.abs(), small);
    }
    large
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;
    use std::f64::consts::{PI, SQRT_2};

    use super::super::group::busy;
    use super::super::group::{Chance, Group, merge};
    use super::{CLOSE, Cumulants, Saddlepoint, lattice};
    use crate::model::SLACK;

    type Profile = (u64, f64, f64);

    /// Mean 7, step 0.25, at most 62.5.
    const STEPPED: [Profile; 3] = [(40, 0.1, 0.25), (30, 0.2, 0.75), (20, 0.05, 1.5)];
    /// Mean 69.5186, no step.
    const SMOOTH: [Profile; 4] = [
        (40, 0.1, 1.0),
        (30, 0.2, SQRT_2),
        (20, 0.3, PI),
        (9, 0.6, 5.0 * SQRT_2),
    ];

    fn groups(profiles: &[Profile], unit: f64) -> (Vec<Group>, Vec<Chance>) {
        let busy = profiles
            .iter()
            .map(|&(guests, probability, extra)| busy(guests, probability, unit * extra));
        let (groups, _) = merge(&busy.collect::<Vec<_>>());
        let chances = groups.iter().map(|group| Chance {
            busy: group.probability,
            quiet: 1.0 - group.probability,
        });
        let chances = chances.collect();
        (groups, chances)
    }

    fn agrees(profiles: &[Profile], rows: &[(f64, f64)]) {
        for unit in [1.0, 3e9, 2e-7] {
            let (groups, chances) = groups(profiles, unit);
            let saddlepoint = Saddlepoint::new(&groups);
            for &(threshold, expected) in rows {
                // What equals a threshold is not past it, whatever the unit does to the last digit.
                let tail = saddlepoint.tail(&groups, &chances, threshold * unit * (1.0 + SLACK));
                assert!(
                    (tail - expected).abs() <= 3e-6 * expected,
                    "{threshold} times {unit:e}: {tail:e} for {expected:e}"
                );
            }
        }
    }

    /// The formula itself, by mpmath with 40 digits and the saddlepoint by bisection: H. E. Daniels, Int. Stat. Rev. 55
    /// (1987) 37–48, second continuity correction. Where only no guest or only all guests busy matter, the product.
    #[test]
    fn formula_on_a_lattice() {
        let rows = [
            (0.0, 0.9999934404795085),
            (0.1, 0.9999934404795085),
            (0.25, 0.9999686924196657),
            (0.5, 0.9999034064371723),
            (3.0, 0.9706456155347564),
            (5.25, 0.755053264242272),
            (6.75, 0.49784253561870123),
            (7.0, 0.4539785241870179),
            (8.3, 0.25901554987812087),
            (10.0, 0.08975802951035812),
            (13.0, 0.007344571780327894),
            (20.0, 1.2623835632518004e-6),
            (30.0, 1.9077099666802844e-14),
            (45.0, 1.4433573297054856e-31),
            (62.0, 3.629671227346185e-85),
            (62.25, 1.024e-87),
            (62.4, 1.024e-87),
            (62.5, 0.0),
        ];
        agrees(&STEPPED, &rows);
        // The smallest extra is not past itself.
        let (groups, chances) = groups(&STEPPED, 1.0);
        let tail = Saddlepoint::new(&groups).tail(&groups, &chances, 0.25);
        assert!((tail - 0.9999686924196657).abs() < 3e-6);
    }

    /// The same for a sum without a step: R. Lugannani & S. Rice, Adv. Appl. Prob. 12 (1980) 475–490. At the mean the two
    /// terms cancel and −κ₃/(6·κ₂^1.5)·φ(0) is left.
    #[test]
    fn formula_of_a_continuous_sum() {
        let rows = [
            (5.0, 0.9999999967972583),
            (20.0, 0.9999716820834468),
            (40.0, 0.9894135836059547),
            (60.0, 0.770892892643069),
            (68.0, 0.5496308289880061),
            (69.0, 0.5188867699342701),
            (69.5086034798509, 0.5031815640383405),
            (69.5186034798509, 0.502872544362732),
            (69.5286034798509, 0.5025635190368002),
            (72.0, 0.42647801684613673),
            (80.0, 0.20827041683584996),
            (100.0, 0.006956529890081382),
            (150.0, 1.0525408514989736e-14),
            (190.0, 4.463012768579445e-44),
        ];
        agrees(&SMOOTH, &rows);
    }

    /// Guests that outweigh all others are counted out: the formula at what each count leaves, weighted by its chance.
    #[test]
    fn humps() {
        let mut profiles = STEPPED.to_vec();
        profiles.extend([(3, 0.03, 200.0), (2, 0.02, 900.0)]);
        let rows = [
            (5.0, 0.8176227174240162),
            (13.0, 0.1299065967429927),
            (100.0, 0.1234688508),
            (207.0, 0.0790622169325763),
            (395.0, 0.0421412184),
            (570.0, 0.0396259308),
            (650.0, 0.0396),
            (905.0, 0.03215602928261291),
            (1107.0, 0.00201070273194189),
            (1805.0, 0.00032404111512870313),
            (2390.0, 1.08e-8),
        ];
        agrees(&profiles, &rows);
    }

    #[test]
    fn chances_without_a_number() {
        let (groups, mut chances) = groups(&STEPPED, 1.0);
        let saddlepoint = Saddlepoint::new(&groups);
        // As if the guests of the second profile were not there: all others are busy.
        chances[1].busy = 0.0;
        chances[1].quiet = 1.0;
        let all = saddlepoint.tail(&groups, &chances, 39.9);
        assert!((all / (0.1_f64.powi(40) * 0.05_f64.powi(20)) - 1.0).abs() < 1e-9);
        assert_eq!(saddlepoint.tail(&groups, &chances, 40.0), 0.0);
        // All guests are busy, or none.
        let certain = |busy: f64| {
            let chances = vec![
                Chance {
                    busy,
                    quiet: 1.0 - busy
                };
                3
            ];
            saddlepoint.tail(&groups, &chances, 30.0)
        };
        assert_eq!((certain(1.0), certain(0.0)), (1.0, 0.0));
    }

    /// K(t) nears Σ n·(t·Δ + ln a) far to the right and Σ n·ln(1 − a) far to the left, where e^(tΔ) is no number.
    #[test]
    fn cumulants_far_out() {
        let (groups, chances) = groups(&STEPPED, 1.0);
        let cumulants = Cumulants {
            groups: &groups,
            chances: &chances,
            most: 62.5,
        };
        let both = groups.iter().zip(&chances);
        let right: f64 = both
            .clone()
            .map(|(group, chance)| group.guests as f64 * (5000.0 * group.extra + chance.busy.ln()))
            .sum();
        let left: f64 = both
            .map(|(group, chance)| group.guests as f64 * chance.quiet.ln())
            .sum();
        assert!((cumulants.value(5000.0) / right - 1.0).abs() < 1e-14);
        assert!((cumulants.value(-5000.0) / left - 1.0).abs() < 1e-14);
    }

    /// Newton's method doubles its digits with each step, so few do.
    #[test]
    fn few_steps_to_a_saddlepoint() {
        let profiles: [&[Profile]; 4] = [
            &STEPPED,
            &SMOOTH,
            &[(50, 1e-9, 1.0), (50, 0.999, 1.3), (7, 0.3, 40.0)],
            &[(1000, 0.5, 1.0), (1000, 1e-4, 1.1)],
        ];
        let (mut steps, mut most_steps, mut cases) = (0, 0, 0);
        for (profiles, unit) in profiles.iter().flat_map(|&one| [(one, 1.0), (one, 4.7e8)]) {
            let (groups, chances) = groups(profiles, unit);
            let most = groups.iter().map(Group::most).sum();
            let cumulants = Cumulants {
                groups: &groups,
                chances: &chances,
                most,
            };
            for share in 1..50 {
                let amount = most * f64::from(share) / 50.0;
                let evaluations = Cell::new(0);
                let t = cumulants.solve(amount, |t| {
                    evaluations.set(evaluations.get() + 1);
                    cumulants.slopes(t)
                });
                let (first, second, _) = cumulants.slopes(t);
                assert!((first - amount).abs() <= CLOSE * second.sqrt(), "{amount}");
                steps += evaluations.get();
                most_steps = most_steps.max(evaluations.get());
                cases += 1;
            }
        }
        assert!(most_steps <= 12 && f64::from(steps) < 5.6 * f64::from(cases));
    }

    #[test]
    fn steps() {
        let step = |extras: &[f64]| {
            let profiles: Vec<Profile> = extras.iter().map(|&extra| (2, 0.5, extra)).collect();
            lattice(&groups(&profiles, 1.0).0)
        };
        assert_eq!(step(&[3.0]), Some(3.0));
        assert_eq!(step(&[0.25, 0.75, 1.5]), Some(0.25));
        assert_eq!(step(&[6.0, 10.0, 15.0]), Some(1.0));
        assert_eq!(step(&[6e9, 9e9]), Some(3e9));
        for unit in [1.0, 1e6, 1e-6] {
            assert_eq!(step(&[unit, SQRT_2 * unit]), None);
            // All but twice as much.
            assert_eq!(step(&[unit, 2.00005 * unit]), None);
        }
        // 29 and 8,941 steps, in numbers whose last digits add up on the way.
        let (small, large) = (7.848136305789348, 2419.6616106918127);
        assert_eq!(step(&[small, large]), Some(large / 8941.0));
    }
}
