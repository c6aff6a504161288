//! Two load states, periods and correlation of guests, estimated from their loads over time.
//!
//! Loads are per vCPU, 0–1, of every guest of a profile at the same moments, equally far apart. The steps are those of the
//! specification of periods: moments are put into periods, a profile gets one pair of levels (idle and busy) by its first
//! three moments, and the share of busy guests in each period follows from the mean load there, less the sample's own noise.

use super::normal;

/// Share of the time of the periods that are made by rank, from the quietest to the busiest.
///
/// # Source
/// Measured for this project: with these three the tail of a sum of 50–200 machines comes within 5 %.
pub const RANKED: [(&str, f64); 3] = [("quiet", 0.6), ("usual", 0.3), ("peak", 0.1)];

/// Nodes and weights of the 10-point Gauss–Legendre rule on [0, 1], the upper half; the lower mirrors it.
const LEGENDRE: [(f64, f64); 5] = [
    (0.574_437_169_490_815_6, 0.147_762_112_357_376_4),
    (0.716_697_697_064_623_6, 0.134_633_359_654_998_2),
    (0.839_704_784_149_512_2, 0.109_543_181_257_991_1),
    (0.932_531_683_344_492_3, 0.074_725_674_575_290_3),
    (0.986_953_264_258_585_9, 0.033_335_672_154_344_1),
];
/// Intervals that the integral of [`both_below`] is cut into.
const PARTS: usize = 16;
/// Largest correlation that is sought.
const MOST_CORRELATION: f64 = 0.999;

/// The two levels of a profile's load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Load of a vCPU when idle, 0–1.
    pub idle: f64,
    /// Load of a vCPU when busy, 0–1; equal to `idle` where the load never changes.
    pub busy: f64,
    /// a, share of all moments at which a guest is busy, 0–1.
    pub share: f64,
}

/// Loads over time of the guests of a profile, 0–1, at the same moments, and how often each guest counts.
#[derive(Debug, Clone)]
pub struct Loads {
    guests: Vec<Vec<f64>>,
    weights: Vec<f64>,
    /// n, the sum of the weights.
    count: f64,
}

impl Loads {
    /// Guests of which each counts once.
    pub fn new(guests: &[Vec<f64>]) -> Loads {
        Loads::weighted(guests.to_vec(), vec![1.0; guests.len()])
    }

    /// Guests of which each counts as often as its weight says.
    pub(super) fn weighted(guests: Vec<Vec<f64>>, weights: Vec<f64>) -> Loads {
        Loads {
            count: weights.iter().sum(),
            guests,
            weights,
        }
    }

    fn each(&self) -> impl Iterator<Item = (&Vec<f64>, f64)> {
        self.guests.iter().zip(self.weights.iter().copied())
    }

    /// How many moments there are.
    pub(super) fn moments(&self) -> usize {
        self.guests.first().map_or(0, Vec::len)
    }

    /// n, how many guests count.
    pub(super) fn count(&self) -> f64 {
        self.count
    }

