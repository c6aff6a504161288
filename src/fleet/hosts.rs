//! Hosts of a lab judged by the same laws as `fit`.

use std::cell::RefCell;
use std::collections::HashMap;

use super::parts::parts;
use super::room::Room;
use crate::lab::{Guest, Host, Lab};
use crate::model::SLACK;
use crate::sizing::host::HostModel;
use crate::sizing::resource::Resource;

/// A rewrite interval that lets nothing merge: what has just been restarted has not been scanned `[s]`.
const UNMERGED: f64 = f64::MIN_POSITIVE;

/// The lab with every guest twice: as it is, and just restarted (never busy yet, nothing merged).
#[must_use]
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

/// Loads by kind and counts; none where a limit is passed.
type Loads = HashMap<(usize, Vec<u64>), Option<f64>>;

/// Hosts with the laws that judge them.
#[derive(Debug)]
pub struct Hosts<'l> {
    lab: &'l Lab,
    /// A model and the considered resources for each kind.
    kinds: Vec<(HostModel<'l>, Vec<Resource>)>,
    /// The kind of each host.
    kind_of: Vec<usize>,
    sizes: Vec<f64>,
    /// The smallest shares that guests take, by kind, resource and profile.
    parts: Vec<Vec<Vec<f64>>>,
    /// Loads that were worked out, by kind and counts.
    known: RefCell<Loads>,
}

/// Most loads that are kept; past it they are worked out again.
const MOST_KNOWN: usize = 200_000;

impl<'l> Hosts<'l> {
    /// These hosts; `twice` is what [`with_restarted`] made of their lab.
    #[must_use]
    pub fn new(twice: &'l Lab, hosts: &[&'l Host]) -> Hosts<'l> {
        let mut kinds: Vec<(HostModel<'l>, Vec<Resource>)> = Vec::new();
        let mut kind_of = Vec::with_capacity(hosts.len());
        for host in hosts {
            let alike = kinds
                .iter()
                .position(|(model, _)| same_kind(model.host, host));
            kind_of.push(alike.unwrap_or(kinds.len()));
            if alike.is_none() {
                let model = HostModel::new(twice, host);
                let none = vec![0; twice.guests.len()];
                let considered = Resource::all(&model)
                    .into_iter()
                    .filter(|resource| resource.constraint(&model, &none).is_some())
                    .collect();
                kinds.push((model, considered));
            }
        }
        let mut found = Hosts {
            lab: twice,
            kinds,
            kind_of,
            sizes: Vec::new(),
            parts: Vec::new(),
            known: RefCell::default(),
        };
        found.sizes = (0..found.profiles())
            .map(|profile| found.component(profile))
            .collect();
        let pools = found.kinds.iter().map(|(model, _)| model.host.disks.len());
        let pools = pools.max().unwrap_or(0);
        found.parts = found
            .kinds
            .iter()
            .map(|(model, considered)| parts(model, considered, found.profiles(), pools))
            .collect();
        found
    }

    /// The model of a host. It knows each guest twice.
    #[must_use]
    pub fn model(&self, host: usize) -> &HostModel<'l> {
        &self.kinds[self.kind_of[host]].0
    }

    /// The resources that are considered on a host.
    #[must_use]
    pub fn considered(&self, host: usize) -> &[Resource] {
        &self.kinds[self.kind_of[host]].1
    }

    /// Counts as the model takes them: the settled ones, then the restarted ones.
    pub(super) fn both(own: &[u64], moved: &[u64]) -> Vec<u64> {
        own.iter().chain(moved).copied().collect()
    }

    /// The first resource whose limit is passed.
    #[must_use]
    pub fn passed(&self, host: usize, own: &[u64]) -> Option<Resource> {
        let counts = Self::both(own, &vec![0; own.len()]);
        let (model, considered) = &self.kinds[self.kind_of[host]];
        considered.iter().copied().find(|resource| {
            resource
                .constraint(model, &counts)
                .is_some_and(|one| !one.within())
        })
    }

    /// The largest component of one more guest beside one of its own, in the mean over the kinds of hosts.
    fn component(&self, profile: usize) -> f64 {
        let with = |n: u64| {
            let mut counts = vec![0; self.lab.guests.len()];
            counts[profile] = n;
            counts
        };
        let of_kind = |(model, considered): &(HostModel, Vec<Resource>)| {
            let component = |resource: &Resource| {
                let (one, two) = (
                    resource.constraint(model, &with(1))?,
                    resource.constraint(model, &with(2))?,
                );
                let more = two.mean() - one.mean();
                (one.limit > 0.0 && more.is_finite()).then_some(more / one.limit)
            };
            considered.iter().filter_map(component).fold(0.0, f64::max)
        };
        self.kinds.iter().map(of_kind).sum::<f64>() / self.kinds.len() as f64
    }

    fn judge(&self, kind: usize, counts: &[u64]) -> Option<f64> {
        let (model, considered) = &self.kinds[kind];
        let mut load: f64 = 0.0;
        for resource in considered {
            let constraint = resource.constraint(model, counts)?;
            if !constraint.within() {
                return None;
            }
            let limit = constraint.mean_limit.unwrap_or(constraint.limit);
            if limit > SLACK {
                load = load.max(constraint.mean() / limit);
            }
        }
        Some(load)
    }
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

impl Room for Hosts<'_> {
    fn hosts(&self) -> usize {
        self.kind_of.len()
    }

    fn profiles(&self) -> usize {
        self.lab.guests.len() / 2
    }

    fn load(&self, host: usize, own: &[u64], moved: &[u64]) -> Option<f64> {
        let kind = self.kind_of[host];
        let key = (kind, Self::both(own, moved));
        if let Some(load) = self.known.borrow().get(&key) {
            return *load;
        }
        let load = self.judge(kind, &key.1);
        let mut known = self.known.borrow_mut();
        if known.len() < MOST_KNOWN {
            known.insert(key, load);
        }
        load
    }

    fn size(&self, profile: usize) -> f64 {
        self.sizes[profile]
    }

    fn parts(&self, host: usize) -> &[Vec<f64>] {
        &self.parts[self.kind_of[host]]
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
}
