//! Whether the other hosts can take over when some fail.

use super::cluster::{Cluster, Counts, empty, none, subsets};
use super::placement::{Order, Rule, ordered, place_by};

/// Whether failures are survived.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The guests of the failed hosts can be started on the others.
    Survives,
    /// They cannot, in no way.
    Fails,
    /// No way was found, and not all were tried.
    NotFound,
}

/// Whether any `spare` of these hosts may fail and the guests of the failed be started on the rest.
///
/// Fewer failures are survived then as well: each remaining host gets no more than with all of them.
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

/// Whether any `spare` of these hosts may fail, as far as a way was found for each: what a placement is taken for.
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
        .any(|rule| place_by(cluster, &guests, &left, *rule, load).all(|host| host.is_some()))
    {
        return Verdict::Survives;
    }
    // A guest that no host takes alone settles it, however many there are.
    let fits_nowhere = |profile: &usize| {
        let mut moved = none(cluster);
        moved[*profile] = 1;
        left.iter().all(|host| load(*host, &moved).is_none())
    };
    if guests.iter().any(fits_nowhere) {
        return Verdict::Fails;
    }
    let mut checks = MOST_CHECKS;
    match try_from(
        cluster,
        counts,
        &guests,
        &left,
        &mut empty(cluster),
        0,
        &mut checks,
    ) {
        Some(true) => Verdict::Survives,
        Some(false) => Verdict::Fails,
        None => Verdict::NotFound,
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

/// Most checks of a host before giving up on trying every way.
const MOST_CHECKS: u32 = 2_000;

/// The same by trying every way; none if it was given up.
fn try_from(
    cluster: &impl Cluster,
    counts: &Counts,
    guests: &[usize],
    left: &[usize],
    moved: &mut Counts,
    lowest: usize,
    checks: &mut u32,
) -> Option<bool> {
    let Some((&profile, rest)) = guests.split_first() else {
        return Some(true);
    };
    let alike = rest.first() == Some(&profile);
    for index in lowest..left.len() {
        *checks = checks.checked_sub(1)?;
        let host = left[index];
        moved[host][profile] += 1;
        let from = if alike { index } else { 0 };
        if load_after(cluster, host, &counts[host], &moved[host]).is_some()
            && try_from(cluster, counts, rest, left, moved, from, checks)?
        {
            return Some(true);
        }
        moved[host][profile] -= 1;
    }
    Some(false)
}

/// All sets of hosts that may fail at once.
fn failures(hosts: &[usize], spare: usize) -> Vec<Vec<usize>> {
    let each: Vec<Vec<usize>> = hosts.iter().map(|host| vec![*host]).collect();
    subsets(&each, spare.min(hosts.len()), usize::MAX)
}
