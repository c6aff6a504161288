//! The best placement that survives failures, over all rules of thumb and, for few guests, over all ways.

use super::bound::Bound;
use super::exact::{self, Exact};
use super::place::{self, MOST_PLACED, Order, WAYS, ordered, place, used};
use super::room::{self, Counts, Room, none};
use super::survive::{Verdict, known_to_survive, survives};

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
    for (order, rule) in WAYS.into_iter().chain(MOST_PLACED) {
        let further = order == Order::Smallest;
        if further && best.as_ref().is_some_and(|(kept, _)| kept.placed == total) {
            break;
        }
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
        let queue = ordered(room, guests, Order::Largest);
        let accepted = |counts: &Counts| survives(room, counts, hosts, spare);
        let mut looks = exact::MOST_LOOKS;
        match exact::exact(room, &queue, hosts, &mut looks, accepted) {
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
    let holds = |guests: &[(usize, usize)]| known_to_survive(room, &of(guests), hosts, spare);
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

/// The least number of hosts that no placement can do without, and the fewest that one was found on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fewest {
    /// No placement needs fewer; none where a guest fits on no host.
    pub at_least: Option<usize>,
    /// A placement of all guests was found on so many.
    pub found: Option<usize>,
    /// That placement, where it is not the plan itself.
    pub counts: Option<Counts>,
}

/// Most looks for one set of hosts, so that one set does not take those of all.
const LOOKS_OF_A_SET: u64 = 25_000;
/// Most sets of hosts, equal ones counted once, that are looked at for one number of hosts.
const MOST_SETS: usize = 300;

/// How few of these hosts do, and how few cannot.
///
/// Number by number from the bound upwards every set of hosts (of equal ones one) is judged: by the bounds, with `spare`
/// hosts failed where that is asked for; by the rules of thumb; and by trying every way while looks last. A number of
/// which every set is certain not to do raises the lower bound; the first of which one does is the answer.
#[must_use]
pub fn fewest(
    room: &impl Room,
    guests: &[u64],
    hosts: &[usize],
    spare: usize,
    plan: &Plan,
) -> Fewest {
    let bound = Bound::new(room, hosts, guests);
    let mut found = Fewest {
        at_least: bound.least(hosts, spare),
        found: None,
        counts: None,
    };
    let Some(start) = found.at_least else {
        return found;
    };
    let complete = plan.placed >= guests.iter().sum::<u64>() as usize;
    if complete {
        // Hosts that must be up though empty are needed too.
        found.found = Some(match spare {
            0 => used(&plan.counts),
            _ => hosts.len(),
        });
    }
    let mut looks = exact::MOST_LOOKS;
    let most = found.found.unwrap_or(hosts.len());
    let mut certain = true;
    for number in start.max(spare + 1)..most {
        let (sets, all_of_them) = sets(room, hosts, number);
        let mut impossible = all_of_them;
        for set in &sets {
            let own = looks.min(LOOKS_OF_A_SET);
            let mut left = own;
            let judged = judge(room, &bound, guests, set, spare, &mut left);
            looks -= own - left;
            match judged {
                Exact::Found(counts) => {
                    found.found = Some(number);
                    found.counts = Some(counts);
                    return found;
                }
                Exact::Impossible => {}
                Exact::Unknown => impossible = false,
            }
        }
        certain &= impossible;
        if certain {
            found.at_least = Some(number + 1);
        }
    }
    found
}

/// Whether a set of hosts holds the guests so that `spare` of them may fail.
fn judge<R: Room>(
    room: &R,
    bound: &Bound<R>,
    guests: &[u64],
    hosts: &[usize],
    spare: usize,
    looks: &mut u64,
) -> Exact {
    // Whatever fails, the rest must hold everything once it has settled.
    let (rests, _) = sets(room, hosts, hosts.len() - spare);
    if rests.iter().any(|rest| bound.cannot_hold(rest)) {
        return Exact::Impossible;
    }
    for (order, rule) in WAYS {
        let queue = ordered(room, guests, order);
        let places = place(room, &queue, hosts, rule);
        let counts = place::counts(room, &queue, &places);
        if places.iter().all(Option::is_some) && known_to_survive(room, &counts, hosts, spare) {
            return Exact::Found(counts);
        }
    }
    let queue = ordered(room, guests, Order::Largest);
    if spare > 0 {
        for rest in &rests {
            let held = exact::exact(room, &queue, rest, looks, |_| Verdict::Survives);
            if held == Exact::Impossible {
                return held;
            }
        }
    }
    exact::exact(room, &queue, hosts, looks, |counts| {
        survives(room, counts, hosts, spare)
    })
}

/// Sets of so many hosts, equal ones once, those of the first hosts first, and whether these are all.
fn sets(room: &impl Room, hosts: &[usize], number: usize) -> (Vec<Vec<usize>>, bool) {
    let mut kinds: Vec<Vec<usize>> = Vec::new();
    for host in hosts {
        match kinds
            .iter_mut()
            .find(|alike| room.kind(alike[0]) == room.kind(*host))
        {
            Some(alike) => alike.push(*host),
            None => kinds.push(vec![*host]),
        }
    }
    let mut all = Vec::new();
    choose_from(&kinds, number, &mut Vec::new(), &mut all);
    let complete = all.len() <= MOST_SETS;
    all.truncate(MOST_SETS);
    (all, complete)
}

fn choose_from(
    kinds: &[Vec<usize>],
    number: usize,
    chosen: &mut Vec<usize>,
    all: &mut Vec<Vec<usize>>,
) {
    if all.len() > MOST_SETS {
        return;
    }
    let Some((alike, rest)) = kinds.split_first() else {
        if number == 0 {
            all.push(chosen.clone());
        }
        return;
    };
    let others: usize = rest.iter().map(Vec::len).sum();
    for taken in (number.saturating_sub(others)..=alike.len().min(number)).rev() {
        let before = chosen.len();
        chosen.extend(&alike[..taken]);
        choose_from(rest, number - taken, chosen, all);
        chosen.truncate(before);
    }
}
