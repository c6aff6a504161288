//! Every resource with its demand and limit, the risk it is judged by, and what is reported beside the limits.

use super::{Context, Law, Number, Section, number};
use crate::inventory::key_path;
use crate::model::{DAY, YEAR, endurance, power, processor};
use crate::sizing::resource::Resource;
use crate::sizing::storage::{cost, write_factors};
use crate::unit::format;

/// What is accepted.
pub(super) fn risk(context: &Context) -> Section {
    let policy = &context.model.lab.policy;
    let mut section = Section::new("Risk accepted");
    for (name, value, key, formula) in [
        (
            "memory_risk",
            policy.memory_risk,
            "memory_risk",
            "P(memory demand > limit) ≤ memory_risk, a hard limit",
        ),
        (
            "slow_risk",
            policy.slow_risk,
            "slow_risk",
            "P(demand > limit) ≤ slow_risk, a soft limit",
        ),
        (
            "correlation",
            policy.correlation,
            "correlation",
            "busy with probability Φ((Φ⁻¹(busy) − √r·z)/√(1 − r)) given z, one z for all guests",
        ),
    ] {
        section.step(
            name,
            number::share(value),
            Law { formula, source: "Vasicek 1991, 2002 (one-factor model); Lugannani & Rice 1980 for large sums" },
            format!("{value}"),
            context.inputs(&context.policy(&[key])),
        );
    }
    section
}

/// A section a resource.
pub(super) fn resources(context: &Context) -> Vec<Section> {
    Resource::all(context.model)
        .into_iter()
        .filter_map(|resource| one(context, resource))
        .collect()
}

fn one(context: &Context, resource: Resource) -> Option<Section> {
    let model = context.model;
    let strain = resource.strain(model, context.counts)?;
    let name = resource.name(model);
    let mut section = Section::new(format!("Resource {name}"));
    let unit = resource.unit();
    let words = |value: f64| resource.text(value);
    let as_number = |value: f64| Number {
        value,
        unit,
        text: words(value),
    };
    let law = law(resource);
    section.step(
        "mean",
        as_number(strain.mean()),
        Law {
            formula: law.mean,
            source: law.source,
        },
        mean_filled(context, resource, &words(strain.mean())),
        context.inputs(&keys(context, resource)),
    );
    let at_risk = strain.at_risk();
    section.step(
        "at_risk",
        as_number(at_risk),
        Law {
            formula: "smallest x with P(demand > x) ≤ risk; the mean where nothing is random",
            source: "one-factor binomial sum, exact on its atoms or by saddlepoint",
        },
        format!("risk {}", format::share(strain.risk)),
        Vec::new(),
    );
    section.step(
        "limit",
        as_number(strain.limit),
        Law {
            formula: law.limit,
            source: law.source,
        },
        limit_filled(context, resource),
        context.inputs(&limit_keys(context, resource)),
    );
    let load = strain.load(at_risk);
    section.step(
        "load",
        number::share(load),
        Law {
            formula: if strain.mean_limit.is_some() {
                "max(at_risk/limit, mean/supply)"
            } else {
                "at_risk/limit"
            },
            source: "definition of this project",
        },
        match strain.mean_limit {
            Some(supply) => format!(
                "max({}/{}, {}/{})",
                words(at_risk),
                words(strain.limit),
                words(strain.mean()),
                words(supply)
            ),
            None => format!("{}/{}", words(at_risk), words(strain.limit)),
        },
        Vec::new(),
    );
    Some(section)
}

/// Formulas of a resource.
struct ResourceLaw {
    mean: &'static str,
    limit: &'static str,
    source: &'static str,
}

