//! An uncertain value: the beta-PERT distribution of low, likely and high.

use statrs::function::beta::{beta_reg, ln_beta};

/// Weight of the likely value against the ends. Source: the PERT convention, mean = (low + 4·likely + high)/6.
const WEIGHT: f64 = 4.0;
/// A step of x below this is the answer.
const STEP: f64 = 1e-13;
/// Most steps; bisection alone needs about 45 for the last digit.
const STEPS: u32 = 64;

/// The distribution of a value that lies between `low` and `high` and is most often near `likely`.
///
/// `low + (high − low)·X`, `X ~ Beta(1 + 4·(likely − low)/(high − low), 1 + 4·(high − likely)/(high − low))`
///
/// - `low ≤ likely ≤ high`, in any unit; equal ends are a certain value
///
/// # Source
/// D. G. Malcolm, J. H. Roseboom, C. E. Clark & W. Fazar, "Application of a technique for research and development
/// program evaluation", Operations Research 7 (1959) 646–669; the beta form of it: D. Vose, *Risk Analysis*.
///
/// # Example
/// ```
/// use berthage::model::pert::Pert;
/// let pert = Pert::new(0.0, 2.0, 10.0);
/// assert!((pert.mean() - 3.0).abs() < 1e-12);
/// // X ~ Beta(1.8, 4.2): P(X ≤ 0.3) = 0.548230304262 (scipy).
/// assert!((pert.quantile(0.548230304262) - 3.0).abs() < 1e-8);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pert {
    low: f64,
    range: f64,
    a: f64,
    b: f64,
    ln_beta: f64,
}

impl Pert {
    /// The distribution of these three.
    pub fn new(low: f64, likely: f64, high: f64) -> Pert {
        let range = high - low;
        let place = if range > 0.0 {
            (likely - low) / range
        } else {
            0.5
        };
        let (a, b) = (1.0 + WEIGHT * place, 1.0 + WEIGHT * (1.0 - place));
        Pert {
            low,
            range,
            a,
            b,
            ln_beta: ln_beta(a, b),
        }
    }

    /// Mean: `(low + 4·likely + high)/6`.
    pub fn mean(&self) -> f64 {
        self.low + self.range * self.a / (self.a + self.b)
    }

    /// Where the likely value lies between the ends, 0–1: two with one place differ only by their ends.
    pub fn place(&self) -> f64 {
        (self.a - 1.0) / WEIGHT
    }

    /// The value at a share `x` of the way from the low to the high end.
    pub fn at(&self, x: f64) -> f64 {
        self.low + self.range * x
    }

    /// P(X ≤ x).
    pub fn below(&self, x: f64) -> f64 {
        beta_reg(self.a, self.b, x)
    }

    /// The value that is not passed with probability `u`, 0 < u < 1.
    ///
    /// One number in, one value out, rising, which keeps answers of the same seed comparable: `low` and `high` moved out
    /// by the same amount give a lower value for every `u` below 0.489 and a higher one for every `u` above 0.511,
    /// however lopsided the three are; both distances from `likely` times the same number multiply the distance from
    /// `likely`. Newton's steps on the distribution function, held in a bracket.
    pub fn quantile(&self, u: f64) -> f64 {
        if self.range <= 0.0 {
            return self.low;
        }
        let (mut below, mut above) = (0.0, 1.0);
        let mut x = self.a / (self.a + self.b);
        for _ in 0..STEPS {
            let miss = self.below(x) - u;
            if miss > 0.0 {
                above = x;
            } else {
                below = x;
            }
            let newton = x - miss / self.density(x);
            // Not past the bracket, and near an end, where the density vanishes, by halves.
            let next = if newton > below && newton < above {
                newton
            } else {
                0.5 * (below + above)
            };
            let step = (next - x).abs();
            x = next;
            if step <= STEP {
                break;
            }
        }
        self.at(x)
    }

