//! Whether the other hosts can take over when some fail.

use super::cluster::{Cluster, Counts, empty, grouped, none, subsets};
use super::exhaustive::{Placement, Search};
use super::placement::{Order, Rule, ordered, place, place_with};

/// Most checks of a host in the exhaustive search for one set of failed hosts.
const MOST_CHECKS: u64 = 2_000;

/// Whether any `spare` of these hosts may fail and the guests of the failed be started on the rest.
///
/// Fewer failures are then survived as well: no remaining host gets more guests than with all `spare` failed.
pub fn survives(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    spare: usize,
) -> Placement<()> {
    let mut all = Placement::Found(());
    for failed in failures(cluster, counts, hosts, spare) {
        if cluster.exhausted() {
            return Placement::Unknown;
        }
        match takes_over(cluster, counts, hosts, &failed) {
            Placement::Found(_) => {}
            Placement::Impossible => return Placement::Impossible,
            Placement::Unknown => all = Placement::Unknown,
        }
    }
    all
}

/// Whether it is known that any `spare` of these hosts may fail: for each failure a placement of its guests was found.
pub fn known_to_survive(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    spare: usize,
) -> bool {
    let mut failures = failures(cluster, counts, hosts, spare).into_iter();
    failures.all(|failed| {
        let moved = || takes_over(cluster, counts, hosts, &failed);
        failed.is_empty() || (!cluster.exhausted() && matches!(moved(), Placement::Found(_)))
    })
}

/// How many guests run on when one of the hosts fails, the one that takes most away: those of the others, and those of the
/// failed one that start there.
pub fn left_after_one(cluster: &impl Cluster, counts: &Counts, hosts: &[usize]) -> u64 {
    let all: u64 = counts.iter().flatten().sum();
    let each = failures(cluster, counts, hosts, 1).into_iter();
    let left = each.filter_map(|failed| {
        if let Placement::Found(_) = takes_over(cluster, counts, hosts, &failed) {
            return Some(all);
        }
        let own = &counts[*failed.first()?];
        let others = hosts.iter().copied();
        let others: Vec<usize> = others.filter(|host| !failed.contains(host)).collect();
        let queue = ordered(cluster, own, Order::Largest);
        let load = |host: usize, moved: &[u64]| load_after(cluster, host, &counts[host], moved);
        let alike = |one, other| same(cluster, counts, one, other);
        let places = place(cluster, &queue, &others, Rule::Emptiest, load, alike);
        Some(all - own.iter().sum::<u64>() + places.flatten().count() as u64)
    });
    left.min().unwrap_or(all)
}

/// Where the guests of the failed hosts can be started on the others: what each of those gets.
pub fn takes_over(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    failed: &[usize],
) -> Placement {
    let left = hosts.iter().copied();
    let left: Vec<usize> = left.filter(|host| !failed.contains(host)).collect();
    let mut displaced = none(cluster);
    for host in failed {
        for (sum, n) in displaced.iter_mut().zip(&counts[*host]) {
            *sum += n;
        }
    }
    let guests = ordered(cluster, &displaced, Order::Largest);
    let rules = [Rule::Emptiest, Rule::Together, Rule::First, Rule::Fullest];
    let load = |host: usize, moved: &[u64]| load_after(cluster, host, &counts[host], moved);
    let alike = |one, other| same(cluster, counts, one, other);
    let mut placed = rules.into_iter();
    if let Some(moved) =
        placed.find_map(|rule| place_with(cluster, &guests, &left, rule, load, alike))
    {
        return Placement::Found(moved);
    }
    // One guest that no host takes even alone is proof enough, however many there are.
    let fits_nowhere = |profile: &usize| {
        let mut moved = none(cluster);
        moved[*profile] = 1;
        left.iter().all(|host| load(*host, &moved).is_none())
    };
    if guests.iter().any(fits_nowhere) {
        return Placement::Impossible;
    }
    let mut checks = MOST_CHECKS;
    let search = Search {
        guests: &guests,
        hosts: &left,
        supplies: Vec::new(),
        counts: empty(cluster),
        checks: &mut checks,
        unsure: false,
        holds: |host, moved: &[u64]| load(host, moved).is_some(),
        kind: |host| host,
        accepted: |_: &Counts| Placement::Found(()),
    };
    search.run()
}

/// The load of a host that took over: the worse of the moment of the restart, when the moved guests are fresh and
/// unmerged, and of later, when they have settled like all others.
fn load_after(cluster: &impl Cluster, host: usize, own: &[u64], moved: &[u64]) -> Option<f64> {
    let settled: Vec<u64> = own
        .iter()
        .zip(moved)
        .map(|(own, moved)| own + moved)
        .collect();
    let at_restart = cluster.load(host, own, moved)?;
    Some(at_restart.max(cluster.load(host, &settled, &[])?))
}

/// Sets of so many hosts that may fail at once; of hosts that are alike in kind and guests it does not matter which.
fn failures(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    spare: usize,
) -> Vec<Vec<usize>> {
    let alike = |one, other| same(cluster, counts, one, other);
    subsets(&grouped(hosts, alike), spare.min(hosts.len()), usize::MAX)
}

/// Whether two hosts are of one kind and hold the same guests.
fn same(cluster: &impl Cluster, counts: &Counts, one: usize, other: usize) -> bool {
    cluster.kind(one) == cluster.kind(other) && counts[one] == counts[other]
}
