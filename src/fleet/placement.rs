//! Placing guests one after another by a heuristic.

use super::cluster::{Cluster, Counts, empty};

/// In which order guests are placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// By their largest component, largest first.
    Largest,
    /// By their largest component, smallest first.
    Smallest,
    /// Guests that share an image one after another, the family with the largest sum first.
    Family,
}

/// Which of the hosts that hold it a guest is placed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// The first.
    First,
    /// The fullest afterwards.
    Fullest,
    /// The emptiest afterwards.
    Emptiest,
    /// The one with most guests of its family, then the emptiest.
    Together,
}

/// The heuristics: orders with rules, the emptiest host first, which leaves most to spare everywhere.
pub const HEURISTICS: [(Order, Rule); 7] = [
    (Order::Largest, Rule::Emptiest),
    (Order::Largest, Rule::Together),
    (Order::Largest, Rule::First),
    (Order::Largest, Rule::Fullest),
    (Order::Family, Rule::Emptiest),
    (Order::Family, Rule::Together),
    (Order::Family, Rule::First),
];

/// Further heuristics where not all guests can be placed: the smallest first, so that most are.
pub const FOR_MOST_PLACED: [(Order, Rule); 3] = [
    (Order::Smallest, Rule::Emptiest),
    (Order::Smallest, Rule::Together),
    (Order::Smallest, Rule::First),
];

/// The guests (a profile each) in the order in which they are placed: by rank, and within a rank by `order`.
///
/// # Source
/// Largest first: D. S. Johnson, *Near-optimal bin packing algorithms*, MIT 1973; by the largest component for several
/// resources: L. T. Kou & G. Markowsky, "Multidimensional bin packing algorithms", IBM J. Res. Dev. 21 (1977) 443–448.
pub fn ordered(cluster: &impl Cluster, guests: &[u64], order: Order) -> Vec<usize> {
    let family_size = |profile: usize| -> f64 {
        (0..cluster.profiles())
            .filter(|other| cluster.family(*other) == cluster.family(profile))
            .map(|other| guests[other] as f64 * cluster.size(other))
            .sum()
    };
    let mut profiles: Vec<usize> = (0..cluster.profiles()).collect();
    // Stable, so equals stay in the order of the lab.
    profiles.sort_by(|one, other| cluster.size(*other).total_cmp(&cluster.size(*one)));
    if order == Order::Smallest {
        profiles.reverse();
    }
    if order == Order::Family {
        profiles.sort_by(|one, other| {
            family_size(*other)
                .total_cmp(&family_size(*one))
                .then(cluster.family(*one).cmp(&cluster.family(*other)))
        });
    }
    profiles.sort_by(|one, other| cluster.rank(*other).total_cmp(&cluster.rank(*one)));
    profiles
        .into_iter()
        .flat_map(|profile| (0..guests[profile]).map(move |_| profile))
        .collect()
}

/// Places guests (a profile each, in this order) on hosts; returns the host of each, none where no host holds it.
///
/// `load` gives how full a host is with these guests placed on it, none where it does not hold them; hosts that are
/// `alike` and have got the same guests have the same load. Whether and where a guest is placed does not depend on those
/// after it.
pub(super) fn place<C: Cluster>(
    cluster: &C,
    guests: &[usize],
    hosts: &[usize],
    rule: Rule,
    load: impl Fn(usize, &[u64]) -> Option<f64>,
    alike: impl Fn(usize, usize) -> bool,
) -> impl Iterator<Item = Option<usize>> {
    let mut counts = empty(cluster);
    // A profile that no host had room for is not tried again: hosts only get fuller.
    let mut full = vec![false; cluster.profiles()];
    // Loads with one more guest of the profile placed last; only the host that got it is looked at again.
    let (mut last, mut loads) = (None, vec![None; hosts.len()]);
    guests.iter().map(move |&profile| {
        if full[profile] {
            return None;
        }
        if last.replace(profile) != Some(profile) {
            loads.fill(None);
        }
        let load = |place: usize, counts: &mut Counts| {
            *loads[place].get_or_insert_with(|| {
                let own = &mut counts[hosts[place]];
                own[profile] += 1;
                let load = load(hosts[place], own);
                own[profile] -= 1;
                load
            })
        };
        let Some(place) = choose(cluster, hosts, rule, profile, &mut counts, load, &alike) else {
            full[profile] = true;
            return None;
        };
        loads[place] = None;
        counts[hosts[place]][profile] += 1;
        Some(hosts[place])
    })
}

/// The place of the host that a rule chooses for one more guest; `load` gives how full the host at a place is with it.
fn choose(
    cluster: &impl Cluster,
    hosts: &[usize],
    rule: Rule,
    profile: usize,
    counts: &mut Counts,
    mut load: impl FnMut(usize, &mut Counts) -> Option<f64>,
    alike: impl Fn(usize, usize) -> bool,
) -> Option<usize> {
    let mut best: Option<(usize, (u64, f64))> = None;
    for (place, &host) in hosts.iter().enumerate() {
        // Like the one before it, which is the first of equals.
        if place > 0 && alike(hosts[place - 1], host) && counts[hosts[place - 1]] == counts[host] {
            continue;
        }
        let relatives: u64 = (0..cluster.profiles())
            .filter(|other| cluster.family(*other) == cluster.family(profile))
            .map(|other| counts[host][other])
            .sum();
        let Some(load) = load(place, counts) else {
            continue;
        };
        let rank = match rule {
            Rule::First => return Some(place),
            Rule::Fullest => (0, load),
            Rule::Emptiest => (0, -load),
            Rule::Together => (relatives, -load),
        };
        // Of equals the first is kept.
        if best.is_none_or(|(_, seen)| rank > seen) {
            best = Some((place, rank));
        }
    }
    best.map(|(place, _)| place)
}

/// The same for all guests; none where no host holds one of them, or what has been found so far has to do.
pub fn place_all(
    cluster: &impl Cluster,
    guests: &[usize],
    hosts: &[usize],
    rule: Rule,
) -> Option<Counts> {
    let load = |host: usize, own: &[u64]| cluster.load(host, own, &[]);
    let alike = |one, other| cluster.kind(one) == cluster.kind(other);
    place_with(cluster, guests, hosts, rule, load, alike)
}

/// The same with another load of a host.
pub(super) fn place_with(
    cluster: &impl Cluster,
    guests: &[usize],
    hosts: &[usize],
    rule: Rule,
    load: impl Fn(usize, &[u64]) -> Option<f64>,
    alike: impl Fn(usize, usize) -> bool,
) -> Option<Counts> {
    let places = place(cluster, guests, hosts, rule, load, alike);
    let mut counts = empty(cluster);
    for (profile, place) in guests.iter().zip(places) {
        counts[place.filter(|_| !cluster.exhausted())?][*profile] += 1;
    }
    Some(counts)
}
