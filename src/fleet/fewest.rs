//! The fewest hosts that hold the guests: a lower bound, and a number that a placement was found on.

use super::bounds::Bound;
use super::cluster::{Cluster, Counts, by_kind, subsets, used};
use super::exhaustive::{MOST_CHECKS, Placement, exhaustive};
use super::placement::{Order, ordered};
use super::plan::{Plan, all_placed};
use super::survival::Placed;

/// A lower bound on the number of hosts, and the fewest that a placement was found on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fewest {
    /// No placement needs fewer; none where a guest fits on no host.
    pub at_least: Option<usize>,
    /// A placement of all guests was found on so many.
    pub found: Option<usize>,
    /// That placement, where it is not the plan itself.
    pub counts: Option<Counts>,
}

/// Most checks for one set of hosts, so that one set does not use up those of all.
pub(super) const CHECKS_OF_A_SET: u64 = 25_000;
/// Guests times hosts times failures that the heuristics look at for what one check of a host costs.
const CHECKED_BY_HEURISTICS: u64 = 100;
/// Most sets that are judged for one number of hosts.
const MOST_SETS: usize = 300;

/// The fewest of these hosts that suffice, and how many do not.
///
/// Number by number from the bound upwards every set of hosts is judged (of sets that differ in names only, one): by the
/// bounds, with `spare` hosts failed where that is asked for; by the heuristics; and by exhaustive search while checks
/// last. A number of which every set is proven too small raises the lower bound; the first number with a set that
/// suffices is the answer.
pub fn fewest(
    cluster: &impl Cluster,
    guests: &[u64],
    hosts: &[usize],
    spare: usize,
    plan: &Plan,
) -> Fewest {
    let bound = Bound::new(cluster, hosts, guests);
    let mut found = Fewest {
        at_least: bound.least(hosts, spare),
        found: None,
        counts: None,
    };
    let Some(start) = found.at_least else {
        return found;
    };
    let complete = plan.placed >= guests.iter().sum::<u64>() as usize;
    found.found = complete.then(|| needed(&plan.counts, hosts, spare));
    let mut checks = MOST_CHECKS;
    let most = found.found.unwrap_or(hosts.len());
    let mut certain = true;
    for number in start.max(spare + 1)..most {
        let (sets, all_of_them) = sets(cluster, hosts, number);
        let mut impossible = all_of_them;
        for set in &sets {
            if checks == 0 || cluster.exhausted() {
                return found;
            }
            let own = checks.min(CHECKS_OF_A_SET);
            let mut left = own;
            let judged = judge(cluster, &bound, guests, set, spare, &mut left);
            checks -= own - left;
            match judged {
                Placement::Found(counts) => {
                    found.found = Some(number);
                    found.counts = Some(counts);
                    return found;
                }
                Placement::Impossible => {}
                Placement::Unknown => impossible = false,
            }
        }
        certain &= impossible;
        if certain {
            found.at_least = Some(number + 1);
        }
    }
    found
}

/// How many hosts a placement needs: those with guests, or all where some must be up though empty.
pub(super) fn needed(counts: &Counts, hosts: &[usize], spare: usize) -> usize {
    match spare {
        0 => used(counts),
        _ => hosts.len(),
    }
}

/// Whether a set of hosts holds the guests so that `spare` of them may fail.
pub(super) fn judge<C: Cluster>(
    cluster: &C,
    bound: &Bound<C>,
    guests: &[u64],
    hosts: &[usize],
    spare: usize,
    checks: &mut u64,
) -> Placement {
    // Whatever fails, the rest must hold everything once it has settled.
    let (rests, _) = sets(cluster, hosts, hosts.len() - spare);
    if rests.iter().any(|rest| bound.cannot_hold(rest)) {
        return Placement::Impossible;
    }
    let heuristics = guests.iter().sum::<u64>() * hosts.len() as u64 * rests.len() as u64;
    *checks = checks.saturating_sub(heuristics / CHECKED_BY_HEURISTICS);
    if let Some(counts) = all_placed(cluster, guests, hosts, spare) {
        return Placement::Found(counts);
    }
    let queue = ordered(cluster, guests, Order::Largest);
    if spare > 0 {
        for rest in &rests {
            let held = exhaustive(cluster, &queue, rest, checks, |_| Placement::Found(()));
            if held == Placement::Impossible {
                return held;
            }
        }
    }
    exhaustive(cluster, &queue, hosts, checks, |counts| {
        let placed = Placed {
            cluster,
            hosts,
            counts,
        };
        placed.survives(spare)
    })
}

/// Sets of so many hosts (of sets that differ in names only, one), those of the first hosts first, and whether these are
/// all.
fn sets(cluster: &impl Cluster, hosts: &[usize], number: usize) -> (Vec<Vec<usize>>, bool) {
    let mut all = subsets(&by_kind(cluster, hosts), number, MOST_SETS);
    let complete = all.len() <= MOST_SETS;
    all.truncate(MOST_SETS);
    (all, complete)
}