    /// The two levels that have the mean, standard deviation and skewness of the loads; no guest or no moment gives levels
    /// of 0.
    ///
    /// `a = ½·(1 − γ/√(4 + γ²))`, `idle = μ − s·√(a/(1 − a))`, `busy = μ + s·√((1 − a)/a)`, both clamped to 0–1; the share
    /// is the one that keeps the mean: `(μ − idle)/(busy − idle)`
    ///
    /// # Source
    /// Three-moment matching of a two-point distribution; definition of this project.
    ///
    /// # Example
    /// ```
    /// use berthage::model::demand::observed::Loads;
    /// // Busy at 0.9 one moment in five, else idle at 0.1: two points are found again.
    /// let levels = Loads::new(&[vec![0.1, 0.1, 0.9, 0.1, 0.1]]).levels();
    /// assert!((levels.idle - 0.1).abs() < 1e-12 && (levels.busy - 0.9).abs() < 1e-12);
    /// assert!((levels.share - 0.2).abs() < 1e-12);
    /// ```
    pub fn levels(&self) -> Levels {
        let constant = |load| Levels {
            idle: load,
            busy: load,
            share: 0.0,
        };
        let count: f64 = self
            .each()
            .map(|(loads, weight)| loads.len() as f64 * weight)
            .sum();
        if count == 0.0 {
            return constant(0.0);
        }
        let mean_of = |value: &dyn Fn(f64) -> f64| {
            let sums = self
                .each()
                .map(|(loads, weight)| weight * loads.iter().map(|load| value(*load)).sum::<f64>());
            sums.sum::<f64>() / count
        };
        let mean = mean_of(&|load| load);
        let central = |power| mean_of(&|load| (load - mean).powi(power));
        let deviation = central(2).sqrt();
        if deviation <= f64::EPSILON {
            return constant(mean);
        }
        let skewness = central(3) / deviation.powi(3);
        let share = 0.5 * (1.0 - skewness / (4.0 + skewness * skewness).sqrt());
        let idle = (mean - deviation * (share / (1.0 - share)).sqrt()).max(0.0);
        let busy = (mean + deviation * ((1.0 - share) / share).sqrt()).min(1.0);
        Levels {
            idle,
            busy,
            share: share_busy(mean, idle, busy),
        }
    }

    /// m_t, the mean load of the guests at each moment.
    pub fn mean(&self) -> Vec<f64> {
        let mut means = vec![0.0; self.moments()];
        for (loads, weight) in self.each() {
            let loads = means.iter_mut().zip(loads);
            loads.for_each(|(mean, load)| *mean += weight * load / self.count);
        }
        means
    }

    /// λ: the part of the changes of the guests' mean that independent guests would not show, 0–1.
    ///
    /// `λ = √max(0, 1 − Σ_i Var_t y_i/(n²·Var_t m))`
    ///
    /// # Source
    /// Definition of this project; variance of a mean of independent guests.
    pub fn common_part(&self) -> f64 {
        let [together, apart, _] = self.spread();
        if together > 0.0 {
            (1.0 - apart / together).clamp(0.0, 1.0).sqrt()
        } else {
            0.0
        }
    }

    /// a_k, the share of busy guests in each period: `a_k = λ·(mean in k − idle)/(busy − idle) + (1 − λ)·a`.
    ///
    /// A period without a moment has the share of all.
    ///
    /// - `periods` the period of each moment, below `count`
    /// - `common` λ of [`Loads::common_part`], which takes out what a sample of n guests adds to the changes of their mean by
    ///   itself; 1 where periods are not chosen by the loads
    ///
    /// # Source
    /// Definition of this project.
    pub fn shares(
        &self,
        levels: Levels,
        (periods, count): (&[usize], usize),
        common: f64,
    ) -> Vec<f64> {
        let mut sums = vec![(0.0, 0.0); count];
        for (period, mean) in periods.iter().zip(self.mean()) {
            sums[*period].0 += mean;
            sums[*period].1 += 1.0;
        }
        let share = |(sum, moments): (f64, f64)| {
            if moments == 0.0 {
                return levels.share;
            }
            let share = share_busy(sum / moments, levels.idle, levels.busy);
            common * share + (1.0 - common) * levels.share
        };
        sums.into_iter().map(share).collect()
    }

    /// Variance over time of the sum of the guests' loads, that which independent guests would show, and the number of pairs
    /// of different guests, both orders: `n²·Var_t m`, `Σ_i w_i²·Var_t y_i`, `n² − Σ_i w_i²`.
    fn spread(&self) -> [f64; 3] {
        let squared = self.count * self.count;
        let apart = self.each();
        let apart = apart.map(|(loads, weight)| weight * weight * variance(loads));
        let squares: f64 = self.weights.iter().map(|weight| weight * weight).sum();
        [
            squared * variance(&self.mean()),
            apart.sum(),
            squared - squares,
        ]
    }

