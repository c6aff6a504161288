//! Lower bounds on the number of hosts, whatever the placement.

use super::cluster::{Cluster, by_kind, none};
use crate::sizing::search::{Largest, largest};

/// Tolerance of sums of shares: rounding errors, and the slack of the laws at a limit.
const ROUNDING: f64 = 1e-8;
/// The k of the steps `1/k` that sizes are rounded to.
const STEPS: std::ops::RangeInclusive<u32> = 1..=20;
/// Most sizes α of bound L2.
const MOST_CUTS: usize = 64;

/// Lower bounds for guests on a set of hosts.
///
/// Two bounds for a set of hosts:
///
/// - by shares: `Σ n_p·min_h c_h·u(f_hp) ≤ Σ c_h` in every resource that adds up, f_hp the smallest share of host h's
///   limit that a guest of profile p takes whatever runs beside it, u a function that keeps every sum that is at most 1
///   at most 1 (a dual feasible function), c_h ≥ 0 any weights of the hosts: all equal, or how often the host
///   holds these guests.
/// - by profiles: `n_p ≤ Σ_h most of p that h holds alone`
///
/// The functions: the size itself (bound L1); sizes above 1 − α as 1 and those below α as 0 (bound L2, α every size up
/// to ½); sizes rounded down to steps of 1/k.
///
/// # Source
/// S. Martello & P. Toth, *Knapsack Problems*, 1990, bounds L1 and L2; S. P. Fekete & J. Schepers, "New classes of fast
/// lower bounds for bin packing problems", Mathematical Programming 91 (2001) 11–31, functions u⁽ᵏ⁾ and U⁽ᵋ⁾. The bound by
/// profiles follows from every demand rising with every guest.
#[derive(Debug)]
pub struct Bound<'c, C> {
    cluster: &'c C,
    guests: Vec<u64>,
    /// Most guests of a profile that a host holds with nothing beside them, by host and profile.
    alone: Vec<Vec<u64>>,
}

/// A function of a size that keeps sums of at most 1.
#[derive(Debug, Clone, Copy)]
enum Shape {
    Itself,
    Cut(f64),
    Steps(u32),
}

impl Shape {
    fn of(self, size: f64) -> f64 {
        match self {
            Shape::Itself => size,
            Shape::Cut(small) if size > 1.0 - small + ROUNDING => 1.0,
            Shape::Cut(small) if size < small => 0.0,
            Shape::Cut(_) => size,
            Shape::Steps(k) => {
                let k = f64::from(k);
                ((((k + 1.0) * size) - ROUNDING * k).floor() / k).max(0.0)
            }
        }
    }
}

/// Weighted sizes of one resource on a set of hosts.
#[derive(Debug, Clone)]
pub(super) struct Row {
    /// What the hosts hold together.
    pub all: f64,
    /// What each host of the set holds.
    pub each: Vec<f64>,
    /// What a guest of each profile takes of it at least.
    pub least: Vec<f64>,
    /// What a guest of each profile takes on each host of the set.
    pub on: Vec<Vec<f64>>,
}

