//! Load states and periods estimated from readings over time, held against open readings.

use berthage::model::demand::observed::{Levels, Loads, RANKED, both_below, by_rank};
use berthage::model::demand::{Busy, Demand};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

/// Loads of each task group over a day; the source stands in the file's head.
fn task_groups() -> Vec<Vec<f64>> {
    let text = include_str!("task_loads.csv");
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| !line.starts_with(['#', 't']))
        .map(|line| {
            let cells = line.split(',');
            cells
                .map(|cell| cell.parse::<f64>().expect("a number") / 1000.0)
                .collect()
        })
        .collect();
    let groups = rows.first().map_or(0, Vec::len);
    (0..groups)
        .map(|group| rows.iter().map(|row| row[group]).collect())
        .collect()
}

/// The smallest sum of `count` guests that the estimates expect to be passed with at most `chance`.
fn predicted(guests: &[Vec<f64>], count: u64, chance: f64) -> f64 {
    let loads = Loads::new(guests);
    let levels = loads.levels();
    let weights: Vec<f64> = RANKED.iter().map(|(_, share)| *share).collect();
    let periods = by_rank(&loads.mean(), &weights);
    let shares = loads.shares(levels, (&periods, weights.len()), loads.common_part());
    let demands: Vec<Demand> = shares
        .iter()
        .map(|share| {
            let busy = Busy {
                guests: count,
                probability: *share,
                extra: 1.0,
            };
            Demand::new(0.0, &[busy], 0.0)
        })
        .collect();
    let passed = |busy: u64| -> f64 {
        let tails = demands.iter().map(|demand| demand.tail(busy as f64));
        tails
            .zip(&weights)
            .map(|(tail, weight)| tail * weight)
            .sum()
    };
    let busy = (0..=count).find(|busy| passed(*busy) <= chance);
    count as f64 * levels.idle + busy.unwrap_or(count) as f64 * (levels.busy - levels.idle)
}

/// The first `count` of some groups, drawn without putting back.
fn draw(random: &mut Pcg32, groups: &mut [usize], count: usize) {
    for place in 0..count {
        let other = place + random.next_u32() as usize % (groups.len() - place);
        groups.swap(place, other);
    }
}

/// The sum that random `count` of these groups pass with `chance`, over all moments.
fn observed(random: &mut Pcg32, loads: &[&Vec<f64>], count: usize, chance: f64, times: u32) -> f64 {
    let mut order: Vec<usize> = (0..loads.len()).collect();
    let mut sums = Vec::new();
    for _ in 0..times {
        draw(random, &mut order, count);
        let chosen: Vec<&Vec<f64>> = order[..count].iter().map(|group| loads[*group]).collect();
        let moments = 0..chosen[0].len();
        sums.extend(moments.map(|moment| chosen.iter().map(|loads| loads[moment]).sum::<f64>()));
    }
    sums.sort_by(f64::total_cmp);
    sums[((1.0 - chance) * sums.len() as f64) as usize]
}

/// Which groups end up on which side moves a single prediction by up to 40 %, so the median over 40 splits is judged.
#[test]
fn half_of_the_task_groups_predict_sums_of_the_others() {
    let loads = task_groups();
    assert_eq!((loads.len(), loads[0].len()), (64, 288));
    let mut random = Pcg32::new(14, 0);
    let mut order: Vec<usize> = (0..loads.len()).collect();
    let cases = [(10, 0.05), (10, 0.005), (20, 0.05), (20, 0.005)];
    let mut ratios = vec![Vec::new(); cases.len()];
    for _ in 0..40 {
        draw(&mut random, &mut order, 32);
        let fitted: Vec<Vec<f64>> = order[..32]
            .iter()
            .map(|group| loads[*group].clone())
            .collect();
        let others: Vec<&Vec<f64>> = order[32..].iter().map(|group| &loads[*group]).collect();
        for ((count, chance), ratios) in cases.iter().zip(&mut ratios) {
            let seen = observed(&mut random, &others, *count, *chance, 60);
            ratios.push(predicted(&fitted, *count as u64, *chance) / seen);
        }
    }
    for ((count, chance), mut ratios) in cases.into_iter().zip(ratios) {
        ratios.sort_by(f64::total_cmp);
        let median = ratios[ratios.len() / 2];
        assert!((median - 1.0).abs() <= 0.1, "{count} at {chance}: {median}");
    }
}

