//! All steps from the loads of guests over time to their states, periods and correlation, and how sure these are.

use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use rayon::prelude::{IntoParallelIterator, ParallelIterator};

use super::observed::{Levels, Loads, RANKED, by_rank};

/// Fewer days than this show no second week to compare the first with `[days]`.
///
/// # Source
/// Measured for this project: in open readings windows of four days moved the correlation between 0.04 and 0.12.
pub const FEWEST_DAYS: f64 = 14.0;
/// Fewer guests of a profile than this leave the rare busy moments of many to chance.
///
/// # Source
/// Measured for this project: ten machines put the 99.5 % point of fifty anywhere from 0.2 to 1.6 of the truth.
pub const FEWEST_GUESTS: usize = 10;

/// What was seen of a profile.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    /// vCPUs of a guest: what its load counts among all guests.
    pub vcpus: f64,
    /// Load per vCPU of each guest at each moment, 0–1; the moments are the same for all guests of all profiles.
    pub guests: &'a [Vec<f64>],
}

/// Which moments are in which period.
#[derive(Debug, Clone, Copy)]
pub enum Periods<'a> {
    /// By rank of the load of all guests: `quiet`, `usual`, `peak`.
    Ranked,
    /// By the clock: the period of each moment, and how many there are.
    Given(&'a [usize], usize),
}

/// What the loads of one profile come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// The two levels, and the share of all moments at which a guest is busy.
    pub levels: Levels,
    /// Share of busy guests in each period.
    pub shares: Vec<f64>,
    /// Correlation where no periods are wanted; none where the loads do not tell it.
    pub correlation: Option<f64>,
}

/// Levels, shares of busy guests by period and correlation of each profile: steps 1 to 4.
///
/// - `seen` at the same moments, equally far apart
///
/// What chance adds to the changes of the mean (1 − λ of [`Loads::common_part`]) is taken out of periods by rank
/// only: the clock puts no moment into a period for its load, so chance moves no share one way.
///
/// # Source
/// Definition of this project; the laws of [`super::observed`].
///
/// # Example
/// ```
/// use berthage::model::demand::estimated::{Periods, Seen, estimate};
/// let guests = [vec![0.1, 0.9, 0.1, 0.1], vec![0.1, 0.9, 0.1, 0.1]];
/// let seen = Seen { vcpus: 1.0, guests: &guests };
/// let found = &estimate(&[seen], Periods::Given(&[0, 1, 0, 0], 2))[0];
/// assert!((found.levels.busy - 0.9).abs() < 1e-12);
/// assert!((found.shares[1] - 1.0).abs() < 1e-12);
/// ```
pub fn estimate(seen: &[Seen], periods: Periods) -> Vec<Estimate> {
    let loads: Vec<Loads> = seen.iter().map(|one| Loads::new(one.guests)).collect();
    estimates(seen, &loads, periods)
}

/// How guests and days are drawn again.
#[derive(Debug, Clone, Copy)]
pub struct Resampling {
    /// How many times.
    pub times: u64,
    /// Seed of the generator, PCG-XSL-RR 128/64 (M. E. O'Neill, HMC-CS-2014-0905).
    pub seed: u64,
    /// Moments of a day; 0: days are not drawn.
    pub moments_a_day: usize,
}

