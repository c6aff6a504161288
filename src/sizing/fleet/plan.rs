//! The best placement that survives failures, over all rules of thumb and, for few guests, over all ways.

use super::exact::{self, Exact};
use super::place::{self, WAYS, ordered, place, used};
use super::room::{self, Counts, Room, none};
use super::survive::survives;

/// A placement that survives.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Guests of each profile on each host.
    pub counts: Counts,
    /// Guests placed.
    pub placed: usize,
    /// Whether every way was tried and none places all.
    pub proven: bool,
}

/// The best placement found on these hosts that survives `spare` failures.
#[must_use]
pub fn plan(room: &impl Room, guests: &[u64], hosts: &[usize], spare: usize) -> Plan {
    let total = guests.iter().sum::<u64>() as usize;
    let mut best: Option<(Plan, f64)> = None;
    for (order, rule) in WAYS {
        let queue = ordered(room, guests, order);
        let places = place(room, &queue, hosts, rule);
        let found = surviving(room, &queue, &places, hosts, spare);
        let fullest = fullest(room, &found.counts);
        let better = best
            .as_ref()
            .is_none_or(|(kept, load)| (found.placed, -fullest) > (kept.placed, -load));
        if better {
            best = Some((found, fullest));
        }
    }
    let mut best = best.map_or_else(
        || Plan {
            counts: room::empty(room),
            placed: 0,
            proven: false,
        },
        |(plan, _)| plan,
    );
    if best.placed < total {
        let queue = ordered(room, guests, place::Order::Largest);
        let accepted = |counts: &Counts| survives(room, counts, hosts, spare).is_ok();
        match exact::exact(room, &queue, hosts, accepted) {
            Exact::Found(counts) => {
                best = Plan {
                    counts,
                    placed: total,
                    proven: false,
                }
            }
            Exact::Impossible => best.proven = true,
            Exact::Unknown => {}
        }
    }
    best
}

/// The placed guests less those with which `spare` failures are not survived.
///
/// The longest beginning that survives is found by halving; the guest after it and all others of its profile are taken
/// out, and so on with the rest: smaller guests may still have room.
fn surviving(
    room: &impl Room,
    queue: &[usize],
    places: &[Option<usize>],
    hosts: &[usize],
    spare: usize,
) -> Plan {
    let mut kept: Vec<(usize, usize)> = queue
        .iter()
        .zip(places)
        .filter_map(|(profile, place)| place.map(|host| (*profile, host)))
        .collect();
    let of = |guests: &[(usize, usize)]| {
        let mut counts = room::empty(room);
        for (profile, host) in guests {
            counts[*host][*profile] += 1;
        }
        counts
    };
    let holds = |guests: &[(usize, usize)]| survives(room, &of(guests), hosts, spare).is_ok();
    let mut inside = 0;
    while !holds(&kept) {
        let mut outside = kept.len();
        while outside - inside > 1 {
            let middle = inside + (outside - inside) / 2;
            if holds(&kept[..middle]) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        let (out, _) = kept[inside];
        let mut place = 0;
        kept.retain(|(profile, _)| {
            place += 1;
            place <= inside || *profile != out
        });
    }
    Plan {
        counts: of(&kept),
        placed: kept.len(),
        proven: false,
    }
}

/// The load of the fullest host.
fn fullest(room: &impl Room, counts: &Counts) -> f64 {
    let nobody = none(room);
    let loads = counts.iter().enumerate();
    loads
        .map(|(host, own)| room.load(host, own, &nobody).unwrap_or(f64::INFINITY))
        .fold(0.0, f64::max)
}

/// The fewest of these hosts, taken from the front, that all guests were placed on; none where `plan`, which is of all
/// of them, leaves some over.
#[must_use]
pub fn fewest(
    room: &impl Room,
    guests: &[u64],
    hosts: &[usize],
    (at_least, spare): (usize, usize),
    plan: &Plan,
) -> Option<usize> {
    if plan.placed < guests.iter().sum::<u64>() as usize {
        return None;
    }
    let found = (at_least.max(spare + 1)..hosts.len())
        .find(|number| holds_all(room, guests, &hosts[..*number], spare));
    // Hosts that must be up though empty are needed too, so without a smaller set it is all of them.
    found.or(Some(match spare {
        0 => used(&plan.counts),
        _ => hosts.len(),
    }))
}

/// Whether a placement of all guests is found that survives.
fn holds_all(room: &impl Room, guests: &[u64], hosts: &[usize], spare: usize) -> bool {
    let accepted = |counts: &Counts| survives(room, counts, hosts, spare).is_ok();
    let by_rule = WAYS.iter().any(|(order, rule)| {
        let queue = ordered(room, guests, *order);
        let places = place(room, &queue, hosts, *rule);
        places.iter().all(Option::is_some) && accepted(&place::counts(room, &queue, &places))
    });
    by_rule || {
        let queue = ordered(room, guests, place::Order::Largest);
        matches!(exact::exact(room, &queue, hosts, accepted), Exact::Found(_))
    }
}
