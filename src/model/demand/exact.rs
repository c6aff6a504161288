//! The tail of a sum of binomials, exactly: every sum of one half of the groups against all sums of the other.

use super::binomial::{Window, fill};
use super::group::{Chance, Group};
use super::ordered::{Ordered, Scratch, all_sums};
use crate::model::SLACK;

/// Most sums of each half where both have several groups.
const BUDGET: usize = 20_000;
/// Most sums of the walked half where the other is a single group, which needs no sorting.
const BUDGET_BESIDE_SINGLE: usize = 40_000;
/// How many equal sums are expected at most, on average, where a few are listed.
const ALIKE: usize = 64;
/// How much more a sum of the ordered half costs than one of the walked half (measured for this project, roughly).
const ORDERED_COSTS: usize = 4;
/// Most guests in the half that is a single group.
const SINGLE_BUDGET: u64 = 40_000;

/// The two halves. The values of demand do not depend on the common factor, so they are computed once.
#[derive(Debug, Clone)]
pub(super) struct Exact {
    /// Groups by their index, the half that is walked in the order of its counts; the last index runs fastest.
    walked: Vec<usize>,
    /// How many sums the walked half has.
    sums: usize,
    /// The half that is kept in ascending order.
    ordered: Ordered,
}

impl Exact {
    /// The halves, or none when there would be more sums than `times` the budget.
    pub fn new(groups: &[Group], times: usize) -> Option<Exact> {
        let mut by_size: Vec<usize> = (0..groups.len()).collect();
        by_size.sort_by_key(|&index| std::cmp::Reverse(groups[index].guests));
        let (mut walked, mut ordered) = (Vec::new(), Vec::new());
        let (mut walked_sums, mut ordered_sums) = (1_usize, 1_usize);
        // Few sums are within the budget whatever half they are in.
        let all = groups
            .iter()
            .fold(1, |all: u64, group| all.saturating_mul(group.guests + 1));
        let costs = if all <= BUDGET as u64 {
            ORDERED_COSTS
        } else {
            1
        };
        for index in by_size {
            if groups[index].guests > SINGLE_BUDGET {
                return None;
            }
            let counts = groups[index].guests as usize + 1;
            if ordered.is_empty() || costs * ordered_sums < walked_sums {
                ordered.push(index);
                ordered_sums = ordered_sums.saturating_mul(counts);
            } else {
                walked.push(index);
                walked_sums = walked_sums.saturating_mul(counts);
            }
        }
        let too_many = if ordered.len() > 1 {
            walked_sums.max(ordered_sums) > times * BUDGET
        } else {
            walked_sums > times * BUDGET_BESIDE_SINGLE
        };
        if too_many {
            return None;
        }
        // The longest runs innermost.
        walked.reverse();
        Some(Exact {
            walked,
            sums: walked_sums,
            ordered: Ordered::new(groups, ordered),
        })
    }

    /// For each sum of the walked half the first sum of the ordered half that takes both past the threshold.
    pub fn first_past(&self, groups: &[Group], threshold: f64) -> Vec<u32> {
        let mut first = Vec::with_capacity(self.sums);
        for sum in all_sums(groups, &self.walked) {
            first.push(self.ordered.first_above(threshold - sum) as u32);
        }
        first
    }

    /// P(sum past the threshold) at one value of the factor, from `first_past` of the threshold.
    pub fn tail(
        &self,
        groups: &[Group],
        chances: &[Chance],
        first_past: &[u32],
        scratch: &mut Scratch,
    ) -> f64 {
        if scratch.weights.is_empty() {
            scratch.weights = groups
                .iter()
                .map(|group| vec![0.0; group.guests as usize + 1])
                .collect();
        }
        scratch.windows.clear();
        for ((group, &chance), weights) in groups.iter().zip(chances).zip(&mut scratch.weights) {
            scratch.windows.push(fill(group.guests, chance, weights));
        }
        let kept = self.ordered.survive(groups, scratch);
        let walk = Walk {
            groups,
            walked: &self.walked,
            weights: &scratch.weights,
            windows: &scratch.windows,
            first_past,
            survival: &scratch.survival,
            kept,
        };
        walk.from(0, 0)
    }

