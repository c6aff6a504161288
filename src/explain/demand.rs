//! What each resource is asked for, with its numbers.

use super::claim::{Filled, sum_of_counts, term_or};
use super::context::Context;
use super::cpu::mean_wait;
use super::pool::busy_share;
use super::step::{DEFINITION, PROJECT};
use crate::lab::key_path;
use crate::model::DAY;
use crate::model::footprint::Age;
use crate::model::number::Measure;
use crate::model::tape::Term;
use crate::sizing::resource::Resource;
use crate::sizing::storage::PoolIndex;

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
pub(super) fn amount<'a>(context: &Context<'a>, resource: Resource, value: f64) -> Term<'a> {
    let (value, measure) = match resource {
        Resource::Memory => (value, Measure::Bytes),
        Resource::DiskSpace(_) => (value, Measure::DiskBytes),
        Resource::Cpu | Resource::Vcpus | Resource::Guests => (value, Measure::Plain),
        Resource::CpuWait | Resource::Backup => (value, Measure::Seconds),
        Resource::DiskIops(_) => (value, Measure::Share),
        Resource::DiskWrites(_) => (value / DAY, Measure::BytesPerDay),
        Resource::Network => (value, Measure::BitRate),
        Resource::Power => (value, Measure::Watts),
    };
    context.tape.number(value, measure)
}

/// The mean demand with its numbers.
pub(super) fn filled<'a>(context: &Context<'a>, resource: Resource) -> Filled<'a> {
    let (worked, counts) = (context.worked, context.counts);
    match resource {
        Resource::Memory => {
            let sharing = worked.sharing(counts, Age::LivedIn, worked.counted_scan());
            let load = worked.memory(counts, Age::LivedIn, &sharing);
            worked.mean_memory(counts, &load).into()
        }
        Resource::Cpu => worked.mean_cpu(counts).into(),
        Resource::CpuWait => mean_wait(context, "no bound"),
        Resource::Vcpus => (worked.vcpus(counts) / worked.threads).into(),
        Resource::DiskSpace(pool) => worked.space_used(pool, counts, worked.horizon()).into(),
        Resource::DiskIops(pool) => term_or(busy_share(context, pool), "no bound"),
        Resource::DiskWrites(pool) => worked.written(pool, counts).into(),
        Resource::Network => worked.mean_traffic(counts).into(),
        Resource::Backup => term_or(worked.backup_time(counts), "no bound"),
        Resource::Power => term_or(worked.mean_watts(counts), "power is not given"),
        Resource::Guests => sum_of_counts(context.all_counts()).into(),
    }
}

/// Keys that decide how the demand is worked out, or that stand behind its numbers.
pub(super) fn keys(context: &Context, resource: Resource) -> Vec<String> {
    let loads: &[&str] = &["vcpus", "idle_load", "busy_load", "busy"];
    match resource {
        Resource::Memory => context.every_guest(&["busy"]),
        Resource::Cpu | Resource::Power => context.every_guest(loads),
        Resource::CpuWait => [context.every_guest(loads), context.policy(&["cpu_slice"])].concat(),
        Resource::Vcpus => context.every_guest(&["vcpus"]),
        Resource::DiskSpace(pool) => space_keys(context, pool),
        Resource::DiskIops(pool) => {
            let speeds = ["read_iops", "write_iops", "sustained_speed"];
            [
                context.pool(pool, &["devices", "layout", "ways"]),
                context.pool(pool, &speeds),
            ]
            .concat()
        }
        Resource::DiskWrites(pool) => context.guests_on(pool, &["disk"]),
        Resource::Network => Vec::new(),
        Resource::Backup => [
            context.host(&["backup.speed", "network.link"]),
            context.policy(&["network_ceiling"]),
        ]
        .concat(),
        Resource::Guests => context.every_guest(&["count", "share"]),
    }
}

/// Keys that decide what lies in a pool.
fn space_keys(context: &Context, pool: PoolIndex) -> Vec<String> {
    let images = context.model.images_in(pool, context.counts).into_iter();
    images
        .map(|image| key_path(&["image", &image.name, "disk"]))
        .chain(context.guests_on(
            pool,
            &["disk", "image", "clone", "disk_used", "disk_grows", "trims"],
        ))
        .chain(context.policy(&["disk_horizon"]))
        .collect()
}
