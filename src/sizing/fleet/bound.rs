//! How many hosts are needed at the very least, whatever the placement.

use super::hosts::Hosts;
use super::room::Room;
use crate::inventory::lab::Lab;
use crate::model::footprint::{Age, Tracking};
use crate::sizing::host::HostModel;
use crate::sizing::resource::Resource;
use crate::sizing::search::{Largest, largest};

/// The least number of hosts that hold these guests with `spare` of them down.
///
/// Two bounds, each for the kind of host that suits it best, and the larger counts:
///
/// - by parts: `⌈Σ n_p·f_p⌉`, f_p the smallest share of a host's limit that a guest of profile p takes whatever runs
///   beside it. Resources that add up only: memory with everything merged that can be, the mean processor load, disk
///   space beside the image, written bytes, backup, vCPUs, guests.
/// - by profiles: `⌈n_p / most of p that a host holds alone⌉`
///
/// Whatever fails, what is left must hold everything, so `spare` hosts come on top. None where a profile fits nowhere.
///
/// # Source
/// S. Martello & P. Toth, *Knapsack Problems*, 1990, bound L1 for bin packing, taken for each resource; the bound by
/// profiles follows from every demand rising with every guest.
#[must_use]
pub fn least_hosts(hosts: &Hosts, lab: &Lab, guests: &[u64], spare: usize) -> Option<usize> {
    if guests.iter().all(|n| *n == 0) {
        return Some(0);
    }
    let kinds = || {
        hosts
            .kinds()
            .map(|(model, considered)| (model, considered.as_slice()))
    };
    let mut least: usize = 1;
    for resource in ADDING {
        let mut sum = 0.0;
        for (profile, n) in guests.iter().enumerate().filter(|(_, n)| **n > 0) {
            let shares =
                kinds().map(|(model, considered)| part(model, considered, *resource, profile));
            sum += *n as f64 * shares.fold(f64::INFINITY, f64::min);
        }
        if sum.is_finite() {
            // Sums of shares that are whole but for rounding stay it.
            least = least.max((sum - 1e-9).ceil() as usize);
        }
    }
    for (profile, n) in guests.iter().enumerate().filter(|(_, n)| **n > 0) {
        let alone = kinds()
            .map(|(model, considered)| alone(model, considered, lab.guests.len(), profile, *n))
            .max()?;
        if alone == 0 {
            return None;
        }
        least = least.max(n.div_ceil(alone) as usize);
    }
    debug_assert!(hosts.profiles() == guests.len());
    Some(least + spare)
}

/// Resources whose demand is a sum over the guests, a part of it at least.
const ADDING: &[Adding] = &[
    Adding::Memory,
    Adding::Cpu,
    Adding::Vcpus,
    Adding::Space,
    Adding::Writes,
    Adding::Backup,
    Adding::Guests,
];

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Adding {
    Memory,
    Cpu,
    Vcpus,
    Space,
    Writes,
    Backup,
    Guests,
}

impl Adding {
    fn is(self, resource: Resource) -> bool {
        match self {
            Adding::Memory => resource == Resource::Memory,
            Adding::Cpu => resource == Resource::Cpu,
            Adding::Vcpus => resource == Resource::Vcpus,
            Adding::Space => matches!(resource, Resource::DiskSpace(_)),
            Adding::Writes => matches!(resource, Resource::DiskWrites(_)),
            Adding::Backup => resource == Resource::Backup,
            Adding::Guests => resource == Resource::Guests,
        }
    }
}

/// The share of a host that a guest takes at least; 0 where the resource is not considered.
fn part(model: &HostModel, considered: &[Resource], adding: Adding, profile: usize) -> f64 {
    if adding == Adding::Memory {
        return memory_part(model, profile);
    }
    let with = |n: u64| {
        let mut counts = vec![0; model.lab.guests.len()];
        counts[profile] = n;
        counts
    };
    let share = |resource: &Resource| {
        let [none, one, two] = [0, 1, 2].map(|n| resource.strain(model, &with(n)));
        let (none, one, two) = (none?, one?, two?);
        // From the first to the second guest, so that what they share (an image on disk) is left out.
        let more = two.mean() - one.mean();
        let limit = match adding {
            Adding::Cpu => model.total_cores - model.host.cpu.base_cores,
            _ => none.limit - none.mean(),
        };
        Some(if limit > 0.0 {
            more.max(0.0) / limit
        } else if more > 0.0 {
            f64::INFINITY
        } else {
            0.0
        })
    };
    let shares = considered
        .iter()
        .filter(|one| adding.is(**one))
        .filter_map(share);
    shares.fold(0.0, f64::max)
}

/// Memory that an idle guest takes at least, over the safe limit.
///
/// `o + u + page tables + min(c + s, bookkeeping + (c + s)/L)`: unmerged, or merged with as many as a copy may have; a
/// container's files may be there already.
fn memory_part(model: &HostModel, profile: usize) -> f64 {
    let guest = &model.footprints(Age::LivedIn)[profile];
    let merging = &model.host.merging;
    let loose = if guest.shares_files() {
        guest.repeats
    } else {
        guest.common + guest.repeats
    };
    let merged = if guest.scanned() {
        let copies = if merging.use_zero_pages {
            0.0
        } else {
            loose / merging.users_per_copy
        };
        let bookkeeping = guest.meta(Tracking::On) - guest.meta(Tracking::Off);
        loose.min(bookkeeping + copies)
    } else {
        loose
    };
    let least = guest.overhead + guest.unique + guest.meta(Tracking::Off) + merged;
    let usable = model.usable();
    if usable > 0.0 {
        least / usable
    } else {
        f64::INFINITY
    }
}

/// How many guests of one profile a host holds with nothing beside them, at most `wanted`.
fn alone(
    model: &HostModel,
    considered: &[Resource],
    profiles: usize,
    profile: usize,
    wanted: u64,
) -> u64 {
    let holds = |n: u64| {
        let mut counts = vec![0; model.lab.guests.len().max(profiles)];
        counts[profile] = n.min(wanted);
        considered.iter().all(|one| {
            one.strain(model, &counts)
                .is_none_or(|strain| strain.within())
        })
    };
    if holds(wanted) {
        return wanted;
    }
    match largest(wanted / 2, holds) {
        Largest::Bound(n) => n,
        Largest::Broken => 0,
        Largest::Unbounded => wanted,
    }
}