fn law(resource: Resource) -> ResourceLaw {
    let project = "definition of this project";
    let (mean, limit, source) = match resource {
        Resource::Memory => (
            "private + merged + not merged + Σ n·busy·Δ",
            "usable",
            project,
        ),
        Resource::Cpu => (
            "Σ n·vcpus·(idle_load + busy·(busy_load − idle_load))",
            "cpu_slowdown·(Σ cores·speed·(1 + (threads − 1)·smt_gain) − base_cores − S·scan_cost)",
            "definition of this project; smt_gain common practice, measured means Tuck & Tullsen, PACT 2003",
        ),
        Resource::CpuWait => (
            "C(c, A)·cpu_slice/(c − A), c hardware threads, A = c·mean demand/supply",
            "max_mean_wait",
            "Erlang C, M/M/c",
        ),
        Resource::Vcpus => (
            "Σ n·vcpus/hardware threads",
            "max_vcpus_per_thread",
            "definition",
        ),
        Resource::DiskSpace(_) => (
            "base_used + image copies + Σ n·min(disk_size, disk_used + disk_grows·disk_horizon), copies with their image",
            "usable devices·capacity·(1 − disk_keep_free)",
            "Patterson, Gibson & Katz 1988 for the layout",
        ),
        Resource::DiskIops(_) => (
            "Σ n·[(reads + writes·read-backs)/(k·read_iops) + writes·device writes/(k·write_iops)]",
            "disk_ceiling",
            "Patterson, Gibson & Katz 1988; utilisation law, Denning & Buzen 1978",
        ),
        Resource::DiskWrites(_) => (
            "Σ n·written + base_written",
            "k·(endurance − already_written)/(service_life·amplification·device bytes per byte·wa_ratio)",
            "JEDEC JESD218/219",
        ),
        Resource::Network => (
            "Σ n·(net_idle + busy·(net_busy − net_idle))",
            "network_ceiling·link",
            project,
        ),
        Resource::Backup => (
            "Σ n·backup/min(speed, network_ceiling·link/8)",
            "window",
            project,
        ),
        Resource::Power => (
            "idle + (busy − idle)·(mean demand + base_cores + S·scan_cost)/total + extra",
            "power_budget",
            "Fan, Weber & Barroso, ISCA 2007, linear model",
        ),
        Resource::Guests => ("Σ n", "max_guests", "definition"),
    };
    ResourceLaw {
        mean,
        limit,
        source,
    }
}

/// The mean as a sum over the profiles that run.
fn mean_filled(context: &Context, resource: Resource, total: &str) -> String {
    let model = context.model;
    let rows = model
        .lab
        .guests
        .iter()
        .zip(context.counts)
        .filter(|(_, n)| **n > 0);
    let between = |idle: f64, busy: f64, chance: f64| idle + chance * (busy - idle);
    let parts: Vec<String> = rows
        .map(|(guest, n)| {
            let text = match resource {
                Resource::Cpu | Resource::Power => {
                    let per_vcpu = between(guest.idle_load, guest.busy_load, guest.busy);
                    format!("{} vCPUs at {}", guest.vcpus, format::share(per_vcpu))
                }
                Resource::Network => {
                    format::bit_rate(between(guest.net_idle, guest.net_busy, guest.busy))
                }
                Resource::DiskIops(_) => format!(
                    "({} reads/s + {} writes/s)",
                    format::number(between(guest.reads_idle, guest.reads_busy, guest.busy)),
                    format::number(between(guest.writes_idle, guest.writes_busy, guest.busy))
                ),
                Resource::DiskWrites(_) => format::bytes_per_day(guest.written * DAY),
                Resource::DiskSpace(_) => format!(
                    "{} of at most {}",
                    format::bytes(guest.disk_used),
                    format::bytes(guest.disk_size)
                ),
                Resource::Backup => format::bytes(guest.backup * DAY),
                Resource::Vcpus => format!("{} vCPUs", guest.vcpus),
                Resource::Memory | Resource::CpuWait | Resource::Guests => return n.to_string(),
            };
            format!("{n}·{text}")
        })
        .collect();
    match resource {
        Resource::Memory | Resource::CpuWait => total.to_owned(),
        _ if parts.is_empty() => "no guest".to_owned(),
        _ => parts.join(" + "),
    }
}

fn limit_filled(context: &Context, resource: Resource) -> String {
    let model = context.model;
    let policy = &model.lab.policy;
    match resource {
        Resource::Cpu => {
            let groups: Vec<String> = model
                .host
                .cpu
                .groups
                .iter()
                .map(|g| {
                    format!(
                        "{}·{}·(1 + {}·{})",
                        g.cores,
                        g.speed,
                        g.threads - 1,
                        g.smt_gain
                    )
                })
                .collect();
            format!(
                "{}·({} − {} − {})",
                policy.cpu_slowdown,
                groups.join(" + "),
                model.host.cpu.base_cores,
                format::number(model.scan_load(context.counts))
            )
        }
        Resource::DiskSpace(pool) => {
            let devices = &model.host.disks[pool];
            format!(
                "{}·{}·(1 − {})",
                cost(devices).usable_devices,
                format::decimal_bytes(devices.capacity),
                policy.disk_keep_free
            )
        }
        Resource::DiskWrites(pool) => {
            let devices = &model.host.disks[pool];
            let factors = write_factors(devices);
            let left = model.writes_left(pool).unwrap_or(0.0);
            format!(
                "{}/({}·{}·{}·{})",
                format::decimal_bytes(left),
                format::seconds(policy.service_life),
                factors.file_system,
                factors.layout,
                factors.device
            )
        }
        Resource::Network => {
            format!(
                "{}·{}",
                policy.network_ceiling,
                format::bit_rate(model.host.link.unwrap_or(0.0))
            )
        }
        Resource::Memory => format::bytes(model.usable()),
        Resource::DiskIops(_) => format::share(policy.disk_ceiling),
        Resource::Backup => model
            .host
            .backup
            .as_ref()
            .map_or_else(String::new, |backup| format::seconds(backup.window)),
        Resource::Power => policy.power_budget.map_or_else(String::new, format::power),
        Resource::CpuWait => policy
            .max_mean_wait
            .map_or_else(String::new, format::seconds),
        Resource::Vcpus => policy
            .max_vcpus_per_thread
            .map_or_else(String::new, format::number),
        Resource::Guests => policy.max_guests.map_or_else(String::new, format::count),
    }
}