impl<'c, C: Cluster> Bound<'c, C> {
    /// For these guests (a count for each profile) on some of these hosts.
    pub fn new(cluster: &'c C, hosts: &[usize], guests: &[u64]) -> Bound<'c, C> {
        let mut alone: Vec<Vec<u64>> = vec![Vec::new(); cluster.hosts()];
        for alike in by_kind(cluster, hosts) {
            let most: Vec<u64> = (0..cluster.profiles())
                .map(|profile| most(cluster, alike[0], profile, guests[profile]))
                .collect();
            for host in alike {
                alone[host].clone_from(&most);
            }
        }
        Bound {
            cluster,
            guests: guests.to_vec(),
            alone,
        }
    }

    /// The least number of these hosts that may suffice with `spare` of them failed.
    ///
    /// The larger of two: with every host as good as the best one, and of the largest hosts only. Whatever fails, what
    /// is left must hold everything, so `spare` hosts come on top. None where a guest fits nowhere.
    pub fn least(&self, hosts: &[usize], spare: usize) -> Option<usize> {
        if self.guests.iter().all(|n| *n == 0) {
            return Some(0);
        }
        let kinds = by_kind(self.cluster, hosts);
        let kinds: Vec<usize> = kinds.iter().map(|alike| alike[0]).collect();
        let mut least: usize = 1;
        for (profile, n) in self.wanted() {
            let alone = kinds.iter().map(|host| self.alone[*host][profile]).max()?;
            if alone == 0 {
                return None;
            }
            least = least.max(n.div_ceil(alone) as usize);
        }
        for number in 0..self.rows(&kinds) {
            for shape in self.shapes(&kinds, number) {
                let row = self.row(&kinds, number, shape, &vec![1.0; kinds.len()]);
                // A sum that is a whole number but for rounding is not rounded up.
                least = least.max((self.sum(&row) - ROUNDING * row.all).ceil() as usize);
            }
        }
        Some((least + spare).max(self.of_the_largest(hosts, spare)))
    }

    /// The least number of the largest of these hosts that may suffice when the `spare` largest of them fail.
    ///
    /// With the hosts weighted by what they hold, no set of k hosts has more left than the largest k without their `spare`
    /// largest. At most the number of all hosts.
    fn of_the_largest(&self, hosts: &[usize], spare: usize) -> usize {
        let fewest = |mut each: Vec<f64>, needed: f64| {
            each.sort_by(|one, other| other.total_cmp(one));
            let mut sum = 0.0;
            let enough = each.iter().skip(spare).position(|one| {
                sum += one;
                sum >= needed * (1.0 - ROUNDING)
            });
            enough.map_or(hosts.len(), |place| spare + place + 1)
        };
        let by_shares = self.by_size(hosts).into_iter().map(|row| {
            let needed = self.sum(&row);
            fewest(row.each, needed)
        });
        let by_profiles = self.wanted().map(|(profile, n)| {
            let alone = hosts.iter().map(|host| self.alone[*host][profile] as f64);
            fewest(alone.collect(), n as f64)
        });
        by_shares.chain(by_profiles).max().unwrap_or(0)
    }

    /// Whether it is certain that these hosts do not hold the guests.
    pub fn cannot_hold(&self, hosts: &[usize]) -> bool {
        let alone = |profile: usize| -> u64 {
            let each = hosts.iter().map(|host| self.alone[*host][profile]);
            each.fold(0, u64::saturating_add)
        };
        if self.wanted().any(|(profile, n)| alone(profile) < n) {
            return true;
        }
        (0..self.rows(hosts)).any(|number| {
            let weights = [vec![1.0; hosts.len()], self.weights(hosts, number)];
            let exceeds = |shape: Shape| {
                let mut rows = weights.iter();
                rows.any(|weights| {
                    let row = self.row(hosts, number, shape, weights);
                    self.sum(&row) > row.all * (1.0 + ROUNDING)
                })
            };
            self.shapes(hosts, number).into_iter().any(exceeds)
        })
    }

    /// The rows of all resources on a set of hosts, weighted by what each host holds.
    pub(super) fn by_size(&self, hosts: &[usize]) -> Vec<Row> {
        let row = |number| {
            let weights = self.weights(hosts, number);
            self.row(hosts, number, Shape::Itself, &weights)
        };
        (0..self.rows(hosts)).map(row).collect()
    }

    fn wanted(&self) -> impl Iterator<Item = (usize, u64)> {
        let all = self.guests.iter().copied().enumerate();
        all.filter(|(_, n)| *n > 0)
    }

    fn rows(&self, hosts: &[usize]) -> usize {
        let rows = hosts.iter().map(|host| self.cluster.least_shares(*host));
        rows.map(<[_]>::len).min().unwrap_or(0)
    }

    /// How often each host holds all guests, by one resource; 1 where they take nothing of it.
    fn weights(&self, hosts: &[usize], number: usize) -> Vec<f64> {
        let times = |host: &usize| {
            let shares = &self.cluster.least_shares(*host)[number];
            let held = self.wanted();
            let held = held.filter(|(profile, _)| self.alone[*host][*profile] > 0);
            let all: f64 = held.map(|(profile, n)| n as f64 * shares[profile]).sum();
            if all > 0.0 { 1.0 / all } else { 1.0 }
        };
        hosts.iter().map(times).collect()
    }

    fn row(&self, hosts: &[usize], number: usize, shape: Shape, weights: &[f64]) -> Row {
        let on = hosts.iter().zip(weights).map(|(host, weight)| {
            let shares = &self.cluster.least_shares(*host)[number];
            let sizes = self.alone[*host].iter().zip(shares);
            sizes.map(move |(alone, share)| match alone {
                0 => f64::INFINITY,
                _ => weight * shape.of(*share),
            })
        });
        let on: Vec<Vec<f64>> = on.map(Iterator::collect).collect();
        let least = |profile: usize| {
            let each = on.iter().map(|sizes| sizes[profile]);
            each.fold(f64::INFINITY, f64::min)
        };
        Row {
            all: weights.iter().sum(),
            each: weights.to_vec(),
            least: (0..self.cluster.profiles()).map(least).collect(),
            on,
        }
    }

    fn sum(&self, row: &Row) -> f64 {
        self.wanted()
            .map(|(profile, n)| n as f64 * row.least[profile])
            .sum()
    }

    fn shapes(&self, hosts: &[usize], number: usize) -> Vec<Shape> {
        let mut sizes: Vec<f64> = hosts
            .iter()
            .flat_map(|host| {
                let shares = &self.cluster.least_shares(*host)[number];
                self.wanted().map(|(profile, _)| shares[profile])
            })
            .filter(|size| *size > 0.0 && *size <= 0.5)
            .collect();
        sizes.sort_by(f64::total_cmp);
        sizes.dedup();
        sizes.truncate(MOST_CUTS);
        let mut shapes = vec![Shape::Itself];
        shapes.extend(sizes.into_iter().map(Shape::Cut));
        shapes.extend(STEPS.map(Shape::Steps));
        shapes
    }
}

/// How many guests of one profile a host holds with nothing beside them, at most `wanted`.
fn most(cluster: &impl Cluster, host: usize, profile: usize, wanted: u64) -> u64 {
    let holds = |n: u64| {
        let mut own = none(cluster);
        own[profile] = n.min(wanted);
        cluster.load(host, &own, &[]).is_some()
    };
    if holds(wanted) {
        return wanted;
    }
    match largest(wanted / 2, holds) {
        Largest::Bound(n) => n,
        Largest::Infeasible => 0,
        Largest::Unbounded => wanted,
    }
}
