//! Hosts and guests as placing sees them, whatever the laws behind them.

/// Hosts that guests are placed on, and whether they hold them.
///
/// Adding a guest never makes a host hold that did not: what is past a limit stays past it.
pub trait Cluster {
    /// Number of hosts.
    fn hosts(&self) -> usize;
    /// Number of guest profiles.
    fn profiles(&self) -> usize;
    /// The largest share of a limit that is used on a host, none where a limit is passed.
    ///
    /// `settled` counts the guests of each profile that have settled there, `restarted` those that have just been
    /// restarted there; it may be left empty.
    fn load(&self, host: usize, settled: &[u64], restarted: &[u64]) -> Option<f64>;
    /// The largest share of a host's limit that one guest of a profile takes.
    fn size(&self, profile: usize) -> f64;
    /// For each additive resource, the smallest share of a host's limit that one guest of each profile takes, whatever
    /// runs beside it: on a host that holds its guests they add up to at most 1.
    fn least_shares(&self, host: usize) -> &[Vec<f64>];
    /// A number that profiles have in common whose guests share memory.
    fn family(&self, profile: usize) -> usize;
    /// The kind of a host: hosts of one kind differ in name only.
    fn kind(&self, host: usize) -> usize;
    /// How important the guests of a profile are: a higher rank is placed first.
    fn rank(&self, _profile: usize) -> f64 {
        0.0
    }
    /// Whether what has been found so far has to do.
    fn exhausted(&self) -> bool {
        false
    }
}

/// Guests of each profile on each host.
pub type Counts = Vec<Vec<u64>>;

/// No guest on any host.
pub fn empty(cluster: &impl Cluster) -> Counts {
    vec![none(cluster); cluster.hosts()]
}

/// No guest of any profile.
pub fn none(cluster: &impl Cluster) -> Vec<u64> {
    vec![0; cluster.profiles()]
}

/// The hosts of each kind, kinds in the order of their first hosts.
pub(super) fn by_kind(cluster: &impl Cluster, hosts: &[usize]) -> Vec<Vec<usize>> {
    grouped(hosts, |one, other| cluster.kind(one) == cluster.kind(other))
}

/// Hosts in groups of those that are alike, in the order of their first hosts.
pub(super) fn grouped(hosts: &[usize], alike: impl Fn(usize, usize) -> bool) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for host in hosts {
        match groups.iter_mut().find(|group| alike(group[0], *host)) {
            Some(group) => group.push(*host),
            None => groups.push(vec![*host]),
        }
    }
    groups
}

/// Sets of so many hosts, of which those of a kind are told apart by their number only, those of the first hosts first.
///
/// Ends soon after more than `most` have been found.
pub(super) fn subsets(kinds: &[Vec<usize>], number: usize, most: usize) -> Vec<Vec<usize>> {
    let Some((alike, rest)) = kinds.split_first() else {
        return vec![Vec::new()];
    };
    let others: usize = rest.iter().map(Vec::len).sum();
    let mut all = Vec::new();
    for taken in (number.saturating_sub(others)..=alike.len().min(number)).rev() {
        let rests = subsets(rest, number - taken, most);
        all.extend(rests.iter().map(|rest| [&alike[..taken], rest].concat()));
        if all.len() > most {
            break;
        }
    }
    all
}

/// How many guests of each profile these hosts have together.
pub fn together<'c>(
    cluster: &impl Cluster,
    hosts: impl IntoIterator<Item = &'c Vec<u64>>,
) -> Vec<u64> {
    let mut all = none(cluster);
    for own in hosts {
        all.iter_mut().zip(own).for_each(|(sum, n)| *sum += n);
    }
    all
}

/// How many hosts have a guest.
pub fn used(counts: &Counts) -> usize {
    let with_guests = counts.iter().filter(|own| own.iter().any(|n| *n > 0));
    with_guests.count()
}