/// Inputs of the demand.
fn keys(context: &Context, resource: Resource) -> Vec<String> {
    let guest: &[&str] = match resource {
        Resource::Cpu | Resource::Power | Resource::CpuWait => {
            &["vcpus", "idle_load", "busy_load", "busy"]
        }
        Resource::Vcpus => &["vcpus"],
        Resource::DiskSpace(_) => &[
            "disk",
            "clone",
            "disk_used",
            "disk_size",
            "disk_grows",
            "trims",
        ],
        Resource::DiskIops(_) => &["reads_idle", "reads_busy", "writes_idle", "writes_busy"],
        Resource::DiskWrites(_) => &["written"],
        Resource::Network => &["net_idle", "net_busy"],
        Resource::Backup => &["backup"],
        Resource::Memory | Resource::Guests => &[],
    };
    let mut keys = context.every_guest(guest);
    if let Resource::DiskSpace(_) = resource {
        for image in &context.model.lab.images {
            keys.push(key_path(&["image", &image.name, "size"]));
            keys.push(key_path(&["image", &image.name, "disk"]));
        }
        keys.extend(context.policy(&["disk_horizon"]));
    }
    keys
}

/// Inputs of the limit.
fn limit_keys(context: &Context, resource: Resource) -> Vec<String> {
    let policy: &[&str] = match resource {
        Resource::Memory => &["memory_keep_free"],
        Resource::Cpu => &["cpu_slowdown"],
        Resource::CpuWait => &["max_mean_wait", "cpu_slice"],
        Resource::Vcpus => &["max_vcpus_per_thread"],
        Resource::DiskSpace(_) => &["disk_keep_free"],
        Resource::DiskIops(_) => &["disk_ceiling"],
        Resource::DiskWrites(_) => &["service_life"],
        Resource::Network | Resource::Backup => &["network_ceiling"],
        Resource::Power => &["power_budget"],
        Resource::Guests => &["max_guests"],
    };
    let pool_keys: &[&str] = match resource {
        Resource::DiskSpace(_) => &["devices", "capacity", "layout", "ways", "base_used"],
        Resource::DiskIops(_) => &["devices", "layout", "ways", "read_iops", "write_iops"],
        Resource::DiskWrites(_) => &[
            "devices",
            "endurance",
            "already_written",
            "amplification",
            "wa_ratio",
            "base_written",
        ],
        _ => &[],
    };
    let host: &[&str] = match resource {
        Resource::Cpu => &["cpu.groups", "cpu.base_cores"],
        Resource::Network => &["network.link"],
        Resource::Backup => &["network.link", "backup.speed", "backup.window"],
        Resource::Power => &["power.idle", "power.busy", "power.extra"],
        _ => &[],
    };
    let mut keys = context.policy(policy);
    keys.extend(context.host(host));
    if let Resource::DiskSpace(pool) | Resource::DiskIops(pool) | Resource::DiskWrites(pool) =
        resource
    {
        keys.extend(context.pool(pool, pool_keys));
    }
    keys
}

/// Numbers that are reported but limit nothing.
pub(super) fn beside(context: &Context) -> Section {
    let model = context.model;
    let mut section = Section::new("Reported beside the limits");
    let threads = processor::hardware_threads(&model.host.cpu.groups);
    let vcpus = model.vcpus(context.counts);
    section.step(
        "vCPUs per hardware thread",
        number::plain(vcpus / threads as f64, ""),
        Law {
            formula: "Σ n·vcpus/Σ cores·threads",
            source: "definition",
        },
        format!("{}/{threads}", format::number(vcpus)),
        Vec::new(),
    );
    let queue = model.queue(context.counts);
    let erlang = "Erlang C, M/M/c; mean service cpu_slice is an assumption";
    let offered =
        threads as f64 * model.cpu_demand(context.counts).mean() / model.cpu_supply(context.counts);
    let filled = format!("c = {threads}, A = {}", format::number(offered));
    section.step(
        "chance of a wait in the run queue",
        number::share(queue.map_or(f64::INFINITY, |queue| queue.chance)),
        Law {
            formula: "C(c, A), A = c·mean demand/supply; no bound where A ≥ c",
            source: erlang,
        },
        filled.clone(),
        context.inputs(&context.policy(&["cpu_slice"])),
    );
    section.step(
        "mean wait in the run queue",
        number::seconds(queue.map_or(f64::INFINITY, |queue| queue.mean_wait)),
        Law {
            formula: "C(c, A)·cpu_slice/(c − A)",
            source: erlang,
        },
        filled,
        Vec::new(),
    );
    for pool in 0..model.host.disks.len() {
        pool_numbers(context, pool, &mut section);
    }
    power_numbers(context, &mut section);
    section
}

