//! Whether the other hosts can take over when some fail.

use super::cluster::{Cluster, Counts, empty, none, subsets};
use super::exhaustive::{Placement, Search, Verdict};
use super::placement::{Order, Rule, ordered, place};

/// Most checks of a host in the exhaustive search for one set of failed hosts.
const MOST_CHECKS: u64 = 2_000;

/// Whether any `spare` of these hosts may fail and the guests of the failed be started on the rest.
///
/// Fewer failures are then survived as well: no remaining host gets more guests than with all `spare` failed.
pub fn survives(cluster: &impl Cluster, counts: &Counts, hosts: &[usize], spare: usize) -> Verdict {
    let mut verdict = Verdict::Survives;
    for failed in failures(hosts, spare) {
        match takes_over(cluster, counts, hosts, &failed) {
            Verdict::Survives => {}
            Verdict::Fails => return Verdict::Fails,
            Verdict::NotFound => verdict = Verdict::NotFound,
        }
    }
    verdict
}

/// Whether it is known that any `spare` of these hosts may fail: for each failure a placement of its guests was found.
pub fn known_to_survive(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    spare: usize,
) -> bool {
    failures(hosts, spare)
        .iter()
        .all(|failed| takes_over(cluster, counts, hosts, failed) == Verdict::Survives)
}

/// Whether the guests of the failed hosts can be started on the others.
fn takes_over(
    cluster: &impl Cluster,
    counts: &Counts,
    hosts: &[usize],
    failed: &[usize],
) -> Verdict {
    let left: Vec<usize> = hosts
        .iter()
        .copied()
        .filter(|host| !failed.contains(host))
        .collect();
    let mut displaced = none(cluster);
    for host in failed {
        for (sum, n) in displaced.iter_mut().zip(&counts[*host]) {
            *sum += n;
        }
    }
    let guests = ordered(cluster, &displaced, Order::Largest);
    let rules = [Rule::Emptiest, Rule::Together, Rule::First, Rule::Fullest];
    let load = |host: usize, moved: &[u64]| load_after(cluster, host, &counts[host], moved);
    if rules
        .iter()
        .any(|rule| place(cluster, &guests, &left, *rule, load).all(|host| host.is_some()))
    {
        return Verdict::Survives;
    }
    // One guest that no host takes even alone is proof enough, however many there are.
    let fits_nowhere = |profile: &usize| {
        let mut moved = none(cluster);
        moved[*profile] = 1;
        left.iter().all(|host| load(*host, &moved).is_none())
    };
    if guests.iter().any(fits_nowhere) {
        return Verdict::Fails;
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
        accepted: |_: &Counts| Verdict::Survives,
    };
    match search.run() {
        Placement::Found(_) => Verdict::Survives,
        Placement::Impossible => Verdict::Fails,
        Placement::Unknown => Verdict::NotFound,
    }
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

/// All sets of hosts that may fail at once.
fn failures(hosts: &[usize], spare: usize) -> Vec<Vec<usize>> {
    let each: Vec<Vec<usize>> = hosts.iter().map(|host| vec![*host]).collect();
    subsets(&each, spare.min(hosts.len()), usize::MAX)
}
