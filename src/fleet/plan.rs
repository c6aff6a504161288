//! The best placement that survives failures, over all heuristics and, for few guests, over all placements.

use super::cluster::{Cluster, Counts, empty, together};
use super::exhaustive::{MOST_CHECKS, Placement, exhaustive};
use super::placement::{HEURISTICS, Onto, Order, ordered};
use super::survival::Placed;
use crate::sizing::search::bisected;

/// A placement that survives.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Guests of each profile on each host.
    pub counts: Counts,
    /// Guests placed.
    pub placed: usize,
    /// Whether all placements were tried and none places all guests.
    pub proven: bool,
}

/// The best placement found on these hosts that survives `spare` failures: of all heuristics the one that places most of
/// the highest rank, then of the next, and then leaves most to spare on the fullest host.
pub fn plan(cluster: &impl Cluster, guests: &[u64], hosts: &[usize], spare: usize) -> Plan {
    let total = guests.iter().sum::<u64>() as usize;
    let mut best = Plan {
        counts: empty(cluster),
        placed: 0,
        proven: false,
    };
    let mut best_score = (Vec::new(), f64::NEG_INFINITY);
    let onto = Onto::empty(cluster, hosts);
    for (order, rule) in HEURISTICS {
        if order == Order::Smallest && best.placed == total {
            break;
        }
        let queue = ordered(cluster, guests, order);
        let placed = onto.place(&queue, rule).flatten();
        let found = surviving(cluster, placed.collect(), hosts, spare);
        let score = (
            by_rank(cluster, &found.counts),
            -fullest(cluster, &found.counts),
        );
        // What was not looked at to the end counts only where nothing else is known.
        if score > best_score && (!cluster.exhausted() || best.placed == 0) {
            (best, best_score) = (found, score);
        }
        if cluster.exhausted() {
            break;
        }
    }
    if best.placed < total && !cluster.exhausted() {
        let queue = ordered(cluster, guests, Order::Largest);
        let accepted = |counts: &Counts| {
            let placed = Placed {
                cluster,
                hosts,
                counts,
            };
            placed.survives(spare)
        };
        let mut checks = MOST_CHECKS;
        match exhaustive(cluster, &queue, hosts, &mut checks, accepted) {
            Placement::Found(counts) => {
                best = Plan {
                    counts,
                    placed: total,
                    proven: false,
                }
            }
            Placement::Impossible => best.proven = true,
            Placement::Unknown => {}
        }
    }
    best
}

/// A placement of all guests that survives `spare` failures, by the first heuristic that finds one.
pub fn all_placed(
    cluster: &impl Cluster,
    guests: &[u64],
    hosts: &[usize],
    spare: usize,
) -> Option<Counts> {
    let for_all = |(order, _): &(Order, _)| *order != Order::Smallest && !cluster.exhausted();
    HEURISTICS
        .into_iter()
        .take_while(for_all)
        .find_map(|(order, rule)| {
            let queue = ordered(cluster, guests, order);
            let counts = Onto::empty(cluster, hosts).place_all(&queue, rule)?;
            let placed = Placed {
                cluster,
                hosts,
                counts: &counts,
            };
            placed.is_known_to_survive(spare).then_some(counts)
        })
}

/// How many guests are placed of each rank, the highest first: what is left out is the least important.
fn by_rank(cluster: &impl Cluster, counts: &Counts) -> Vec<u64> {
    let mut profiles: Vec<usize> = (0..cluster.profiles()).collect();
    profiles.sort_by(|one, other| cluster.rank(*other).total_cmp(&cluster.rank(*one)));
    let alike = |one: &usize, other: &usize| cluster.rank(*one) == cluster.rank(*other);
    let placed = together(cluster, counts);
    let ranks = profiles.chunk_by(alike);
    ranks
        .map(|rank| rank.iter().map(|profile| placed[*profile]).sum())
        .collect()
}

/// The placed guests, each a profile and its host, without those with which `spare` failures are not survived.
///
/// The longest prefix that survives is found by bisection; the guest after it and all others of its profile are taken
/// out, and so on with the rest: there may still be room for smaller guests.
fn surviving(
    cluster: &impl Cluster,
    mut kept: Vec<(usize, usize)>,
    hosts: &[usize],
    spare: usize,
) -> Plan {
    let of = |guests: &[(usize, usize)]| {
        let mut counts = empty(cluster);
        for (profile, host) in guests {
            counts[*host][*profile] += 1;
        }
        counts
    };
    let holds = |guests: &[(usize, usize)]| {
        let counts = &of(guests);
        let placed = Placed {
            cluster,
            hosts,
            counts,
        };
        placed.is_known_to_survive(spare)
    };
    let mut inside = 0;
    // What is not known to survive where the search is exhausted is placed, which is said.
    while !holds(&kept) && !cluster.exhausted() {
        let longest = bisected(inside as u64, kept.len() as u64, |n| {
            holds(&kept[..n as usize])
        });
        inside = longest as usize;
        let rest = kept.split_off(inside);
        let (out, _) = rest[0];
        kept.extend(rest.into_iter().filter(|(profile, _)| *profile != out));
    }
    Plan {
        counts: of(&kept),
        placed: kept.len(),
        proven: false,
    }
}

/// The load of the fullest host.
fn fullest(cluster: &impl Cluster, counts: &Counts) -> f64 {
    let loads = counts.iter().enumerate();
    loads
        .map(|(host, own)| cluster.load(host, own, &[]).unwrap_or(f64::INFINITY))
        .fold(0.0, f64::max)
}