    /// r, the correlation of the common factor that the guests' loads show, where no periods explain it.
    ///
    /// `c = (n²·Var_t m − Σ_i Var_t y_i)/(n·(n − 1))`; r solves `Φ₂(h, h; r) − a² = c/(busy − idle)²`, `h = Φ⁻¹(a)`
    ///
    /// Returns 0 … 0.999; none for fewer than two guests, and where no guest is ever busy, or ever idle.
    ///
    /// # Source
    /// Moment estimator of the one-factor model of O. Vasicek, "Loan portfolio value", Risk, December 2002.
    pub fn correlation(&self, levels: Levels) -> Option<f64> {
        let range = levels.busy - levels.idle;
        let [together, apart, pairs] = self.spread();
        if pairs <= 0.0 || range <= 0.0 || levels.share <= 0.0 || levels.share >= 1.0 {
            return None;
        }
        let covariance = (together - apart) / pairs / (range * range);
        let wanted = levels.share * levels.share + covariance;
        let h = normal::quantile(levels.share);
        let (mut low, mut high) = (0.0, MOST_CORRELATION);
        if wanted <= both_below(h, low) {
            return Some(low);
        }
        if wanted >= both_below(h, high) {
            return Some(high);
        }
        while high - low > 1e-9 {
            let middle = 0.5 * (low + high);
            if both_below(h, middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(0.5 * (low + high))
    }
}

/// Share of busy guests that gives a mean load, 0–1.
fn share_busy(mean: f64, idle: f64, busy: f64) -> f64 {
    if busy > idle {
        ((mean - idle) / (busy - idle)).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The period of each moment by the rank of the load there: the lowest share of the moments is in period 0, and so on.
///
/// - `loads` total load at each moment, in any unit
/// - `shares` of the time, from the quietest period to the busiest; their sum is 1
///
/// Moments of equal load keep their order in time.
///
/// # Example
/// ```
/// use berthage::model::demand::observed::by_rank;
/// assert_eq!(by_rank(&[5.0, 1.0, 2.0, 9.0, 3.0], &[0.6, 0.2, 0.2]), [1, 0, 0, 2, 0]);
/// ```
pub fn by_rank(loads: &[f64], shares: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..loads.len()).collect();
    order.sort_by(|one, other| loads[*one].total_cmp(&loads[*other]));
    let mut periods = vec![shares.len().saturating_sub(1); loads.len()];
    let (mut start, mut share) = (0, 0.0);
    for (period, own) in shares.iter().enumerate() {
        share += own;
        let end = ((share * loads.len() as f64).round() as usize).min(loads.len());
        for moment in &order[start..end.max(start)] {
            periods[*moment] = period;
        }
        start = end.max(start);
    }
    periods
}

/// Φ₂(h, h; r), the chance that two standard normal numbers with correlation r both lie below h.
///
/// `Φ₂(h, h; r) = Φ(h)² + 1/2π·∫₀^{asin r} exp(−h²/(1 + sin θ)) dθ`
///
/// - `r` 0 up to 1
///
/// # Source
/// R. L. Plackett, "A reduction formula for normal multivariate integrals", Biometrika 41 (1954) 351–360.
///
/// # Example
/// ```
/// use berthage::model::demand::observed::both_below;
/// // Sheppard: 1/4 + asin r/2π at h = 0 (from memory).
/// assert!((both_below(0.0, 0.5) - 1.0 / 3.0).abs() < 1e-14);
/// ```
pub fn both_below(h: f64, r: f64) -> f64 {
    let step = r.asin() / PARTS as f64;
    let height = |angle: f64| (-h * h / (1.0 + angle.sin())).exp();
    let part = |start: f64| -> f64 {
        let pair = |(node, weight): &(f64, f64)| {
            weight * (height(start + node * step) + height(start + (1.0 - node) * step))
        };
        LEGENDRE.iter().map(pair).sum::<f64>() * step
    };
    let integral: f64 = (0..PARTS).map(|index| part(index as f64 * step)).sum();
    normal::below(h).powi(2) + integral / std::f64::consts::TAU
}

/// Mean square distance from the mean.
fn variance(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    if values.is_empty() {
        return 0.0;
    }
    let mean = values.iter().sum::<f64>() / count;
    values
        .iter()
        .map(|value| (value - mean).powi(2))
        .sum::<f64>()
        / count
}
