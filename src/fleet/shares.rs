//! What a guest takes of a host at the very least, whatever runs beside it.

use crate::model::footprint::{Age, Tracking};
use crate::sizing::host::HostModel;
use crate::sizing::memory::Sharing;
use crate::sizing::resource::Resource;

/// The resources whose demand is a sum over the guests, or has such a sum in it, on hosts of at most so many pools.
pub(super) fn additive(pools: usize) -> Vec<Resource> {
    let mut all = vec![
        Resource::Memory,
        Resource::Cpu,
        Resource::Vcpus,
        Resource::Backup,
        Resource::Guests,
    ];
    all.extend((0..pools).flat_map(|pool| [Resource::DiskSpace(pool), Resource::DiskWrites(pool)]));
    all
}

/// The smallest share of a host's limit on a resource that adds up, for one guest of each of the first `profiles`.
///
/// Whatever a host holds, the shares of its guests add up to at most 1. Memory is counted with everything merged that
/// can be, disk space beside the image. What is not considered takes nothing.
pub(super) fn least_shares(model: &HostModel, resource: Resource, profiles: usize) -> Vec<f64> {
    let shares = (0..profiles).map(|profile| match resource {
        Resource::Memory => share(least_memory(model, profile), model.usable()),
        _ => least_share(model, resource, profile).unwrap_or(0.0),
    });
    shares.collect()
}

fn share(least: f64, limit: f64) -> f64 {
    if limit > 0.0 {
        least / limit
    } else if least > 0.0 {
        f64::INFINITY
    } else {
        0.0
    }
}

/// What the second guest of a profile takes, so that what they share (an image on disk) is left out, of what is there
/// beside the host's own; none where the resource is not considered.
fn least_share(model: &HostModel, resource: Resource, profile: usize) -> Option<f64> {
    let with = |n| resource.constraint(model, &only(model, profile, n));
    let (none, one, two) = (with(0)?, with(1)?, with(2)?);
    let limit = none.mean_limit.unwrap_or(none.limit) - none.mean();
    Some(share((two.mean() - one.mean()).max(0.0), limit))
}

/// Memory that an idle guest takes at least `[B]`: unmerged, or merged with as many as a copy may have; a container's
/// files may be there already.
fn least_memory(model: &HostModel, profile: usize) -> f64 {
    let alone = only(model, profile, 1);
    let with = |kappa: f64, tracking| {
        let sharing = Sharing {
            speed: 0.0,
            pages: 0.0,
            pass: None,
            kappa: vec![kappa; alone.len()],
            tracking,
        };
        model.memory(&alone, Age::LivedIn, &sharing)
    };
    let unmerged = with(0.0, Tracking::Off);
    let least = unmerged.private + unmerged.unmerged;
    if !model.footprints(Age::LivedIn)[profile].scanned() {
        return least;
    }
    let merging = &model.host.merging;
    // The zero page may have any number of users.
    let copies = if merging.use_zero_pages {
        0.0
    } else {
        unmerged.unmerged / merging.users_per_copy
    };
    least.min(with(1.0, Tracking::On).private + copies)
}

/// Counts of one profile alone.
pub(super) fn only(model: &HostModel, profile: usize, n: u64) -> Vec<u64> {
    let mut counts = vec![0; model.lab.guests.len()];
    counts[profile] = n;
    counts
}
