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

/// The heuristics: orders with rules, the emptiest host first, which leaves most to spare everywhere. The smallest first is
/// for where not all guests can be placed, so that most are.
pub const HEURISTICS: [(Order, Rule); 10] = [
    (Order::Largest, Rule::Emptiest),
    (Order::Largest, Rule::Together),
    (Order::Largest, Rule::First),
    (Order::Largest, Rule::Fullest),
    (Order::Family, Rule::Emptiest),
    (Order::Family, Rule::Together),
    (Order::Family, Rule::First),
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

/// Hosts to place guests on.
#[derive(Debug)]
pub struct Onto<'a, C> {
    /// Hosts and guests.
    pub cluster: &'a C,
    /// Those of the hosts that may get guests.
    pub hosts: &'a [usize],
    /// Guests that stay where they are while others are restarted beside them; none where the hosts are empty.
    pub staying: Option<&'a Counts>,
}

impl<'a, C: Cluster> Onto<'a, C> {
    /// Onto empty hosts.
    pub fn empty(cluster: &'a C, hosts: &'a [usize]) -> Onto<'a, C> {
        Onto {
            cluster,
            hosts,
            staying: None,
        }
    }

    /// How full a host is with these guests placed on it; none where it does not hold them.
    ///
    /// Beside guests that stay it is the worse of the moment of the restart, when the placed guests are fresh and
    /// unmerged, and of later, when they have settled like all others.
    pub fn load(&self, host: usize, placed: &[u64]) -> Option<f64> {
        let Some(staying) = self.staying else {
            return self.cluster.load(host, placed, &[]);
        };
        let own = &staying[host];
        let settled: Vec<u64> = own.iter().zip(placed).map(|(own, n)| own + n).collect();
        let at_restart = self.cluster.load(host, own, placed)?;
        Some(at_restart.max(self.cluster.load(host, &settled, &[])?))
    }

    /// Whether two hosts have the same load with the same guests placed on them.
    pub(super) fn alike(&self, one: usize, other: usize) -> bool {
        let same = |staying: &Counts| staying[one] == staying[other];
        self.cluster.kind(one) == self.cluster.kind(other) && self.staying.is_none_or(same)
    }

    /// Places guests (a profile each, in this order, equal ones next to each other); gives each profile with its host,
    /// none where no host holds one more. Whether and where a guest is placed does not depend on those after it.
    pub(super) fn place(
        &self,
        guests: &[usize],
        rule: Rule,
    ) -> impl Iterator<Item = Option<(usize, usize)>> {
        let mut counts = empty(self.cluster);
        // A profile that no host had room for is not tried again: hosts only get fuller.
        let (mut last, mut full) = (None, false);
        // Loads with one more guest of the profile placed last; only the host that got it is looked at again.
        let mut loads = vec![None; self.hosts.len()];
        guests.iter().map(move |&profile| {
            if last.replace(profile) != Some(profile) {
                loads.fill(None);
                full = false;
            }
            if full {
                return None;
            }
            let place = self.choose(rule, profile, &mut counts, &mut loads);
            full = place.is_none();
            let host = self.hosts[place?];
            loads[place?] = None;
            counts[host][profile] += 1;
            Some((profile, host))
        })
    }

    /// The place of the host that a rule chooses for one more guest.
    fn choose(
        &self,
        rule: Rule,
        profile: usize,
        counts: &mut Counts,
        loads: &mut [Option<Option<f64>>],
    ) -> Option<usize> {
        let family = |profile: usize| self.cluster.family(profile);
        let mut best: Option<(usize, (u64, f64))> = None;
        for (place, &host) in self.hosts.iter().enumerate() {
            let before = place.checked_sub(1).map(|before| self.hosts[before]);
            // Like the one before it, which is the first of equals.
            if before.is_some_and(|one| self.alike(one, host) && counts[one] == counts[host]) {
                continue;
            }
            let load = *loads[place].get_or_insert_with(|| {
                counts[host][profile] += 1;
                let load = self.load(host, &counts[host]);
                counts[host][profile] -= 1;
                load
            });
            let Some(load) = load else { continue };
            let rank = match rule {
                Rule::First => return Some(place),
                Rule::Fullest => (0, load),
                Rule::Emptiest => (0, -load),
                Rule::Together => {
                    let own = counts[host].iter().enumerate();
                    let own = own.filter(|(other, _)| family(*other) == family(profile));
                    (own.map(|(_, n)| n).sum(), -load)
                }
            };
            // Of equals the first is kept.
            if best.is_none_or(|(_, seen)| rank > seen) {
                best = Some((place, rank));
            }
        }
        best.map(|(place, _)| place)
    }

    /// Places all guests; none where no host holds one of them, or what has been found so far has to do.
    pub fn place_all(&self, guests: &[usize], rule: Rule) -> Option<Counts> {
        let mut counts = empty(self.cluster);
        for placed in self.place(guests, rule) {
            let (profile, host) = placed.filter(|_| !self.cluster.exhausted())?;
            counts[host][profile] += 1;
        }
        Some(counts)
    }
}