/// Step 5: the estimates from guests and whole days drawn again with replacement, as many as there are; the same days for all
/// profiles. Any figure of theirs has its interval between the quantiles of what the draws give ([`interval`]).
///
/// A guest that is drawn twice counts twice in every mean, and is no second guest that is busy at the same moments. With fewer
/// than two days only guests are drawn. Each draw has its own stream, so the number of threads does not matter.
///
/// # Source
/// B. Efron, "Bootstrap methods: another look at the jackknife", Annals of Statistics 7 (1979) 1–26; days in blocks: H. R.
/// Künsch, "The jackknife and the bootstrap for general stationary observations", Annals of Statistics 17 (1989) 1217–1241.
pub fn resampled(seen: &[Seen], periods: Periods, resampling: Resampling) -> Vec<Vec<Estimate>> {
    let draws = (0..resampling.times).into_par_iter();
    let each = draws.map(|draw| {
        let mut random = Pcg64::new(u128::from(resampling.seed), u128::from(draw));
        let moments = moments(seen, resampling.moments_a_day, &mut random);
        let drawn: Vec<Loads> = seen
            .iter()
            .map(|one| guests_drawn(one.guests, &moments, &mut random))
            .collect();
        match periods {
            Periods::Ranked => estimates(seen, &drawn, periods),
            Periods::Given(given, count) => {
                let given: Vec<usize> = moments.iter().map(|moment| given[*moment]).collect();
                estimates(seen, &drawn, Periods::Given(&given, count))
            }
        }
    });
    each.collect()
}

/// The 5 % and 95 % points of a figure in the draws; none of no draws.
pub fn interval(figures: impl IntoIterator<Item = f64>) -> Option<[f64; 2]> {
    let mut sorted: Vec<f64> = figures.into_iter().collect();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    Some([0.05, 0.95].map(|share| sorted[(share * last as f64).round() as usize]))
}

/// Guests drawn with replacement, at these moments.
fn guests_drawn(guests: &[Vec<f64>], moments: &[usize], random: &mut Pcg64) -> Loads {
    let mut weights = vec![0.0; guests.len()];
    for _ in 0..weights.len() {
        weights[below(random, guests.len())] += 1.0;
    }
    let chosen = guests.iter().zip(&weights);
    let chosen = chosen.filter(|(_, weight)| **weight > 0.0);
    let loads = chosen.map(|(loads, _)| moments.iter().map(|moment| loads[*moment]).collect());
    let loads = loads.collect();
    weights.retain(|weight| *weight > 0.0);
    Loads::weighted(loads, weights)
}

/// The moments of whole days drawn with replacement; of what follows the last whole day none, unless it is all there is.
fn moments(seen: &[Seen], a_day: usize, random: &mut Pcg64) -> Vec<usize> {
    let all = seen.iter().find_map(|one| one.guests.first());
    let all = all.map_or(0, Vec::len);
    let days = all.checked_div(a_day).unwrap_or(0);
    if days < 2 {
        return (0..all).collect();
    }
    let drawn = (0..days).map(|_| below(random, days) * a_day);
    drawn.flat_map(|start| start..start + a_day).collect()
}

/// A number below `count`, each as likely as the others but for 1 in 2^64.
pub fn below(random: &mut Pcg64, count: usize) -> usize {
    ((u128::from(random.next_u64()) * count as u128) >> 64) as usize
}

fn estimates(seen: &[Seen], loads: &[Loads], periods: Periods) -> Vec<Estimate> {
    let ranked;
    let (of_moments, count) = match periods {
        Periods::Given(given, count) => (given, count),
        Periods::Ranked => {
            ranked = by_rank(&total(seen, loads), &RANKED.map(|(_, share)| share));
            (ranked.as_slice(), RANKED.len())
        }
    };
    let of_one = |loads: &Loads| {
        let levels = loads.levels();
        let common = match periods {
            Periods::Given(..) => 1.0,
            Periods::Ranked => loads.common_part(),
        };
        Estimate {
            levels,
            shares: loads.shares(levels, (of_moments, count), common),
            correlation: loads.correlation(levels),
        }
    };
    loads.iter().map(of_one).collect()
}

/// Load of all guests at each moment `[vCPUs]`.
fn total(seen: &[Seen], loads: &[Loads]) -> Vec<f64> {
    let mut total = vec![0.0; loads.iter().map(Loads::moments).max().unwrap_or(0)];
    for (one, loads) in seen.iter().zip(loads) {
        let weight = one.vcpus * loads.count();
        for (sum, mean) in total.iter_mut().zip(loads.mean()) {
            *sum += weight * mean;
        }
    }
    total
}