    /// Density of X.
    pub fn density(&self, x: f64) -> f64 {
        ((self.a - 1.0) * x.ln() + (self.b - 1.0) * (1.0 - x).ln() - self.ln_beta).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::Pert;

    #[test]
    fn quantiles_are_scipys() {
        // scipy.stats.beta.ppf(u, 1 + 4p, 1 + 4(1 − p)), p the place of the likely value.
        for (place, u, expected) in QUANTILES {
            let found = Pert::new(0.0, place, 1.0).quantile(u);
            assert!(
                (found - expected).abs() < 1e-11,
                "{place} {u}: {found} is not {expected}"
            );
        }
    }

    #[test]
    fn equal_ends_are_certain() {
        assert_eq!(Pert::new(3.0, 3.0, 3.0).quantile(0.7), 3.0);
    }

    #[test]
    fn a_wider_input_lies_farther_out_at_the_same_chance() {
        let (narrow, wide) = (Pert::new(4.0, 5.0, 6.0), Pert::new(3.0, 5.0, 7.0));
        for k in 1..100 {
            let u = f64::from(k) / 100.0;
            let (near, far) = (narrow.quantile(u) - 5.0, wide.quantile(u) - 5.0);
            assert!((far - 2.0 * near).abs() < 1e-9, "{u}");
        }
    }

    #[test]
    fn the_same_amount_on_both_sides_moves_outward_however_lopsided() {
        // scipy.stats.beta.ppf on a grid of 101 places, amounts from 0.001 to 10 ranges: the two quantile functions cross
        // once, between u = 0.489 and u = 0.511.
        for place in (0..=50).map(|k| f64::from(k) / 50.0) {
            let narrow = Pert::new(0.0, place, 1.0);
            for more in [0.001, 0.05, 0.3, 1.0, 10.0] {
                let wide = Pert::new(-more, place, 1.0 + more);
                for u in [1e-4, 0.05, 0.2, 0.4, 0.488] {
                    let (low, high) = (u, 1.0 - u);
                    assert!(
                        wide.quantile(low) < narrow.quantile(low),
                        "{place} {more} {u}"
                    );
                    assert!(
                        wide.quantile(high) > narrow.quantile(high),
                        "{place} {more} {u}"
                    );
                }
            }
        }
    }

    #[test]
    fn likely_lies_within_the_middle_nine_tenths_unless_it_is_nearly_an_end() {
        // scipy: P(X ≤ p) = 0.05 for X ~ Beta(1 + 4p, 5 − 4p) at p = 0.012045234077.
        let p = 0.012_045_234_077;
        assert!((Pert::new(0.0, p, 1.0).quantile(0.05) - p).abs() < 1e-9);
        assert!((Pert::new(0.0, 1.0 - p, 1.0).quantile(0.95) - (1.0 - p)).abs() < 1e-9);
    }

    const QUANTILES: [(f64, f64, f64); 25] = [
        (0.0, 1e-06, 2.0000008000004803e-07),
        (0.0, 0.05, 0.010206218313011496),
        (0.0, 0.5, 0.12944943670387585),
        (0.0, 0.95, 0.450719728346941),
        (0.0, 0.999999, 0.9369042655516178),
        (0.1, 1e-06, 1.2620536001735436e-05),
        (0.1, 0.05, 0.029998182323589088),
        (0.1, 0.5, 0.2026648503614662),
        (0.1, 0.95, 0.5420740973853162),
        (0.1, 0.999999, 0.9580572865959938),
        (0.5, 1e-06, 0.004652416361586582),
        (0.5, 0.05, 0.1892553774377708),
        (0.5, 0.5, 0.5),
        (0.5, 0.95, 0.8107446225622291),
        (0.5, 0.999999, 0.9953475836383687),
        (0.8, 1e-06, 0.0269822650654397),
        (0.8, 0.05, 0.37872327598380967),
        (0.8, 0.5, 0.7233277406074811),
        (0.8, 0.95, 0.9410226123881827),
        (0.8, 0.999999, 0.9998649281007289),
        (1.0, 1e-06, 0.06309573444801932),
        (1.0, 0.05, 0.5492802716530588),
        (1.0, 0.5, 0.8705505632961241),
        (1.0, 0.95, 0.9897937816869885),
        (1.0, 0.999999, 0.99999979999992),
    ];
}
