//! The tail close to the largest demand: few guests are idle there, so they can be counted out.

use super::binomial::fill;
use super::group::{Chance, Group};

/// Most combinations of idle guests that are counted out.
const BUDGET: usize = 3_000;
/// Most guests of all groups together.
const MOST_GUESTS: u64 = 20_000;

/// A limit close to the largest demand.
///
/// Demand passes it when the guests that are idle lack less than `room` together. Saddlepoints are poor there, the sum
/// of a few large parts being anything but smooth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    /// What all guests together would need beyond the limit.
    room: f64,
}

impl Corner {
    /// The corner past a threshold of the extra demand, if the combinations are few.
    pub fn new(groups: &[Group], most: f64, threshold: f64) -> Option<Corner> {
        let guests = groups
            .iter()
            .fold(0_u64, |sum, group| sum.saturating_add(group.guests));
        let room = most - threshold;
        let mut left = BUDGET;
        (guests <= MOST_GUESTS && count(groups, room, &mut left)).then_some(Corner { room })
    }

    /// P(what the idle guests lack < room) at one value of the factor.
    pub fn tail(self, groups: &[Group], chances: &[Chance]) -> f64 {
        let mut weights: Vec<Vec<f64>> = Vec::with_capacity(groups.len());
        for (group, &chance) in groups.iter().zip(chances) {
            // Counts of the busy, whose upper end is the one with all its digits; read from that end.
            let mut busy = vec![0.0; group.guests as usize + 1];
            fill(group.guests, chance, &mut busy);
            busy.reverse();
            weights.push(busy);
        }
        let mut sum = 0.0;
        for weight in &mut weights[0] {
            sum += *weight;
            *weight = sum;
        }
        add_up(groups, &weights, self.room)
    }
}

/// The largest number of idle guests of a group that lack less than the room.
fn most_idle(group: &Group, room: f64) -> u64 {
    (((room / group.extra).ceil() - 1.0).max(0.0) as u64).min(group.guests)
}

/// Counts the combinations of all groups but the smallest off the budget, and says whether it held.
fn count(groups: &[Group], room: f64, left: &mut usize) -> bool {
    let Some((group, inner @ [_, ..])) = groups.split_last() else {
        *left = left.saturating_sub(1);
        return *left > 0;
    };
    (0..=most_idle(group, room)).all(|idle| count(inner, room - idle as f64 * group.extra, left))
}

/// The probability of all combinations in the room; the smallest group's weights are sums already.
fn add_up(groups: &[Group], weights: &[Vec<f64>], room: f64) -> f64 {
    match groups.split_last() {
        Some((group, inner @ [_, ..])) => (0..=most_idle(group, room))
            .map(|idle| {
                let weight = weights[inner.len()][idle as usize];
                if weight > 0.0 {
                    weight * add_up(inner, weights, room - idle as f64 * group.extra)
                } else {
                    0.0
                }
            })
            .sum(),
        Some((group, _)) => weights[0][most_idle(group, room) as usize],
        None => 0.0,
    }
}
