//! Whether the other hosts can take over when some fail.

use super::cluster::{Cluster, Counts, empty, grouped, none, subsets, together};
use super::exhaustive::{Placement, Search};
use super::placement::{Onto, Order, Rule, ordered};

/// Most checks of a host in the exhaustive search for one set of failed hosts.
const MOST_CHECKS: u64 = 2_000;

/// Guests placed on some of the hosts.
#[derive(Debug)]
pub struct Placed<'a, C> {
    /// Hosts and guests.
    pub cluster: &'a C,
    /// Those of the hosts that may have guests.
    pub hosts: &'a [usize],
    /// Guests of each profile on each host.
    pub counts: &'a Counts,
}

impl<C: Cluster> Placed<'_, C> {
    /// Whether any `spare` of the hosts may fail and the guests of the failed be started on the rest.
    ///
    /// Fewer failures are then survived as well: no remaining host gets more guests than with all `spare` failed.
    pub fn survives(&self, spare: usize) -> Placement<()> {
        let mut all = Placement::Found(());
        for failed in self.failures(spare) {
            if self.cluster.exhausted() {
                return Placement::Unknown;
            }
            match self.takes_over(&failed) {
                Placement::Found(_) => {}
                Placement::Impossible => return Placement::Impossible,
                Placement::Unknown => all = Placement::Unknown,
            }
        }
        all
    }

    /// Whether it is known that any `spare` of the hosts may fail: for each failure a placement of its guests was found.
    pub fn is_known_to_survive(&self, spare: usize) -> bool {
        self.failures(spare).iter().all(|failed| {
            let moved = || self.takes_over(failed);
            failed.is_empty()
                || (!self.cluster.exhausted() && matches!(moved(), Placement::Found(_)))
        })
    }

    /// How many guests run on when one of the hosts fails, the one that takes most away: those of the others, and those
    /// of the failed one that start there.
    pub fn left_after_one(&self) -> u64 {
        let all: u64 = self.counts.iter().flatten().sum();
        let left = self.failures(1).into_iter().filter_map(|failed| {
            if let Placement::Found(_) = self.takes_over(&failed) {
                return Some(all);
            }
            let own = &self.counts[*failed.first()?];
            let queue = ordered(self.cluster, own, Order::Largest);
            let others = self.others(&failed);
            let started = self
                .onto(&others)
                .place(&queue, Rule::Emptiest)
                .flatten()
                .count();
            Some(all - own.iter().sum::<u64>() + started as u64)
        });
        left.min().unwrap_or(all)
    }

    /// Where the guests of the failed hosts can be started on the others: what each of those gets.
    pub fn takes_over(&self, failed: &[usize]) -> Placement {
        let cluster = self.cluster;
        let displaced = together(cluster, failed.iter().map(|host| &self.counts[*host]));
        let guests = ordered(cluster, &displaced, Order::Largest);
        let others = self.others(failed);
        let onto = self.onto(&others);
        let rules = [Rule::Emptiest, Rule::Together, Rule::First, Rule::Fullest];
        let mut placed = rules.into_iter().map(|rule| onto.place_all(&guests, rule));
        if let Some(moved) = placed.find_map(|moved| moved) {
            return Placement::Found(moved);
        }
        // One guest that no host takes even alone is proof enough, however many there are.
        let fits_nowhere = |profile: &usize| {
            let mut moved = none(cluster);
            moved[*profile] = 1;
            others.iter().all(|host| onto.load(*host, &moved).is_none())
        };
        if guests.iter().any(fits_nowhere) {
            return Placement::Impossible;
        }
        let mut checks = MOST_CHECKS;
        let search = Search {
            guests: &guests,
            onto,
            supplies: Vec::new(),
            counts: empty(cluster),
            checks: &mut checks,
            unsure: false,
            accepted: |_: &Counts| Placement::Found(()),
        };
        search.run()
    }

    /// The hosts that have not failed.
    fn others(&self, failed: &[usize]) -> Vec<usize> {
        let hosts = self.hosts.iter().copied();
        hosts.filter(|host| !failed.contains(host)).collect()
    }

    /// Onto some of the hosts, beside the guests that are there.
    fn onto<'h>(&'h self, hosts: &'h [usize]) -> Onto<'h, C> {
        Onto {
            cluster: self.cluster,
            hosts,
            staying: Some(self.counts),
        }
    }

    /// Sets of so many hosts that may fail at once; of hosts that are alike in kind and guests it does not matter which.
    fn failures(&self, spare: usize) -> Vec<Vec<usize>> {
        let onto = self.onto(self.hosts);
        let groups = grouped(self.hosts, |one, other| onto.alike(one, other));
        subsets(&groups, spare.min(self.hosts.len()), usize::MAX)
    }
}