/// Each of the four sums over what some groups really show, by estimates from the same or other groups.
fn ratios(fitted: &[Vec<f64>], others: &[Vec<f64>]) -> [[f64; 2]; 4] {
    [(10, 0.05), (10, 0.005), (20, 0.05), (20, 0.005)].map(|(count, chance)| {
        let expected = predicted(fitted, count as u64, chance);
        [fitted, others].map(|groups| {
            let groups: Vec<&Vec<f64>> = groups.iter().collect();
            expected / observed(&mut Pcg32::new(7, 0), &groups, count, chance, 1000)
        })
    })
}

/// What the estimates by themselves are off by, without a second half whose groups are others: all 64 for all 64.
#[test]
fn all_task_groups_predict_sums_of_themselves() {
    let loads = task_groups();
    for [ratio, _] in ratios(&loads, &loads) {
        assert!((ratio - 1.0).abs() <= 0.1, "{ratio}");
    }
}

/// Of one split, the first 32 and the last or every second one, no estimate from the one half is within 10 % of the other: the
/// sums that the halves themselves show differ by up to a half. What the estimates add to that stays small.
#[test]
fn what_one_split_misses_is_how_the_halves_differ() {
    let loads = task_groups();
    let (first, last) = (loads[..32].to_vec(), loads[32..].to_vec());
    let every_second = |from: usize| loads.iter().skip(from).step_by(2).cloned().collect();
    let (even, odd): (Vec<Vec<f64>>, Vec<Vec<f64>>) = (every_second(0), every_second(1));
    let mut apart: f64 = 0.0;
    for (one, other) in [
        (&first, &last),
        (&last, &first),
        (&even, &odd),
        (&odd, &even),
    ] {
        for [own, others] in ratios(one, other) {
            assert!((own - 1.0).abs() <= 0.17, "{own}");
            apart = apart.max(others / own);
        }
    }
    assert!(apart > 1.4, "{apart}");
}

/// Guests that are made by the model are found again.
#[test]
fn a_common_factor_is_found_again() {
    let (share, r, guests) = (0.2, 0.3, 40);
    let levels = Levels {
        idle: 0.1,
        busy: 0.7,
        share,
    };
    // Each moment is as likely as any other, so the rates of the moments are the quantiles of the common factor.
    let rates: Vec<f64> = (0..2000)
        .map(|moment| {
            let tail = (f64::from(moment) + 0.5) / 2000.0;
            berthage::model::demand::worst_rate(share, r, tail)
        })
        .collect();
    let mut random = Pcg32::new(7, 0);
    let loads: Vec<Vec<f64>> = (0..guests)
        .map(|_| {
            let draw = |rate: &f64| {
                let busy = f64::from(random.next_u32()) / f64::from(u32::MAX) < *rate;
                if busy { levels.busy } else { levels.idle }
            };
            rates.iter().map(draw).collect()
        })
        .collect();
    let loads = Loads::new(&loads);
    let found = loads.levels();
    assert!(
        (found.idle - 0.1).abs() < 0.01 && (found.busy - 0.7).abs() < 0.01,
        "{found:?}"
    );
    let estimate = loads.correlation(found).expect("two states");
    assert!((estimate - r).abs() < 0.03, "{estimate}");
}

/// Computed from the definition: Φ₂(h, h; 0) = Φ(h)², Φ₂(h, h; 1) = Φ(h), and Sheppard's 1/4 + asin r/2π (from memory).
#[test]
fn both_below_at_its_ends() {
    for (h, below) in [
        (-1.0, 0.158_655_253_931_457_05),
        (0.5, 0.691_462_461_274_013_1),
    ] {
        assert!((both_below(h, 0.0) - below * below).abs() < 1e-15);
        assert!(
            (both_below(h, 1.0) - below).abs() < 1e-7,
            "{}",
            both_below(h, 1.0)
        );
    }
    for r in [0.1_f64, 0.5, 0.9] {
        let expected = 0.25 + r.asin() / std::f64::consts::TAU;
        assert!((both_below(0.0, r) - expected).abs() < 1e-14);
    }
}
