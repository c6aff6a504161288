//! The split of N over the shares.

use berthage::lab::Lab;
use berthage::sizing::composition::Composition;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};

use crate::support::{PLAIN_HOST, lab};

fn shares(values: &[(&str, &str)]) -> Lab {
    let guests: Vec<String> = values
        .iter()
        .map(|(name, share)| {
            format!("[[guest]]\nname = \"{name}\"\nmemory = \"1 GiB\"\nshare = {share}\n")
        })
        .collect();
    lab(&format!("{PLAIN_HOST}{}", guests.concat()))
}

/// Gives out seats one by one, quotients compared as exact integers (shares are whole numbers here).
fn one_by_one(shares: &[u64], names: &[String], n: u64) -> Vec<u64> {
    let mut seats = vec![0u64; shares.len()];
    for _ in 0..n {
        let winner = (0..shares.len())
            .max_by(|a, b| {
                let left = u128::from(shares[*a]) * u128::from(2 * seats[*b] + 1);
                let right = u128::from(shares[*b]) * u128::from(2 * seats[*a] + 1);
                left.cmp(&right)
                    .then(shares[*a].cmp(&shares[*b]))
                    .then(names[*b].cmp(&names[*a]))
            })
            .unwrap();
        seats[winner] += 1;
    }
    seats
}

#[test]
fn votes_of_three_parties_give_4_2_2_seats() {
    // Computed from the definition: the eight largest of v, v/3, v/5, v/7 … for 53, 24 and 23 thousand votes.
    let lab = shares(&[("a", "53000"), ("b", "24000"), ("c", "23000")]);
    assert_eq!(Composition::new(&lab.guests).counts(8), [4, 2, 2]);
}

#[test]
fn decimal_shares_tie_as_decimals() {
    // 0.3/3 = 0.1/1: a tie in decimals, which the larger share wins; as binary fractions 0.1 would be ahead.
    let lab = shares(&[("few", "0.1"), ("many", "0.3")]);
    let composition = Composition::new(&lab.guests);
    assert_eq!(composition.counts(1), [0, 1]);
    assert_eq!(composition.counts(2), [0, 2]);
    assert_eq!(composition.counts(3), [1, 2]);
}

#[test]
fn equal_shares_go_to_the_first_name_in_byte_order() {
    let lab = shares(&[("b", "1"), ("a", "1"), ("Z", "1")]);
    assert_eq!(Composition::new(&lab.guests).counts(1), [0, 0, 1]);
    assert_eq!(Composition::new(&lab.guests).counts(2), [0, 1, 1]);
}

#[test]
fn shares_far_apart_are_compared_exactly() {
    let lab = shares(&[("dust", "1e-9"), ("rock", "1e9")]);
    assert_eq!(
        Composition::new(&lab.guests).counts(1_000_000),
        [0, 1_000_000]
    );
}

proptest! {
    #[test]
    fn equals_seats_given_one_by_one(
        values in proptest::collection::vec(1u64..50, 1..8),
        n in 0u64..300,
    ) {
        let names: Vec<String> = (0..values.len()).map(|i| format!("g{i}")).collect();
        let texts: Vec<String> = values.iter().map(u64::to_string).collect();
        let pairs: Vec<(&str, &str)> = names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
        let composition = Composition::new(&shares(&pairs).guests);
        prop_assert_eq!(composition.counts(n), one_by_one(&values, &names, n));
    }

    #[test]
    fn one_more_guest_takes_none_away(
        values in proptest::collection::vec((1u32..100_000).prop_map(|v| f64::from(v) / 1000.0), 1..12),
        n in 0u64..5_000,
    ) {
        let names: Vec<String> = (0..values.len()).map(|i| format!("g{i}")).collect();
        let texts: Vec<String> = values.iter().map(f64::to_string).collect();
        let pairs: Vec<(&str, &str)> = names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
        let composition = Composition::new(&shares(&pairs).guests);
        let (now, next) = (composition.counts(n), composition.counts(n + 1));
        prop_assert_eq!(now.iter().sum::<u64>(), n);
        prop_assert_eq!(next.iter().sum::<u64>(), n + 1);
        prop_assert!(now.iter().zip(&next).all(|(a, b)| a <= b));
    }
}
