//! One half of the groups of an exact tail: its sums in ascending order.

use super::binomial::Window;
use super::group::Group;

/// All sums of the ordered half.
#[derive(Debug, Clone)]
pub(super) enum Ordered {
    /// One group: k·extra.
    Single {
        group: usize,
        extra: f64,
        guests: u64,
    },
    /// Several groups: the sums ascending, and for each the place it has in the order of the counts.
    Several {
        groups: Vec<usize>,
        sums: Vec<f64>,
        places: Vec<u32>,
    },
}

/// Memory that the evaluations at all values of the factor share.
#[derive(Debug, Default)]
pub(super) struct Scratch {
    /// Weight of each count, group by group.
    pub weights: Vec<Vec<f64>>,
    /// The counts that have a weight, group by group.
    pub windows: Vec<Window>,
    /// Weights of the ordered half in the order of its counts.
    pub products: Vec<f64>,
    /// Upper sums of the weights of the ordered half.
    pub survival: Vec<f64>,
}

impl Ordered {
    /// The ordered half of these groups, by their index.
    pub fn new(groups: &[Group], chosen: Vec<usize>) -> Ordered {
        if let [group] = chosen[..] {
            return Ordered::Single {
                group,
                extra: groups[group].extra,
                guests: groups[group].guests,
            };
        }
        let mut sums: Vec<(f64, u32)> = all_sums(groups, &chosen).into_iter().zip(0..).collect();
        sums.sort_unstable_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        Ordered::Several {
            groups: chosen,
            places: sums.iter().map(|&(_, place)| place).collect(),
            sums: sums.into_iter().map(|(sum, _)| sum).collect(),
        }
    }

    /// The sum of this rank.
    pub fn at(&self, index: usize) -> f64 {
        match self {
            Ordered::Single { extra, .. } => index as f64 * extra,
            Ordered::Several { sums, .. } => sums[index],
        }
    }

    /// The rank of the first sum above an amount; the number of sums if there is none.
    pub fn first_above(&self, amount: f64) -> usize {
        match self {
            Ordered::Single { extra, guests, .. } => {
                if amount < 0.0 {
                    return 0;
                }
                let guess = ((amount / extra) as u64).min(*guests) as usize;
                // The quotient may be rounded to either side of a whole number.
                if guess as f64 * extra > amount {
                    guess
                } else if (guess + 1) as f64 * extra > amount || guess as u64 == *guests {
                    guess + 1
                } else {
                    guess + 2
                }
            }
            Ordered::Several { sums, .. } => sums.partition_point(|&sum| sum <= amount),
        }
    }

    /// Fills `survival[k]` with P(rank ≥ first + k), first being the window's first, up to one past its last.
    pub fn survive(&self, groups: &[Group], scratch: &mut Scratch) -> Window {
        let survival = &mut scratch.survival;
        match self {
            &Ordered::Single { group, .. } => {
                let window = scratch.windows[group];
                let weights = &scratch.weights[group][window.first..=window.last];
                accumulate(weights.iter().copied(), survival);
                window
            }
            Ordered::Several {
                groups: chosen,
                sums,
                places,
            } => {
                scratch.products.clear();
                scratch.products.resize(sums.len(), 0.0);
                multiply(
                    groups,
                    chosen,
                    (&scratch.weights, &scratch.windows),
                    (0, 1.0),
                    &mut scratch.products,
                );
                accumulate(
                    places.iter().map(|&place| scratch.products[place as usize]),
                    survival,
                );
                Window {
                    first: 0,
                    last: sums.len() - 1,
                }
            }
        }
    }
}

/// Writes the sums of the weights from each on, and 0 past the last.
fn accumulate(
    weights: impl DoubleEndedIterator<Item = f64> + ExactSizeIterator,
    into: &mut Vec<f64>,
) {
    into.clear();
    into.resize(weights.len() + 1, 0.0);
    let mut sum = 0.0;
    for (survival, weight) in into.iter_mut().rev().skip(1).zip(weights.rev()) {
        sum += weight;
        *survival = sum;
    }
}

/// All sums of the chosen groups, in the order of their counts, the last group running fastest.
pub(super) fn all_sums(groups: &[Group], chosen: &[usize]) -> Vec<f64> {
    let mut sums = vec![0.0];
    for &index in chosen {
        let group = &groups[index];
        sums = sums
            .iter()
            .flat_map(|sum| (0..=group.guests).map(move |count| sum + count as f64 * group.extra))
            .collect();
    }
    sums
}

/// Writes the products of the weights of the chosen groups in the order of their counts; zeros stay where they were.
fn multiply(
    groups: &[Group],
    chosen: &[usize],
    weights: (&[Vec<f64>], &[Window]),
    (place, product): (usize, f64),
    into: &mut [f64],
) {
    let Some((&group, inner)) = chosen.split_first() else {
        return;
    };
    let place = place * (groups[group].guests as usize + 1);
    let window = weights.1[group];
    let own = &weights.0[group][window.first..=window.last];
    if inner.is_empty() {
        let run = &mut into[place + window.first..=place + window.last];
        for (into, weight) in run.iter_mut().zip(own) {
            *into = product * weight;
        }
        return;
    }
    for (count, weight) in (window.first..).zip(own) {
        let outer = (place + count, product * weight);
        multiply(groups, inner, weights, outer, into);
    }
}

#[cfg(test)]
mod tests {
    use super::Ordered;

    /// The rank of a single group is a quotient, which may come out on either side of a whole number.
    #[test]
    fn ranks_of_a_single_group() {
        let first_above = |extra: f64, guests: u64, amount: f64| {
            let ordered = Ordered::Single {
                group: 0,
                extra,
                guests,
            };
            ordered.first_above(amount) as u64
        };
        // 63,977 · 6.4437… over 6.4437… is less than 63,977 in floating point, and so on.
        let below = [
            (6.4437066639796985, 63_977),
            (6.9601724839335475, 13_177),
            (0.37789611526557243, 58_364),
            (1.4814844544011385, 3_127),
        ];
        for (extra, count) in below {
            assert!(((count as f64 * extra) / extra) < count as f64);
            assert_eq!(first_above(extra, 100_000, count as f64 * extra), count + 1);
        }
        for extra in [0.1, 0.7, 1.0, 1e9 / 3.0] {
            for count in 0..300_u64 {
                let amount = count as f64 * extra;
                assert_eq!(first_above(extra, 200, amount), count.min(200) + 1);
                assert_eq!(first_above(extra, 200, amount.next_down()), count.min(201));
            }
            assert_eq!(first_above(extra, 200, -extra), 0);
        }
    }
}
