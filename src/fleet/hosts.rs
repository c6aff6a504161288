//! Hosts of a lab as a cluster, judged by the same laws as `fit`.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

use super::cluster::Cluster;
use super::shares::{additive, least_shares, only};
use crate::lab::{Guest, Host, Lab};
use crate::sizing::host::HostModel;
use crate::sizing::resource::Resource;

/// A rewrite interval that lets nothing merge: what has just been restarted has not been scanned `[s]`.
const UNMERGED: f64 = f64::MIN_POSITIVE;

/// The lab with every guest twice: as it is, and just restarted (never busy yet, nothing merged).
pub fn with_restarted(lab: &Lab) -> Lab {
    let mut twice = lab.clone();
    let restarted = lab.guests.iter().map(|guest| Guest {
        keeps: 0.0,
        rewrite_interval: UNMERGED,
        ..guest.clone()
    });
    twice.guests.extend(restarted);
    twice
}

/// The hosts, each as often as there are copies of it: "north" as "north-1", "north-2" and so on.
pub fn with_copies(hosts: &[&Host]) -> Vec<Host> {
    let each = hosts.iter().flat_map(|host| {
        let copies = host.copies.unwrap_or(1);
        (1..=copies).map(move |number| {
            let name = match copies {
                1 => host.name.clone(),
                _ => format!("{}-{number}", host.name),
            };
            Host {
                name,
                copies: None,
                ..(*host).clone()
            }
        })
    });
    each.collect()
}

/// Loads by kind and counts; none where a limit is passed.
type Loads = HashMap<(usize, Vec<u64>), Option<f64>>;

/// Most loads that are kept; further ones are computed anew each time.
const MOST_KNOWN: usize = 200_000;
/// Most checks of a host, one that is computed counting as [`COMPUTED`] that are known. Counted and not timed, so that
/// the answer is the same everywhere.
const MOST_CHECKS: u64 = 20_000_000;
/// What it costs to compute a load, in loads that are known.
const COMPUTED: u64 = 40;

/// How long to search.
#[derive(Debug, Clone, Copy)]
pub struct Bounds<'i> {
    /// Most checks of a host, 20 million where nothing else is wanted.
    pub checks: u64,
    /// Becomes true where the search is interrupted.
    pub interrupted: &'i AtomicBool,
}

impl<'i> Bounds<'i> {
    /// The usual ones.
    pub fn new(interrupted: &'i AtomicBool) -> Bounds<'i> {
        Bounds {
            checks: MOST_CHECKS,
            interrupted,
        }
    }
}

impl Default for Bounds<'_> {
    /// The usual ones, where nothing interrupts.
    fn default() -> Self {
        static NEVER: AtomicBool = AtomicBool::new(false);
        Bounds::new(&NEVER)
    }
}

/// Hosts with the laws that judge them.
#[derive(Debug)]
pub struct Hosts<'l> {
    lab: &'l Lab,
    kinds: Vec<HostKind<'l>>,
    /// The kind of each host.
    kind_of: Vec<usize>,
    sizes: Vec<f64>,
    /// How important each profile is.
    ranks: Vec<f64>,
    /// Loads computed so far.
    known: RefCell<Loads>,
    /// Checks that may still be made.
    checks: Cell<u64>,
    /// What it is searched within.
    pub(super) bounds: Bounds<'l>,
}

/// Hosts that differ in name and price only.
#[derive(Debug)]
struct HostKind<'l> {
    model: HostModel<'l>,
    considered: Vec<Resource>,
    /// The smallest shares that guests take, by resource and profile.
    least_shares: Vec<Vec<f64>>,
}

