//! Placing all guests by trying every way, for small sets.

use super::bounds::{Bound, Row};
use super::cluster::{Cluster, Counts, empty, none};
use super::survival::Verdict;

/// Most guests that are tried in every way.
pub const MOST_GUESTS: usize = 60;
/// Checks of a host before giving up, where nothing else is asked for.
pub const MOST_CHECKS: u64 = 100_000;

/// Rounding of sums that go up and down again, as a share of the whole.
const ROUNDING: f64 = 1e-7;
/// What judging a whole placement counts as, in checks.
const JUDGED: u64 = 200;

/// What trying every way found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// A placement of all guests.
    Found(Counts),
    /// There is none.
    Impossible,
    /// It was given up, or a placement was met of which it is not known whether it may be accepted.
    Unknown,
}

/// Places all guests (a profile each; equal ones next to each other) on hosts so that `accepted` says that it survives.
///
/// Branch and bound, depth first, with what is equal tried once: guests of a profile go to hosts in ascending order, and
/// of several empty hosts of one kind only the first is tried. A branch ends where the guests left take more of a
/// resource than the hosts have left, hosts on which none of them fits any more not counted. `checks` counts down over
/// several calls.
pub fn exhaustive<C: Cluster>(
    cluster: &C,
    guests: &[usize],
    hosts: &[usize],
    checks: &mut u64,
    accepted: impl FnMut(&Counts) -> Verdict,
) -> Outcome {
    if guests.len() > MOST_GUESTS {
        return Outcome::Unknown;
    }
    let mut numbers = none(cluster);
    for profile in guests {
        numbers[*profile] += 1;
    }
    let bound = Bound::new(cluster, hosts, &numbers);
    if bound.cannot_hold(hosts) {
        return Outcome::Impossible;
    }
    let rows = bound.by_size(hosts).into_iter();
    let mut search = Search {
        cluster,
        guests,
        hosts,
        supplies: rows.map(|row| Supply::new(row, guests)).collect(),
        counts: empty(cluster),
        checks,
        unsure: false,
        accepted,
    };
    match search.from(0, 0) {
        Some(true) => Outcome::Found(search.counts),
        Some(false) if !search.unsure => Outcome::Impossible,
        Some(false) | None => Outcome::Unknown,
    }
}

/// What is left of one resource while guests are placed.
struct Supply {
    row: Row,
    /// What each host has left.
    free: Vec<f64>,
    /// The smallest size of the guests from each one on, by host and guest.
    smallest: Vec<Vec<f64>>,
    /// What the guests not placed yet take at least.
    needed: f64,
}

impl Supply {
    fn new(row: Row, guests: &[usize]) -> Supply {
        let on = row.on.iter();
        Supply {
            free: row.each.clone(),
            smallest: on.map(|sizes| smallest_of_rest(sizes, guests)).collect(),
            needed: guests.iter().map(|profile| row.least[*profile]).sum(),
            row,
        }
    }

    /// Counts a guest as placed, or with −1 as not placed any more.
    fn take(&mut self, index: usize, profile: usize, times: f64) {
        self.free[index] -= times * self.row.on[index][profile];
        self.needed -= times * self.row.least[profile];
    }

    /// Whether what is free may still do for the guests from this one on.
    fn may_do(&self, guest: usize) -> bool {
        let slack = ROUNDING * self.row.all;
        let each = self.free.iter().zip(&self.smallest);
        let free: f64 = each
            .filter(|(free, smallest)| **free + slack >= smallest[guest])
            .map(|(free, _)| free)
            .sum();
        self.needed <= free + slack
    }
}

struct Search<'a, C, A> {
    cluster: &'a C,
    guests: &'a [usize],
    hosts: &'a [usize],
    supplies: Vec<Supply>,
    counts: Counts,
    checks: &'a mut u64,
    unsure: bool,
    accepted: A,
}

impl<C: Cluster, A: FnMut(&Counts) -> Verdict> Search<'_, C, A> {
    /// Whether the guests from this one on can be placed, `lowest` being the first host for one like the last; none if
    /// it was given up.
    fn from(&mut self, guest: usize, lowest: usize) -> Option<bool> {
        let Some(&profile) = self.guests.get(guest) else {
            let verdict = (self.accepted)(&self.counts);
            *self.checks = self.checks.saturating_sub(JUDGED);
            self.unsure |= verdict == Verdict::NotFound;
            return Some(verdict == Verdict::Survives);
        };
        let next_is_alike = self.guests.get(guest + 1) == Some(&profile);
        let mut empty_kinds = Vec::new();
        for index in lowest..self.hosts.len() {
            let host = self.hosts[index];
            if self.counts[host].iter().all(|n| *n == 0) {
                if empty_kinds.contains(&self.cluster.kind(host)) {
                    continue;
                }
                empty_kinds.push(self.cluster.kind(host));
            }
            *self.checks = self.checks.checked_sub(1)?;
            self.counts[host][profile] += 1;
            let held = self.cluster.load(host, &self.counts[host], &[]).is_some();
            if held {
                self.take(index, profile, 1.0);
                let next = if next_is_alike { index } else { 0 };
                let may_do = self.supplies.iter().all(|one| one.may_do(guest + 1));
                if may_do && self.from(guest + 1, next)? {
                    return Some(true);
                }
                self.take(index, profile, -1.0);
            }
            self.counts[host][profile] -= 1;
        }
        Some(false)
    }

    fn take(&mut self, index: usize, profile: usize, times: f64) {
        for supply in &mut self.supplies {
            supply.take(index, profile, times);
        }
    }
}

/// The smallest size of the guests from each one on, on one host; 0 past the last, so that what is left then counts.
fn smallest_of_rest(sizes: &[f64], guests: &[usize]) -> Vec<f64> {
    let mut smallest = vec![0.0; guests.len() + 1];
    let mut least = f64::INFINITY;
    for (place, profile) in guests.iter().enumerate().rev() {
        least = least.min(sizes[*profile]);
        smallest[place] = least;
    }
    smallest
}
