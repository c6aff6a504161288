//! Exhaustive search for a placement of all guests, for small sets.

use super::bounds::{Bound, Row};
use super::cluster::{Cluster, Counts, empty, none};
use super::placement::Onto;

/// Most guests that are searched for exhaustively.
pub const MOST_GUESTS: usize = 60;
/// Checks of a host before giving up, where the caller has no limit of its own.
pub const MOST_CHECKS: u64 = 100_000;

/// Rounding error of sums that are added to and subtracted from, as a share of the whole.
const ROUNDING: f64 = 1e-7;
/// What judging a complete placement costs, in checks.
const JUDGED: u64 = 200;

/// Whether all guests can be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Placement<T = Counts> {
    /// They can, in this way.
    Found(T),
    /// There is no way.
    Impossible,
    /// It was given up, or a placement was found of which it is not known whether it survives.
    Unknown,
}

/// Places all guests (a profile each; equal ones next to each other) on hosts so that `accepted` says that failures are
/// survived.
///
/// Branch and bound, depth first, with equal choices tried once: guests of a profile go to hosts in ascending order, and
/// of several empty hosts of one kind only the first is tried. A branch ends where the remaining guests take more of a
/// resource than the hosts have left (without hosts on which none of them fits any more). `checks` counts down over
/// several calls.
pub fn exhaustive<C: Cluster>(
    cluster: &C,
    guests: &[usize],
    hosts: &[usize],
    checks: &mut u64,
    accepted: impl FnMut(&Counts) -> Placement<()>,
) -> Placement {
    if guests.len() > MOST_GUESTS {
        return Placement::Unknown;
    }
    let mut numbers = none(cluster);
    for profile in guests {
        numbers[*profile] += 1;
    }
    let bound = Bound::new(cluster, hosts, &numbers);
    if bound.cannot_hold(hosts) {
        return Placement::Impossible;
    }
    let rows = bound.by_size(hosts).into_iter();
    let search = Search {
        guests,
        onto: Onto::empty(cluster, hosts),
        supplies: rows.map(|row| Supply::new(row, guests)).collect(),
        counts: empty(cluster),
        checks,
        unsure: false,
        accepted,
    };
    search.run()
}

/// What is left of one resource while guests are placed.
pub(super) struct Supply {
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

    /// Counts a guest as placed, or with `times` −1 as no longer placed.
    fn take(&mut self, index: usize, profile: usize, times: f64) {
        self.free[index] -= times * self.row.on[index][profile];
        self.needed -= times * self.row.least[profile];
    }

    /// Whether what is free may suffice for the guests from this one on.
    fn may_suffice(&self, guest: usize) -> bool {
        let slack = ROUNDING * self.row.all;
        let each = self.free.iter().zip(&self.smallest);
        let free: f64 = each
            .filter(|(free, smallest)| **free + slack >= smallest[guest])
            .map(|(free, _)| free)
            .sum();
        self.needed <= free + slack
    }
}

/// An exhaustive search.
pub(super) struct Search<'a, C, A> {
    /// A profile each; equal ones next to each other.
    pub guests: &'a [usize],
    pub onto: Onto<'a, C>,
    /// What the guests take at least of the hosts.
    pub supplies: Vec<Supply>,
    /// No guest on any host.
    pub counts: Counts,
    /// Checks of a host that may still be made.
    pub checks: &'a mut u64,
    /// Whether a placement was found of which it is not known whether it survives.
    pub unsure: bool,
    pub accepted: A,
}

impl<C: Cluster, A: FnMut(&Counts) -> Placement<()>> Search<'_, C, A> {
    pub fn run(mut self) -> Placement {
        match self.from(0, 0) {
            Some(true) => Placement::Found(self.counts),
            Some(false) if !self.unsure => Placement::Impossible,
            Some(false) | None => Placement::Unknown,
        }
    }

    /// Whether the guests from this one on can be placed, `lowest` being the first host for one like the last; none if
    /// it was given up.
    fn from(&mut self, guest: usize, lowest: usize) -> Option<bool> {
        let Some(&profile) = self.guests.get(guest) else {
            let accepted = (self.accepted)(&self.counts);
            *self.checks = self.checks.saturating_sub(JUDGED);
            self.unsure |= accepted == Placement::Unknown;
            return Some(accepted == Placement::Found(()));
        };
        let next_is_alike = self.guests.get(guest + 1) == Some(&profile);
        let mut empty_kinds = Vec::new();
        for index in lowest..self.onto.hosts.len() {
            let host = self.onto.hosts[index];
            // Of empty hosts of one kind only the first is tried.
            if self.onto.staying.is_none() && self.counts[host].iter().all(|n| *n == 0) {
                let kind = self.onto.cluster.kind(host);
                if empty_kinds.contains(&kind) {
                    continue;
                }
                empty_kinds.push(kind);
            }
            *self.checks = self.checks.checked_sub(1)?;
            self.counts[host][profile] += 1;
            if self.onto.load(host, &self.counts[host]).is_some() {
                self.take(index, profile, 1.0);
                let next = if next_is_alike { index } else { 0 };
                let may_suffice = self.supplies.iter().all(|one| one.may_suffice(guest + 1));
                if may_suffice && self.from(guest + 1, next)? {
                    return Some(true);
                }
                self.take(index, profile, -1.0);
            }
            self.counts[host][profile] -= 1;
        }
        Some(false)
    }

    /// [`Supply::take`] of every resource.
    fn take(&mut self, index: usize, profile: usize, times: f64) {
        for supply in &mut self.supplies {
            supply.take(index, profile, times);
        }
    }
}

/// The smallest size of the guests from each one on, on one host; 0 past the last, so that all that is free counts then.
fn smallest_of_rest(sizes: &[f64], guests: &[usize]) -> Vec<f64> {
    let mut smallest = vec![0.0; guests.len() + 1];
    let mut least = f64::INFINITY;
    for (place, profile) in guests.iter().enumerate().rev() {
        least = least.min(sizes[*profile]);
        smallest[place] = least;
    }
    smallest
}
