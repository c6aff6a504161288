//! Sums of busy guests against plain enumeration, and laws that hold for any guests.
//!
//! The reference knows nothing of the engine: whole extras, one guest after the other folded into an array of
//! probabilities, the common factor summed over more than a thousand places on [−9, 9].

use berthage::model::demand::{Busy, Demand};
use proptest::prelude::{ProptestConfig, Strategy, prop_assert, proptest};
use statrs::distribution::{ContinuousCDF, Normal};

/// P(sum > x) for whole x from 0 to the largest sum.
fn enumerate(guests: &[Busy], correlation: f64) -> Vec<f64> {
    let normal = Normal::standard();
    let most: f64 = guests
        .iter()
        .map(|busy| busy.guests as f64 * busy.extra)
        .sum();
    let mut mass = vec![0.0; most as usize + 1];
    let half = if correlation > 0.0 { 600 } else { 0 };
    for place in -half..=half {
        // Simpson's rule.
        let z = f64::from(place) * 9.0 / 600.0;
        let weight = match (half, place) {
            (0, _) => 1.0,
            (_, 600 | -600) => 0.005,
            (_, place) if place % 2 == 0 => 0.01,
            _ => 0.02,
        } * if half == 0 {
            1.0
        } else {
            (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
        };
        let mut given = vec![0.0; mass.len()];
        given[0] = weight;
        let mut reached = 0;
        for busy in guests {
            let score = normal.inverse_cdf(busy.probability);
            let chance = match half {
                0 => busy.probability,
                _ => normal.cdf((score - correlation.sqrt() * z) / (1.0 - correlation).sqrt()),
            };
            let extra = busy.extra as usize;
            for _ in 0..busy.guests {
                reached += extra;
                for sum in (0..=reached).rev() {
                    let from = if sum >= extra {
                        given[sum - extra]
                    } else {
                        0.0
                    };
                    given[sum] = given[sum] * (1.0 - chance) + from * chance;
                }
            }
        }
        for (mass, given) in mass.iter_mut().zip(given) {
            *mass += given;
        }
    }
    let mut above = 0.0;
    for mass in mass.iter_mut().rev() {
        let here = *mass;
        *mass = above;
        above += here;
    }
    mass
}

/// A small generator, so that the cases are the same everywhere (Knuth's MMIX constants).
struct Seeded(u64);

impl Seeded {
    fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn whole(&mut self, from: u64, to: u64) -> u64 {
        from + (self.share() * (to - from + 1) as f64) as u64
    }

    /// Up to eight profiles of whole extras with about this many guests together.
    fn guests(&mut self, together: u64, largest: u64) -> Vec<Busy> {
        let profiles = self.whole(1, 8);
        (0..profiles)
            .map(|_| Busy {
                guests: self.whole(1, 1 + 2 * together / profiles),
                probability: 0.01 + 0.6 * self.share() * self.share(),
                extra: self.whole(1, largest) as f64,
            })
            .collect()
    }
}

/// Compares tails and demands at risk; `unit` scales all extras, `always` is added.
fn compare(guests: &[Busy], correlation: f64, always: f64, unit: f64) {
    let expected = enumerate(guests, correlation);
    let scaled: Vec<Busy> = guests
        .iter()
        .map(|busy| Busy {
            extra: busy.extra * unit,
            ..*busy
        })
        .collect();
    let demand = Demand::new(always, &scaled, correlation);
    let sums: f64 = guests.iter().map(|busy| busy.guests as f64 + 1.0).product();
    // So few sums are always enumerated.
    let exact = sums < 4e4;
    for risk in [1e-1, 1e-2, 1e-3, 1e-4] {
        let x = expected
            .iter()
            .position(|&tail| tail <= risk)
            .unwrap_or_default();
        let at_risk = (demand.at_risk(risk) - always) / unit;
        let miss = (at_risk - x as f64).abs();
        // Below the largest step of the distribution there, only where the tail is not exact.
        let near = expected
            .iter()
            .position(|&tail| tail <= risk * 1.02)
            .unwrap_or_default();
        let allowed = if exact { 1e-6 } else { (x - near + 1) as f64 };
        assert!(
            miss <= allowed,
            "{at_risk} for {x}: {guests:?} r {correlation} risk {risk}"
        );
        let tail = demand.tail(always + unit * x as f64);
        let allowed = if exact { 1e-7 } else { 0.02 } * expected[x] + 1e-12;
        assert!(
            (tail - expected[x]).abs() <= allowed,
            "{tail} for {}: {guests:?} r {correlation}",
            expected[x]
        );
    }
}

#[test]
fn agrees_with_enumeration() {
    let mut seeded = Seeded(2026);
    for case in 0..24 {
        let correlation = [0.0, 0.1, 0.3, 0.6][case % 4];
        let guests = seeded.guests([6, 20, 40][case % 3], [1, 6, 20][case / 4 % 3]);
        compare(
            &guests,
            correlation,
            [0.0, 17.25, 4e3][case % 3],
            [1.0, 0.1, 3.7e8][case / 2 % 3],
        );
    }
}

#[test]
fn many_guests_agree_with_enumeration() {
    let busy = |guests, probability, extra| Busy {
        guests,
        probability,
        extra,
    };
    let eight: Vec<Busy> = (1..=8)
        .map(|k| busy(50, 0.05 * f64::from(k), f64::from(9 - k)))
        .collect();
    compare(&eight, 0.0, 0.0, 1.0);
    compare(&[busy(400, 0.1, 1.0)], 0.6, 5.0, 2.0);
    compare(
        &[
            busy(150, 0.1, 1.0),
            busy(200, 0.02, 2.0),
            busy(50, 0.4, 1.0),
        ],
        0.3,
        0.0,
        0.25,
    );
    // Humps: one guest outweighs all others, and there are too many sums to look at.
    let mut humps: Vec<Busy> = (1..=6)
        .map(|k| busy(31, 0.04 * f64::from(k), f64::from(k)))
        .collect();
    humps.push(busy(2, 0.03, 700.0));
    compare(&humps, 0.0, 0.0, 1.0);
}

#[test]
fn extremes_are_answered() {
    let busy = |guests, probability, extra| Busy {
        guests,
        probability,
        extra,
    };
    for (probability, extra) in [
        (0.0, 1.0),
        (1.0, 1.0),
        (1e-300, 1.0),
        (1.0 - 1e-16, 1.0),
        (0.5, 0.0),
        (0.5, 1e300),
        (0.5, f64::MAX),
    ] {
        for correlation in [0.0, 1e-12, 0.5, 1.0] {
            for guests in [0, 1, 1_000_000] {
                let demand = Demand::new(
                    1.0,
                    &[busy(guests, probability, extra), busy(3, 0.2, 1.0)],
                    correlation,
                );
                for limit in [0.0, 1.0, 2.5, 1e6, f64::MAX, -f64::MAX] {
                    assert!((0.0..=1.0).contains(&demand.tail(limit)));
                }
                assert!(demand.at_risk(0.01) >= 1.0 || extra == f64::MAX);
            }
        }
    }
    let none = Demand::new(3.0, &[], 0.3);
    assert_eq!(
        (
            none.mean(),
            none.at_risk(0.01),
            none.tail(3.0),
            none.tail(2.9)
        ),
        (3.0, 3.0, 0.0, 1.0)
    );
    let many: Vec<Busy> = (1..=1000)
        .map(|k| busy(1_000_000, 1e-3 * f64::from(k), 1.0 + 0.37 * f64::from(k)))
        .collect();
    for correlation in [0.2, 1.0] {
        let rare: Vec<Busy> = (1..=9)
            .map(|k| busy(100 * k, 1e-4 * k as f64, 1.0 + 0.37 * k as f64))
            .collect();
        let demand = Demand::new(0.0, &rare, correlation);
        let tails: Vec<f64> = (0..=60)
            .map(|k| demand.tail(f64::from(k * k) * 4.0))
            .collect();
        assert!(
            tails.iter().all(|tail| (0.0..=1.0).contains(tail)),
            "{tails:?}"
        );
        assert!(tails.is_sorted_by(|one, next| one >= next), "{tails:?}");
    }
    let demand = Demand::new(0.0, &many, 0.0);
    let x = demand.at_risk(0.005);
    assert!(x > demand.mean() && x < demand.mean() * 1.01);
}

fn any_guests() -> impl Strategy<Value = Vec<Busy>> {
    let any_profile =
        (0_u64..30, 0.0_f64..=1.0, 0.0_f64..20.0).prop_map(|(guests, probability, extra)| Busy {
            guests,
            probability,
            extra,
        });
    proptest::collection::vec(any_profile, 1..4)
}

/// More by no more than what sums over the factor leave out.
fn no_more(one: f64, other: f64) -> bool {
    one <= other * (1.0 + 1e-7) + 1e-14
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn tails_behave(guests in any_guests(), correlation in 0.0_f64..0.8, share in 0.0_f64..1.1, step in 0.0_f64..0.3) {
        let most: f64 = guests.iter().map(|busy| busy.guests as f64 * busy.extra).sum();
        let demand = Demand::new(2.0, &guests, correlation);
        let limit = 2.0 + share * most;
        let tail = demand.tail(limit);
        prop_assert!((0.0..=1.0).contains(&tail));
        prop_assert!(no_more(demand.tail(limit + step * most), tail), "in the limit");
        let mut more = guests.clone();
        more[0].guests += 1;
        prop_assert!(no_more(tail, Demand::new(2.0, &more, correlation).tail(limit)), "in the guests");
        let mut likelier = guests.clone();
        likelier[0].probability += step * (1.0 - likelier[0].probability);
        prop_assert!(no_more(tail, Demand::new(2.0, &likelier, correlation).tail(limit)), "in the probability");
    }

    #[test]
    fn demand_at_risk_is_the_smallest(guests in any_guests(), correlation in 0.0_f64..0.8, exponent in -4.0_f64..-0.5) {
        let risk = 10_f64.powf(exponent);
        let demand = Demand::new(2.0, &guests, correlation);
        let x = demand.at_risk(risk);
        prop_assert!(demand.within(x, risk) && demand.tail(x) <= risk);
        // Values closer than a millionth are not told apart.
        let below = x - 1.1e-6 * (x - 2.0).max(demand.at_risk(0.0) - 2.0) - 1e-8 * x;
        prop_assert!(x == 2.0 || below < 2.0 || demand.tail(below) > risk, "{} at {below}", demand.tail(below));
        prop_assert!(!demand.within(below, risk) || x == 2.0 || below < 2.0);
    }
}
