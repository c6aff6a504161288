//! What a guest takes of a host at the very least, whatever runs beside it.

use crate::model::footprint::{Age, Tracking};
use crate::sizing::host::HostModel;
use crate::sizing::resource::Resource;

/// Rows that every host has, before two for each pool.
const SHARED_ROWS: usize = 5;

/// Number of rows that [`parts`] gives for hosts of so many pools.
#[must_use]
pub fn rows(pools: usize) -> usize {
    SHARED_ROWS + 2 * pools
}

/// The row of a resource whose demand is a sum over the guests, a part of it at least; none for the others.
fn row(resource: Resource) -> Option<usize> {
    match resource {
        Resource::Memory => Some(0),
        Resource::Cpu => Some(1),
        Resource::Vcpus => Some(2),
        Resource::Backup => Some(3),
        Resource::Guests => Some(4),
        Resource::DiskSpace(pool) => Some(SHARED_ROWS + 2 * pool),
        Resource::DiskWrites(pool) => Some(SHARED_ROWS + 2 * pool + 1),
        _ => None,
    }
}

/// For each resource that adds up, the smallest share of the host's limit that one guest of each profile takes.
///
/// Whatever a host holds, the shares of its guests add up to at most 1 in every row. Resources that add up only: memory
/// with everything merged that can be, the mean processor load, vCPUs, backup, guests, and for each pool disk space beside
/// the image and written bytes. What is not considered takes nothing.
#[must_use]
pub fn parts(
    model: &HostModel,
    considered: &[Resource],
    profiles: usize,
    pools: usize,
) -> Vec<Vec<f64>> {
    let mut all = vec![vec![0.0; profiles]; rows(pools)];
    for resource in considered {
        let Some(row) = row(*resource) else { continue };
        for (profile, part) in all[row].iter_mut().enumerate() {
            *part = match resource {
                Resource::Memory => memory_part(model, profile),
                _ => part_of(model, *resource, profile),
            };
        }
    }
    all
}

fn part_of(model: &HostModel, resource: Resource, profile: usize) -> f64 {
    let with = |n: u64| {
        let mut counts = vec![0; model.lab.guests.len()];
        counts[profile] = n;
        resource.constraint(model, &counts)
    };
    let (Some(none), Some(one), Some(two)) = (with(0), with(1), with(2)) else {
        return 0.0;
    };
    // From the first to the second guest, so that what they share (an image on disk) is left out.
    let more = two.mean() - one.mean();
    let limit = match resource {
        Resource::Cpu => model.total_cores - model.host.cpu.base_cores,
        _ => none.limit - none.mean(),
    };
    if limit > 0.0 {
        more.max(0.0) / limit
    } else if more > 0.0 {
        f64::INFINITY
    } else {
        0.0
    }
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
