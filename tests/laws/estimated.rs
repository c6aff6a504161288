//! How sure what is estimated from readings over time is: guests and days drawn again.

use berthage::model::demand::estimated::{
    Estimate, Periods, Resampling, Seen, estimate, interval, resampled,
};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;
use rayon::ThreadPoolBuilder;

const IDLE: f64 = 0.1;
const BUSY: f64 = 0.7;

/// Loads of guests that are busy by themselves, each with its own chance, times that of the moment.
fn guests(seed: u64, chances: &[f64], moments: &[f64]) -> Vec<Vec<f64>> {
    let mut random = Pcg32::new(seed, 5);
    let mut uniform = move || f64::from(random.next_u32()) / f64::from(u32::MAX);
    let mut load = |chance: f64| if uniform() < chance { BUSY } else { IDLE };
    let each = chances.iter();
    each.map(|chance| moments.iter().map(|moment| load(chance * moment)).collect())
        .collect()
}

fn draws(guests: &[Vec<f64>], seed: u64, moments_a_day: usize) -> Vec<Estimate> {
    let seen = Seen { vcpus: 1.0, guests };
    let resampling = Resampling {
        times: 200,
        seed,
        moments_a_day,
    };
    let all = resampled(&[seen], Periods::Ranked, resampling);
    all.into_iter().flatten().collect()
}

fn width(draws: &[Estimate], figure: impl Fn(&Estimate) -> f64) -> f64 {
    let [low, high] = interval(draws.iter().map(figure)).expect("draws");
    high - low
}

#[test]
fn a_seed_gives_the_same_draws_on_any_number_of_threads() {
    let loads = guests(1, &[0.3; 8], &[1.0; 96]);
    let on = |threads| {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads").install(|| draws(&loads, 1, 24))
    };
    assert_eq!(on(1), on(4));
    assert_ne!(draws(&loads, 1, 24), draws(&loads, 2, 24));
}

/// Guests of which half are busy 10 % of the time and half 50 %: the truth is 30 %, and 12 of them may be any.
#[test]
fn the_interval_holds_the_truth_as_often_as_it_should() {
    let mut random = Pcg32::new(3, 0);
    let mut held = 0;
    for seed in 0..60 {
        let chances: Vec<f64> = (0..12)
            .map(|_| {
                if random.next_u32().is_multiple_of(2) {
                    0.1
                } else {
                    0.5
                }
            })
            .collect();
        let loads = guests(seed, &chances, &[1.0; 120]);
        let shares = draws(&loads, seed, 0)
            .into_iter()
            .map(|one| one.levels.share);
        let [low, high] = interval(shares).expect("draws");
        held += usize::from(low <= 0.3 && 0.3 <= high);
    }
    // 54 are expected; a bootstrap of 12 holds a little less often than it says.
    assert!((44..=60).contains(&held), "{held} of 60");
}

/// A guest drawn twice is no pair of guests that are busy together.
#[test]
fn guests_that_are_busy_by_themselves_stay_so_when_drawn_again() {
    let loads = guests(4, &[0.3; 8], &[1.0; 400]);
    let found = draws(&loads, 1, 0);
    let sum: f64 = found.iter().filter_map(|one| one.correlation).sum();
    assert!(sum / (found.len() as f64) < 0.02, "{sum}");
    // Nor does it make periods: all three are as busy as all the time.
    let spread: f64 = found.iter().map(|one| one.shares[2] - one.shares[0]).sum();
    assert!(spread / (found.len() as f64) < 0.2, "{spread}");
}

#[test]
fn days_that_differ_widen_what_a_day_says() {
    let moments: Vec<f64> = (0..24 * 6)
        .map(|moment| if moment / 24 % 2 == 0 { 0.2 } else { 1.0 })
        .collect();
    let loads = guests(5, &[0.5; 20], &moments);
    let share = |one: &Estimate| one.levels.share;
    let (guests_alone, with_days) = (
        width(&draws(&loads, 1, 0), share),
        width(&draws(&loads, 1, 24), share),
    );
    assert!(with_days > 1.5 * guests_alone, "{guests_alone} {with_days}");
}

/// Two profiles: the periods are those of both, by their vCPUs, and each profile has its own levels.
#[test]
fn the_periods_of_several_profiles_are_those_of_all_their_vcpus() {
    let large = vec![vec![0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.9]; 3];
    let small = vec![vec![0.8, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2]; 3];
    let seen = |vcpus: [f64; 2]| {
        let all = [(vcpus[0], &large), (vcpus[1], &small)];
        let all = all.map(|(vcpus, guests)| Seen { vcpus, guests });
        estimate(&all, Periods::Ranked)
    };
    let found = seen([8.0, 1.0]);
    assert!(
        found[0].shares[2] > 0.8 && found[1].shares[2] < 0.1,
        "{found:?}"
    );
    let found = seen([1.0, 8.0]);
    assert!(
        found[0].shares[2] < 0.1 && found[1].shares[2] > 0.8,
        "{found:?}"
    );
}
