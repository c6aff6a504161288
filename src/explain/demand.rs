//! What each resource is asked for, with its numbers.

use super::context::Context;
use super::cpu::mean_wait;
use super::filled::{
    Filled, bit_rate, byte_rate, bytes, count, disk, min, per_day, plain, seconds, share, sum,
    watts,
};
use super::load;
use super::pool::{busy_share, space, space_keys, written};
use super::step::{DEFINITION, PROJECT};
use crate::lab::Guest;
use crate::model::DAY;
use crate::model::footprint::Age;
use crate::model::network::BITS;
use crate::sizing::resource::Resource;

/// Formula of the mean demand and its source.
pub(super) fn law(resource: Resource) -> (&'static str, &'static str) {
    match resource {
        Resource::Memory => ("private + merged + not merged + Σ n·busy·Δ", PROJECT),
        Resource::Cpu => (
            "Σ n·vcpus·(idle_load + busy·(busy_load − idle_load))",
            PROJECT,
        ),
        Resource::CpuWait => ("C·cpu_slice/(c − A)", "Erlang C, M/M/c"),
        Resource::Vcpus => ("Σ n·vcpus/hardware threads", DEFINITION),
        Resource::DiskSpace(_) => (
            "base_used + images + Σ n·(image of a copy + min(disk_size, disk_used + disk_grows·disk_horizon)); trims = false: disk_size at once",
            PROJECT,
        ),
        Resource::DiskIops(_) => (
            "(reads + writes·read-backs)/(k·read_iops) + writes·device writes/(k·write_iops)",
            "Patterson, Gibson & Katz 1988; utilisation law, Denning & Buzen 1978",
        ),
        Resource::DiskWrites(_) => ("base_written + Σ n·written", PROJECT),
        Resource::Network => ("Σ n·(net_idle + busy·(net_busy − net_idle))", PROJECT),
        Resource::Backup => ("Σ n·backup/min(speed, network_ceiling·link/8)", PROJECT),
        Resource::Power => (
            "idle + (busy − idle)·min(1, (mean demand + base_cores + S·scan_cost)/total) + extra",
            "Fan, Weber & Barroso, ISCA 2007, linear model",
        ),
        Resource::Guests => ("Σ n", DEFINITION),
    }
}

/// A number in the unit of a resource, to work with.
pub(super) fn amount(resource: Resource, value: f64) -> Filled {
    match resource {
        Resource::Memory => bytes(value),
        Resource::DiskSpace(_) => disk(value),
        Resource::Cpu | Resource::Vcpus | Resource::Guests => plain(value),
        Resource::CpuWait | Resource::Backup => seconds(value),
        Resource::DiskIops(_) => share(value),
        Resource::DiskWrites(_) => per_day(value / DAY),
        Resource::Network => bit_rate(value),
        Resource::Power => watts(value),
    }
}

/// The mean of a guest between idle and busy.
pub(super) fn mean(guest: &Guest, idle: Filled, busy: Filled) -> Filled {
    idle.clone() + share(guest.busy) * (busy - idle)
}

/// The mean demand with its numbers.
pub(super) fn filled(context: &Context, resource: Resource) -> Filled {
    let model = context.model;
    match resource {
        Resource::Memory => {
            let sharing = model.sharing(context.counts, Age::LivedIn, model.counted_scan());
            load::mean(context, &sharing)
        }
        Resource::Cpu => context.sum(|guest, _| {
            count(guest.vcpus) * mean(guest, share(guest.idle_load), share(guest.busy_load))
        }),
        Resource::CpuWait => mean_wait(context),
        Resource::Vcpus => context.sum(|guest, _| count(guest.vcpus)) / plain(model.threads),
        Resource::DiskSpace(pool) => space(context, pool, model.lab.policy.disk_horizon),
        Resource::DiskIops(pool) => busy_share(context, pool),
        Resource::DiskWrites(pool) => written(context, pool),
        Resource::Network => {
            context.sum(|guest, _| mean(guest, bit_rate(guest.net_idle), bit_rate(guest.net_busy)))
        }
        Resource::Backup => {
            context.sum(|guest, _| disk(guest.backup * DAY)) / backup_speed(context)
        }
        Resource::Power => power(context),
        Resource::Guests => sum(context.running().map(|(_, n, _, _)| count(n))),
    }
}

fn backup_speed(context: &Context) -> Filled {
    let host = context.model.host;
    let target = host.backup.as_ref().and_then(|backup| backup.speed);
    let ceiling = context.model.lab.policy.network_ceiling;
    let link = host
        .link
        .map(|link| share(ceiling) * bit_rate(link) / plain(BITS));
    match (target.map(byte_rate), link) {
        (Some(target), Some(link)) => min([target, link]),
        (Some(speed), None) | (None, Some(speed)) => speed,
        (None, None) => Filled::words("no bound"),
    }
}

/// Power at the mean load, with its numbers.
pub(super) fn power(context: &Context) -> Filled {
    let model = context.model;
    let Some(given) = model.host.power.as_ref() else {
        return Filled::words("power is not given");
    };
    let asked = plain(model.cpu_demand(context.counts).mean())
        + plain(model.host.cpu.base_cores)
        + plain(model.scan_load(context.counts));
    let load = min([plain(1.0), asked / plain(model.total_cores)]);
    watts(given.idle) + (watts(given.busy) - watts(given.idle)) * load + watts(given.extra)
}

/// Inputs of the demand.
pub(super) fn keys(context: &Context, resource: Resource) -> Vec<String> {
    let loads: &[&str] = &["vcpus", "idle_load", "busy_load", "busy"];
    match resource {
        Resource::Memory => context.every_guest(&["busy"]),
        Resource::Cpu => context.every_guest(loads),
        Resource::Power => [
            context.every_guest(loads),
            context.host(&["power.idle", "power.busy", "power.extra"]),
        ]
        .concat(),
        Resource::CpuWait => [context.every_guest(loads), context.policy(&["cpu_slice"])].concat(),
        Resource::Vcpus => context.every_guest(&["vcpus"]),
        Resource::DiskSpace(pool) => space_keys(context, pool),
        Resource::DiskIops(pool) => context.pool(
            pool,
            &[
                "devices",
                "layout",
                "ways",
                "read_iops",
                "write_iops",
                "sustained_speed",
            ],
        ),
        Resource::DiskWrites(pool) => [
            context.pool(pool, &["base_written"]),
            context.guests_on(pool, &["disk", "written"]),
        ]
        .concat(),
        Resource::Network => context.every_guest(&["net_idle", "net_busy", "busy"]),
        Resource::Backup => [
            context.every_guest(&["backup"]),
            context.host(&["backup.speed", "network.link"]),
            context.policy(&["network_ceiling"]),
        ]
        .concat(),
        Resource::Guests => context.every_guest(&["count", "share"]),
    }
}