fn pool_numbers(context: &Context, pool: usize, section: &mut Section) {
    let model = context.model;
    let devices = &model.host.disks[pool];
    let name = &devices.name;
    let factors = write_factors(devices);
    let written = model.written(pool, context.counts);
    let owned = model.usable_space(pool);
    let used = model.space_used(pool, context.counts, model.lab.policy.disk_horizon);
    section.step(
        format!("{name}: fill"),
        number::share(used / owned),
        Law {
            formula: "used/usable",
            source: "definition",
        },
        format!("{}/{}", format::bytes(used), format::bytes(owned)),
        Vec::new(),
    );
    let promised = model.space_promised(pool, context.counts);
    section.step(
        format!("{name}: promised over owned"),
        number::share(promised / owned),
        Law {
            formula: "Σ n·disk_size/usable",
            source: "definition",
        },
        format!("{}/{}", format::bytes(promised), format::bytes(owned)),
        Vec::new(),
    );
    if let Some(seconds) = model.full_in(pool, context.counts) {
        section.step(
            format!("{name}: full in"),
            number::seconds(seconds),
            Law { formula: "when Σ n·min(disk_size, disk_used + disk_grows·t) + the rest reaches usable", source: "definition of this project" },
            format!("{} left now", format::bytes((owned - model.space_used(pool, context.counts, 0.0)).max(0.0))),
            Vec::new(),
        );
    }
    if let Some(left) = model.writes_left(pool) {
        section.step(
            format!("{name}: rated writes used up in"),
            number::years(endurance::life(left, written, factors) / YEAR),
            Law { formula: "k·(endurance − already_written)/(365.25 d·written·amplification·device bytes per byte·wa_ratio)", source: "JEDEC JESD218/219" },
            format!(
                "{}/({}·{} in the file system·{} by the layout·{} inside the device)",
                format::decimal_bytes(left),
                format::bytes_per_day(written * DAY),
                factors.file_system,
                factors.layout,
                factors.device
            ),
            Vec::new(),
        );
        let spare = (owned / used.max(1.0) - 1.0).max(0.0);
        if spare > 0.0 {
            section.step(
                format!("{name}: write amplification at this fill, for comparison"),
                number::plain(endurance::write_amplification(spare), "×"),
                Law { formula: "(1 + ρ)/(1 + ρ + W(−(1 + ρ)·e^(−(1 + ρ)))), ρ = usable/used − 1", source: "Xiang & Kurkoski 2012, uniform random writes; the rating holds part of it, so only wa_ratio is applied" },
                format!("ρ = {}", format::number(spare)),
                Vec::new(),
            );
        }
    }
}

fn power_numbers(context: &Context, section: &mut Section) {
    let model = context.model;
    let (Some(watts), Some(given)) = (model.mean_watts(context.counts), model.host.power.as_ref())
    else {
        return;
    };
    let scan = model.scan_load(context.counts);
    section.step(
        "watts at the wall, busy hour",
        number::plain(watts, "W"),
        Law { formula: "idle + (busy − idle)·min(1, (mean demand + base_cores + S·scan_cost)/total) + extra", source: "Fan, Weber & Barroso, ISCA 2007, linear model" },
        format!(
            "{} + ({} − {})·({} + {} + {})/{} + {}",
            given.idle,
            given.busy,
            given.idle,
            format::number(model.cpu_demand(context.counts).mean()),
            model.host.cpu.base_cores,
            format::number(scan),
            format::number(model.total_cores),
            given.extra
        ),
        context.inputs(&context.host(&["power.idle", "power.busy", "power.extra"])),
    );
    let kwh = power::kwh_per_year(watts);
    section.step(
        "energy a year, an upper bound",
        number::plain(kwh, "kWh"),
        Law {
            formula: "watts·8.76",
            source: "definition, the busy hour's mean load all year",
        },
        format!("{}·8.76", format::number(watts)),
        Vec::new(),
    );
    if let Some(tariff) = model.lab.tariff {
        section.step(
            "energy cost over the horizon",
            number::plain(
                crate::model::cost::running(model.lab.years, kwh, tariff),
                "money",
            ),
            Law {
                formula: "years·kWh·tariff",
                source: "definition",
            },
            format!("{}·{}·{tariff}", model.lab.years, format::number(kwh)),
            context.inputs(&["lab.years".to_owned(), "lab.tariff".to_owned()]),
        );
    }
}
