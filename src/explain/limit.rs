//! What each resource may be asked for, with its numbers.

use super::context::Context;
use super::step::PROJECT;
use crate::model::endurance::most_written;
use crate::model::number::{Measure, Number};
use crate::model::tape::Term;
use crate::sizing::resource::Resource;

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

/// The limit with its numbers; a resource whose limit is not given is not considered.
pub(super) fn filled<'a>(context: &Context<'a>, resource: Resource) -> Option<Term<'a>> {
    let worked = context.worked;
    let (host, policy) = (context.model.host, &context.model.lab.policy);
    let share = |key, value| worked.policy(key, value, Measure::Share);
    let plain = |key, value| worked.policy(key, value, Measure::Plain);
    let time = |key, value| worked.policy(key, value, Measure::Seconds);
    Some(match resource {
        Resource::Memory => worked.usable(),
        Resource::Cpu => {
            plain("cpu_slowdown", policy.cpu_slowdown) * worked.cpu_supply(context.counts)
        }
        Resource::CpuWait => time("max_mean_wait", policy.max_mean_wait?),
        Resource::Vcpus => plain("max_vcpus_per_thread", policy.max_vcpus_per_thread?),
        Resource::DiskSpace(pool) => {
            let keep_free = share("disk_keep_free", policy.disk_keep_free);
            worked.usable_space(pool) * (Term::of(1.0) - keep_free)
        }
        Resource::DiskIops(_) => share("disk_ceiling", policy.disk_ceiling),
        Resource::DiskWrites(pool) => most_written(
            worked.writes_left(pool)?,
            time("service_life", policy.service_life),
            worked.write_factors(pool),
        ),
        Resource::Network => worked.network_ceiling() * worked.link()?,
        Resource::Backup => {
            let window = host.backup.as_ref()?.window;
            worked.own("backup.window", window, Measure::Seconds)
        }
        Resource::Power => worked.policy("power_budget", policy.power_budget?, Measure::Watts),
        Resource::Guests => plain("max_guests", policy.max_guests? as f64),
    })
}

/// Keys that decide how the limit is worked out, or that stand behind its numbers.
pub(super) fn keys(context: &Context, resource: Resource) -> Vec<String> {
    match resource {
        Resource::Cpu => context.host(&["cpu.groups", "cpu.base_cores"]),
        Resource::DiskSpace(pool) => context.pool(pool, &["devices", "layout", "ways"]),
        Resource::DiskWrites(pool) => context.pool(pool, &["layout", "ways"]),
        _ => Vec::new(),
    }
}