impl<'l> Hosts<'l> {
    /// These hosts; `twice` is what [`with_restarted`] made of their lab.
    pub fn new(twice: &'l Lab, hosts: &[&'l Host]) -> Hosts<'l> {
        let profiles = twice.guests.len() / 2;
        let pools = hosts.iter().map(|host| host.disks.len()).max();
        let additive = additive(pools.unwrap_or(0));
        let mut kinds: Vec<HostKind<'l>> = Vec::new();
        let mut kind_of = Vec::with_capacity(hosts.len());
        for host in hosts {
            let alike = kinds
                .iter()
                .position(|kind| same_kind(kind.model.host, host));
            kind_of.push(alike.unwrap_or(kinds.len()));
            if alike.is_none() {
                let model = HostModel::new(twice, host);
                let shares = additive.iter();
                let shares = shares.map(|resource| least_shares(&model, *resource, profiles));
                kinds.push(HostKind {
                    considered: model.considered(),
                    least_shares: shares.collect(),
                    model,
                });
            }
        }
        let size = |profile: usize| {
            let each = kinds.iter().map(|kind| kind.size(profile));
            each.sum::<f64>() / kinds.len() as f64
        };
        Hosts {
            lab: twice,
            sizes: (0..profiles).map(size).collect(),
            ranks: ranks(&twice.guests[..profiles]),
            kinds,
            kind_of,
            known: RefCell::default(),
            checks: Cell::new(MOST_CHECKS),
            bounds: Bounds::default(),
        }
    }

    /// The same, within these bounds.
    #[must_use]
    pub fn within(self, bounds: Bounds<'l>) -> Hosts<'l> {
        Hosts {
            checks: Cell::new(bounds.checks),
            bounds,
            ..self
        }
    }

    /// Lets a further part of the work have so many checks anew; returns whether the one before had enough.
    pub(super) fn renew(&self) -> bool {
        let enough = !self.exhausted();
        self.checks.set(self.bounds.checks);
        enough
    }

    fn count(&self, checks: u64) {
        self.checks.set(self.checks.get().saturating_sub(checks));
    }

    /// The model of a host, with each guest twice.
    pub fn model(&self, host: usize) -> &HostModel<'l> {
        &self.host_kind(host).model
    }

    /// The resources that are considered on a host.
    pub fn considered(&self, host: usize) -> &[Resource] {
        &self.host_kind(host).considered
    }

    fn host_kind(&self, host: usize) -> &HostKind<'l> {
        &self.kinds[self.kind_of[host]]
    }

    /// Counts as the model takes them: the settled guests of each profile, then the restarted ones.
    pub(super) fn counts(&self, settled: &[u64], restarted: &[u64]) -> Vec<u64> {
        let mut all = [settled, restarted].concat();
        all.resize(self.lab.guests.len(), 0);
        all
    }
}

impl HostKind<'_> {
    /// The largest share of a limit that one more guest of a profile takes beside one of its own.
    fn size(&self, profile: usize) -> f64 {
        let with = |resource: &Resource, n| {
            let counts = only(&self.model, profile, n);
            resource.constraint(&self.model, &counts)
        };
        let share = |resource: &Resource| {
            let (one, two) = (with(resource, 1)?, with(resource, 2)?);
            let more = two.mean() - one.mean();
            (one.limit > 0.0 && more.is_finite()).then_some(more / one.limit)
        };
        self.considered.iter().filter_map(share).fold(0.0, f64::max)
    }

    /// The largest mean load of a resource, none where a limit is passed.
    fn load(&self, counts: &[u64]) -> Option<f64> {
        let mut load: f64 = 0.0;
        for resource in &self.considered {
            let constraint = resource.constraints(&self.model, counts)?;
            if !constraint.within() {
                return None;
            }
            load = load.max(constraint.mean_load());
        }
        Some(load)
    }
}

/// How important guests are: those that must run before all others, then by their own rank.
fn ranks(guests: &[Guest]) -> Vec<f64> {
    let key = |guest: &Guest| (guest.count > 0, guest.rank.unwrap_or(0.0));
    let less = |one: &Guest, other: &Guest| key(other) < key(one);
    let below = |one| guests.iter().filter(|other| less(one, other)).count() as f64;
    guests.iter().map(below).collect()
}

/// Whether two hosts differ in name and price only.
fn same_kind(one: &Host, other: &Host) -> bool {
    one.cpu == other.cpu
        && one.memory == other.memory
        && one.merging == other.merging
        && one.disks == other.disks
        && one.link == other.link
        && one.power == other.power
        && one.backup == other.backup
}

impl Cluster for Hosts<'_> {
    fn hosts(&self) -> usize {
        self.kind_of.len()
    }

    fn profiles(&self) -> usize {
        self.sizes.len()
    }

    fn load(&self, host: usize, settled: &[u64], restarted: &[u64]) -> Option<f64> {
        let key = (self.kind_of[host], self.counts(settled, restarted));
        self.count(1);
        if let Some(load) = self.known.borrow().get(&key) {
            return *load;
        }
        self.count(COMPUTED);
        let load = self.host_kind(host).load(&key.1);
        let mut known = self.known.borrow_mut();
        if known.len() < MOST_KNOWN {
            known.insert(key, load);
        }
        load
    }

    fn size(&self, profile: usize) -> f64 {
        self.sizes[profile]
    }

    fn least_shares(&self, host: usize) -> &[Vec<f64>] {
        &self.host_kind(host).least_shares
    }

    fn family(&self, profile: usize) -> usize {
        // Guests without an image are families of their own, past the numbers of the images.
        self.lab.guests[profile]
            .image
            .unwrap_or(self.lab.images.len() + profile)
    }

    fn kind(&self, host: usize) -> usize {
        self.kind_of[host]
    }

    fn rank(&self, profile: usize) -> f64 {
        self.ranks[profile]
    }

    fn exhausted(&self) -> bool {
        self.checks.get() == 0 || self.bounds.interrupted.load(Relaxed)
    }
}
