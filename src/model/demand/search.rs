//! The demand at a risk: a guess from the large pool, a bracket around it, then the very sum.

use super::normal::quantile;
use super::saddlepoint::lattice;
use super::{Demand, Method};

/// Few enough sums to evaluate each.
const FEW: usize = 64;
/// A bracket as narrow as this share of the largest extra demand is an answer.
const NARROW: f64 = 1e-6;
/// Most steps of the bracketing search; it needs about five.
const STEPS: usize = 60;

/// An extra demand and the logarithm of its tail over the risk.
#[derive(Clone, Copy)]
struct Point {
    extra: f64,
    miss: f64,
}

/// An end of the bracket.
#[derive(Clone, Copy, PartialEq)]
enum End {
    Low,
    High,
}

impl Demand {
    /// The smallest x with P(demand > x) ≤ risk: what has to be there for the worst accepted moment.
    ///
    /// Where the tail is exact, x is the value of demand itself at which the tail passes the risk, unless values lie
    /// closer than a millionth of the range.
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::{Busy, Demand};
    /// let hundred = Demand::new(5.0, &[Busy { guests: 100, probability: 0.1, extra: 2.0 }], 0.0);
    /// assert_eq!(hundred.at_risk(1e-6), 5.0 + 2.0 * 27.0);
    /// ```
    pub fn at_risk(&self, risk: f64) -> f64 {
        if self.groups.is_empty() || risk >= 1.0 {
            return self.always;
        }
        if risk <= 0.0 {
            return self.always + self.most;
        }
        let at = |extra: f64| Point {
            extra,
            // 1e-300 in place of an underflow keeps the logarithm finite.
            miss: (self.tail(self.always + extra).max(1e-300) / risk.max(1e-300)).ln(),
        };
        self.always + find(self, risk, at)
    }
}

impl Demand {
    /// About [`Demand::at_risk`]: that of a large pool with some spread.
    pub fn near_at_risk(&self, risk: f64) -> f64 {
        self.always + self.pool(risk).0
    }

    /// The quantile of the extra demand of a large pool with some spread, and its distance from the mean.
    fn pool(&self, risk: f64) -> (f64, f64) {
        let score = quantile(risk.clamp(1e-300, 1.0));
        let variance: f64 = self
            .groups
            .iter()
            .map(|g| g.most() * g.extra * g.probability * (1.0 - g.probability))
            .sum();
        let mean = self.mean() - self.always;
        let pool = if self.coupling.is_independent() {
            mean
        } else {
            let [pool, ..] = self.moments(score);
            pool
        };
        let spread = ((pool - mean).powi(2) + score * score * variance).sqrt();
        let near = mean - spread * score.signum();
        (near.clamp(0.0, self.most), spread)
    }
}

/// The smallest extra demand that `at` does not miss.
fn find(demand: &Demand, risk: f64, at: impl Fn(f64) -> Point) -> f64 {
    let (low, high) = bracket(demand, risk, &at);
    if low.miss <= 0.0 {
        return low.extra;
    }
    let (high, sums) = narrow(demand, low, high, &at);
    let Some(sums) = sums else {
        return high.extra;
    };
    // All of the sums lie in (low, high] and the tail changes at them only.
    let first = sums.partition_point(|&sum| sum < high.extra * (1.0 - 1e-12) && at(sum).miss > 0.0);
    sums.get(first).copied().unwrap_or(high.extra)
}

/// Two points around the risk, found by going out from the quantile of a large pool with some spread.
///
/// The lower one is past the risk, unless it is the demand of no busy guest at all.
fn bracket(demand: &Demand, risk: f64, at: impl Fn(f64) -> Point) -> (Point, Point) {
    let (guess, spread) = demand.pool(risk);
    let mut stride = 0.05 * spread + demand.groups[0].extra;
    let mut low = Point {
        extra: 0.0,
        miss: f64::INFINITY,
    };
    let mut high = Point {
        extra: demand.most,
        miss: f64::NEG_INFINITY,
    };
    let mut here = at(guess);
    loop {
        if here.miss > 0.0 {
            low = here;
            here.extra += stride;
        } else {
            high = here;
            here.extra -= stride;
        }
        let within = here.extra > 0.0 && here.extra < demand.most;
        if low.miss.is_finite() && high.miss.is_finite() || !within {
            break;
        }
        stride *= 3.0;
        here = at(here.extra);
    }
    if low.miss.is_infinite() {
        low = at(low.extra);
    }
    if high.miss.is_infinite() {
        high = at(high.extra);
    }
    (low, high)
}

