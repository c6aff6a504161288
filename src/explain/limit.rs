//! What each resource may be asked for, with its numbers.

use super::context::Context;
use super::cpu::total;
use super::filled::{Filled, bit_rate, disk, max, plain, seconds, share, watts};
use super::step::PROJECT;
use super::supply::usable;
use crate::lab::Pool;
use crate::sizing::resource::Resource;
use crate::sizing::storage::{PoolIndex, cost, write_factors};

/// Formula of the limit and its source.
pub(super) fn law(resource: Resource) -> (&'static str, &'static str) {
    match resource {
        Resource::Memory => (
            "usable: visible − base − file_cache − keep_free·visible",
            PROJECT,
        ),
        Resource::Cpu => (
            "cpu_slowdown·(Σ cores·speed·(1 + (threads − 1)·smt_gain) − base_cores − S·scan_cost)",
            "definition of this project; smt_gain common practice, measured means Tuck & Tullsen, PACT 2003",
        ),
        Resource::CpuWait => ("max_mean_wait", PROJECT),
        Resource::Vcpus => ("max_vcpus_per_thread", PROJECT),
        Resource::DiskSpace(_) => (
            "usable devices·capacity·(1 − disk_keep_free)",
            "Patterson, Gibson & Katz 1988 for the layout",
        ),
        Resource::DiskIops(_) => ("disk_ceiling", PROJECT),
        Resource::DiskWrites(_) => (
            "max(0, k·(endurance − already_written))/(service_life·amplification·device bytes per byte·wa_ratio)",
            "JEDEC JESD218/219",
        ),
        Resource::Network => ("network_ceiling·link", PROJECT),
        Resource::Backup => ("window", PROJECT),
        Resource::Power => ("power_budget", PROJECT),
        Resource::Guests => ("max_guests", PROJECT),
    }
}

/// The limit with its numbers.
pub(super) fn filled(context: &Context, resource: Resource) -> Filled {
    let host = context.model.host;
    let policy = &context.model.lab.policy;
    // A resource whose limit is not given is not considered.
    let given = |limit: Option<f64>| limit.unwrap_or(f64::NAN);
    match resource {
        Resource::Memory => usable(context),
        Resource::Cpu => {
            let scan = plain(context.model.scan_load(context.counts));
            plain(policy.cpu_slowdown) * (total(context) - plain(host.cpu.base_cores) - scan)
        }
        Resource::CpuWait => seconds(given(policy.max_mean_wait)),
        Resource::Vcpus => plain(given(policy.max_vcpus_per_thread)),
        Resource::DiskSpace(pool) => {
            owned(&host.disks[pool]) * (plain(1.0) - share(policy.disk_keep_free))
        }
        Resource::DiskIops(_) => share(policy.disk_ceiling),
        Resource::DiskWrites(pool) => {
            writes_left(context, pool)
                / (seconds(policy.service_life) * multipliers(&host.disks[pool]))
        }
        Resource::Network => share(policy.network_ceiling) * bit_rate(given(host.link)),
        Resource::Backup => seconds(given(host.backup.as_ref().map(|backup| backup.window))),
        Resource::Power => watts(given(policy.power_budget)),
        Resource::Guests => plain(given(policy.max_guests.map(|most| most as f64))),
    }
}

/// Usable space of a pool.
pub(super) fn owned(pool: &Pool) -> Filled {
    plain(cost(pool).usable_devices) * disk(pool.capacity)
}

/// Rated writes left of all devices; none left is none, not less.
pub(super) fn writes_left(context: &Context, pool: PoolIndex) -> Filled {
    let pool = &context.model.host.disks[pool];
    let rated = pool.endurance.unwrap_or(f64::NAN);
    let left = plain(pool.devices as f64) * (disk(rated) - disk(pool.already_written));
    max([plain(0.0), left])
}

/// What multiplies a written byte: in the file system, by the layout, inside the device.
pub(super) fn multipliers(pool: &Pool) -> Filled {
    let factors = write_factors(pool);
    plain(factors.file_system) * plain(factors.layout) * plain(factors.device)
}

/// Inputs of the limit.
pub(super) fn keys(context: &Context, resource: Resource) -> Vec<String> {
    let space: &[&str] = &["devices", "capacity", "layout", "ways"];
    let writes: &[&str] = &[
        "devices",
        "layout",
        "ways",
        "endurance",
        "already_written",
        "amplification",
        "wa_ratio",
    ];
    let policy = |key: &str| context.policy(&[key]);
    match resource {
        Resource::Memory => [
            context.host(&["memory.base", "memory.file_cache"]),
            policy("memory_keep_free"),
        ]
        .concat(),
        Resource::Cpu => [
            context.host(&["cpu.groups", "cpu.base_cores"]),
            policy("cpu_slowdown"),
        ]
        .concat(),
        Resource::CpuWait => policy("max_mean_wait"),
        Resource::Vcpus => policy("max_vcpus_per_thread"),
        Resource::DiskSpace(pool) => [context.pool(pool, space), policy("disk_keep_free")].concat(),
        Resource::DiskIops(_) => policy("disk_ceiling"),
        Resource::DiskWrites(pool) => [context.pool(pool, writes), policy("service_life")].concat(),
        Resource::Network => [context.host(&["network.link"]), policy("network_ceiling")].concat(),
        Resource::Backup => context.host(&["backup.window"]),
        Resource::Power => policy("power_budget"),
        Resource::Guests => policy("max_guests"),
    }
}