    /// The distinct sums in (low, high], ascending, or none if there are more than `most` of them (or very many alike).
    pub fn sums_between(
        &self,
        groups: &[Group],
        low: f64,
        high: f64,
        most: usize,
    ) -> Option<Vec<f64>> {
        let mut found = Vec::new();
        for sum in all_sums(groups, &self.walked) {
            let from = self.ordered.first_above(low - sum);
            let to = self.ordered.first_above(high - sum);
            if found.len() + (to - from) > most * ALIKE {
                return None;
            }
            found.extend((from..to).map(|index| sum + self.ordered.at(index)));
        }
        found.sort_by(f64::total_cmp);
        found.dedup_by(|next, kept| *next - *kept <= SLACK * *kept);
        (found.len() <= most).then_some(found)
    }
}

/// What the walk over the counts of one half reads.
struct Walk<'a> {
    groups: &'a [Group],
    walked: &'a [usize],
    weights: &'a [Vec<f64>],
    windows: &'a [Window],
    first_past: &'a [u32],
    survival: &'a [f64],
    kept: Window,
}

impl Walk<'_> {
    /// The tail over all counts of the groups from this depth on, `place` being where the outer counts lead.
    fn from(&self, depth: usize, place: usize) -> f64 {
        let Some(&group) = self.walked.get(depth) else {
            return self.survive(self.first_past[place]);
        };
        let place = place * (self.groups[group].guests as usize + 1);
        let window = self.windows[group];
        let weights = &self.weights[group][window.first..=window.last];
        let run = place + window.first..=place + window.last;
        if depth + 1 == self.walked.len() {
            let first_past = &self.first_past[run];
            return weights
                .iter()
                .zip(first_past)
                .map(|(weight, &first)| weight * self.survive(first))
                .sum();
        }
        weights
            .iter()
            .zip(run)
            .map(|(weight, place)| weight * self.from(depth + 1, place))
            .sum()
    }

    fn survive(&self, first: u32) -> f64 {
        let Window {
            first: lowest,
            last,
        } = self.kept;
        self.survival[(first as usize).clamp(lowest, last + 1) - lowest]
    }
}

#[cfg(test)]
mod tests {
    use super::super::group::busy;
    use super::super::group::merge;
    use super::{ALIKE, Exact};

    /// The sums of two profiles with the same extra, or three times it, are alike but for their last digits.
    #[test]
    fn distinct_sums() {
        let unit = 1e9 / 3.0;
        let between = |guests: u64, other: f64, low: f64, high: f64, most: usize| {
            let (groups, _) = merge(&[busy(guests, 0.1, unit), busy(guests, 0.2, other * unit)]);
            let exact = Exact::new(&groups, 1).expect("few sums");
            exact.sums_between(&groups, low * unit, high * unit, most)
        };
        let whole = |from: u32, to: u32| -> Vec<f64> { (from..=to).map(f64::from).collect() };
        for (from, to) in [(0, 9), (7, 30), (60, 80), (150, 160)] {
            let found = between(40, 3.0, f64::from(from) - 0.5, f64::from(to) + 0.5, 64);
            let found = found.expect("no more than 64");
            let near: Vec<f64> = found.iter().map(|sum| (sum / unit).round()).collect();
            assert_eq!(near, whole(from, to));
            let few = (to - from) as usize;
            let too_many = between(40, 3.0, f64::from(from) - 0.5, f64::from(to) + 0.5, few);
            assert_eq!(too_many, None);
        }
        // As many ways to one sum as are tried for one, and one more.
        let ways = ALIKE as u64;
        let sum = |guests: u64| {
            between(guests, 1.0, guests as f64 - 0.5, guests as f64 + 0.5, 1).map(|sums| sums.len())
        };
        assert_eq!((sum(ways - 1), sum(ways)), (Some(1), None));
    }
}