/// Narrows the bracket until few sums are left in it, which are returned, or until it is an answer itself.
fn narrow(
    demand: &Demand,
    mut low: Point,
    mut high: Point,
    at: impl Fn(f64) -> Point,
) -> (Point, Option<Vec<f64>>) {
    // Illinois: a straight line through the ends; an end that stays twice counts half.
    let lattice = lattice(&demand.groups);
    let mut moved = None;
    let (mut low_miss, mut high_miss) = (low.miss, high.miss);
    for _ in 0..STEPS {
        if let Some(sums) = sums_between(demand, low.extra, high.extra, lattice) {
            return (high, Some(sums));
        }
        let width = high.extra - low.extra;
        if width <= NARROW * demand.most {
            break;
        }
        let line = low.extra + width * low_miss / (low_miss - high_miss);
        // Not `clamp`, which would panic where an overflow has left no number.
        let here = at(line
            .max(low.extra + 0.01 * width)
            .min(high.extra - 0.01 * width));
        if here.miss > 0.0 {
            if moved == Some(End::Low) {
                high_miss *= 0.5;
            }
            (low, low_miss, moved) = (here, here.miss, Some(End::Low));
        } else {
            if moved == Some(End::High) {
                low_miss *= 0.5;
            }
            (high, high_miss, moved) = (here, here.miss, Some(End::High));
        }
    }
    (high, None)
}

/// The values that extra demand can take in (low, high], if they are few.
fn sums_between(demand: &Demand, low: f64, high: f64, lattice: Option<f64>) -> Option<Vec<f64>> {
    if let Some(step) = lattice {
        let (first, last) = (
            (low / step).floor() + 1.0,
            (high / step * (1.0 + 1e-12)).floor(),
        );
        let count = (last - first + 1.0).max(0.0);
        if count <= FEW as f64 {
            return Some(
                (0..count as u64)
                    .map(|k| (first + k as f64) * step)
                    .collect(),
            );
        }
    }
    match demand.method() {
        Method::Exact(exact) => exact.sums_between(&demand.groups, low, high, FEW),
        Method::Saddlepoint(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::super::Demand;
    use super::super::group::{Busy, busy};
    use super::{Point, find};

    /// How often the search evaluates the tail.
    fn evaluations(demand: &Demand, risk: f64) -> u32 {
        let evaluations = Cell::new(0);
        let found = find(demand, risk, |extra| {
            evaluations.set(evaluations.get() + 1);
            let miss = (demand.tail(demand.always + extra).max(1e-300) / risk).ln();
            Point { extra, miss }
        });
        assert_eq!(demand.always + found, demand.at_risk(risk));
        evaluations.get()
    }

    /// Halving from nothing to everything would take 17 evaluations where there are 100,000 sums, and 20 down to a millionth.
    #[test]
    fn takes_few_evaluations() {
        let labs: [&[Busy]; 8] = [
            &[busy(40, 0.1, 1.0)],
            &[busy(400, 0.02, 3.0), busy(7, 0.5, 11.3)],
            &[busy(3000, 0.3, 0.25)],
            &[busy(30, 0.1, 1.0), busy(30, 0.2, 1.41), busy(30, 0.3, 3.3)],
            &[
                busy(90, 0.1, 1.0),
                busy(90, 0.2, 1.4),
                busy(90, 0.3, 3.3),
                busy(90, 0.01, 3.7),
                busy(90, 0.4, 4.9),
                busy(90, 0.1, 5.3),
            ],
            &[busy(2, 0.01, 900.0), busy(50, 0.1, 1.0)],
            &[
                busy(300, 0.1, 1.0),
                busy(300, 0.2, std::f64::consts::SQRT_2),
                busy(300, 0.02, std::f64::consts::PI),
            ],
            &[
                busy(60, 0.1, 1.0),
                busy(60, 0.2, std::f64::consts::SQRT_2),
                busy(60, 0.02, std::f64::consts::PI),
                busy(60, 0.4, std::f64::consts::E),
                busy(60, 0.3, 4.81),
                busy(9, 0.3, 30.77),
            ],
        ];
        let (mut total, mut cases) = (0_u32, 0_u32);
        for lab in labs {
            for correlation in [0.0, 0.05, 0.3, 0.9] {
                let demand = Demand::new(10.0, lab, correlation);
                for risk in [0.3, 0.05, 0.005, 1e-4] {
                    let evaluations = evaluations(&demand, risk);
                    assert!(
                        evaluations <= 20,
                        "{evaluations} for {lab:?} r {correlation} {risk}"
                    );
                    total += evaluations;
                    cases += 1;
                }
            }
        }
        let average = f64::from(total) / f64::from(cases);
        assert!(average < 8.2, "{average}");
    }
}
