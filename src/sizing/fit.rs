//! How many guests fit on a host and what runs out first.

use super::answer::{
    CostAnswer, CpuAnswer, DiskAnswer, FitAnswer, Guess, HostAnswer, MemoryAnswer, Outcome,
    PowerAnswer, ResourceAnswer, State,
};
use super::caution::cautions;
use super::composition::Unit;
use super::host::HostModel;
use super::memory::{MemoryCount, Scan};
use super::resource::{Resource, Strain};
use super::search::{Largest, largest};
use super::storage::write_factors;
use crate::inventory::key_path;
use crate::inventory::keys::later_command;
use crate::inventory::lab::{DefaultOrigin, Host, Lab, Source};
use crate::model::footprint::Age;
use crate::model::{DAY, GIB, YEAR, cost, endurance, power, within};

/// Version of the JSON contract.
pub const CONTRACT: u32 = 1;

/// Answers for the given hosts of a lab.
#[must_use]
pub fn fit(lab: &Lab, hosts: &[&Host]) -> FitAnswer {
    let hosts = hosts.iter().map(|host| fit_host(lab, host)).collect();
    FitAnswer {
        report: "fit",
        version: CONTRACT,
        lab: lab.name.clone(),
        hosts,
    }
}

/// The largest N of a resource by itself.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    /// Which resource.
    pub resource: Resource,
    /// Its largest N.
    pub largest: Largest,
}

/// The largest N for a random demand: searched by the cheap guide first, then settled by the exact law.
fn largest_within(model: &HostModel, strain: impl Fn(&[u64]) -> Strain) -> Largest {
    let nearly = |n| strain(&model.composition.counts(n)).nearly_within();
    let guess = match largest(0, nearly) {
        Largest::Bound(n) => n,
        Largest::Unbounded => super::search::MOST_GUESTS,
        Largest::Broken => 0,
    };
    largest(guess, |n| strain(&model.composition.counts(n)).within())
}

/// The largest N of every resource that is considered, in binding order: broken ones first, then by N, unbounded last.
#[must_use]
pub fn find_all(model: &HostModel) -> Vec<Found> {
    let none = model.composition.counts(0);
    let mut found: Vec<Found> = Resource::all(model)
        .into_iter()
        .filter(|resource| resource.strain(model, &none).is_some())
        .map(|resource| Found {
            resource,
            largest: largest_of(model, resource),
        })
        .collect();
    found.sort_by_key(|one| match one.largest {
        Largest::Broken => (0, 0),
        Largest::Bound(n) => (1, n),
        Largest::Unbounded => (2, 0),
    });
    found
}

fn largest_of(model: &HostModel, resource: Resource) -> Largest {
    // Whether a resource is considered does not depend on N, so a missing strain cannot happen here.
    largest_within(model, |counts| {
        resource
            .strain(model, counts)
            .unwrap_or_else(|| unreachable!("considered at every count"))
    })
}

/// The largest N for one of memory's counts; none where there is no bound or no guest at all is within.
#[must_use]
pub fn memory_count(model: &HostModel, count: MemoryCount) -> Option<u64> {
    bound(largest_within(model, |counts| {
        let (demand, limit) = model.memory_demand(counts, count);
        Strain {
            demand,
            limit,
            risk: model.lab.policy.memory_risk,
            mean_limit: None,
            most: f64::INFINITY,
        }
    }))
}

fn bound(found: Largest) -> Option<u64> {
    match found {
        Largest::Bound(n) => Some(n),
        Largest::Unbounded | Largest::Broken => None,
    }
}

/// First N whose mean demand passes the cliff while the file-system cache holds `cache` bytes.
#[must_use]
pub fn breaks_at(model: &HostModel, cache: f64) -> Option<u64> {
    let holds = |n: u64| {
        let (mean, cliff) = model.cliff(&model.composition.counts(n), cache);
        within(mean, cliff)
    };
    match largest(0, holds) {
        Largest::Bound(n) => Some(n + 1),
        Largest::Unbounded => None,
        Largest::Broken => Some(0),
    }
}

/// The plain sum people know: the largest N whose configured memory fits beside the host's own.
#[must_use]
pub fn plain_sum(model: &HostModel) -> Option<u64> {
    let fits = |n: u64| {
        within(
            promised(model, &model.composition.counts(n)),
            model.beside_base(),
        )
    };
    bound(largest(0, fits))
}

fn promised(model: &HostModel, counts: &[u64]) -> f64 {
    model.sum(counts, |guest| guest.memory)
}

/// Answers for one host.
#[must_use]
pub fn fit_host(lab: &Lab, host: &Host) -> HostAnswer {
    let model = HostModel::new(lab, host);
    let found = find_all(&model);
    let first = found.first().map(|one| one.largest);
    let fits = first.and_then(bound);
    let binds: Vec<Resource> = match first {
        None | Some(Largest::Unbounded) => Vec::new(),
        Some(lowest) => found
            .iter()
            .filter(|one| one.largest == lowest)
            .map(|one| one.resource)
            .collect(),
    };
    let counts = model.composition.counts(fits.unwrap_or(0));
    let resources: Vec<ResourceAnswer> = found
        .iter()
        .filter_map(|one| resource_answer(&model, &counts, one))
        .collect();
    let not_considered = Resource::all(&model)
        .into_iter()
        .filter(|resource| !found.iter().any(|one| one.resource == *resource))
        .map(|resource| resource.name(&model))
        .collect();
    let mut answer = HostAnswer {
        name: host.name.clone(),
        fits,
        binds: binds.iter().map(|resource| resource.name(&model)).collect(),
        breaks_at: breaks_at(&model, host.memory.file_cache_floor),
        breaks_at_sudden: breaks_at(&model, host.memory.file_cache),
        fresh: memory_count(&model, MemoryCount::Fresh),
        unshared: memory_count(&model, MemoryCount::Unshared),
        stretched: memory_count(&model, MemoryCount::Stretched),
        plain_sum: plain_sum(&model),
        guests: counts.iter().sum(),
        mix: lab
            .guests
            .iter()
            .zip(&counts)
            .map(|(guest, n)| (guest.name.clone(), *n))
            .collect(),
        unit: match model.composition.unit() {
            Unit::Guests => "guests",
            Unit::Sets => "sets",
        },
        resources,
        not_considered,
        guesses: guesses(lab, host),
        memory: memory_answer(&model, &counts),
        cpu: cpu_answer(&model, &counts),
        disk: (0..host.disks.len())
            .map(|pool| disk_answer(&model, pool, &counts))
            .collect(),
        power: power_answer(&model, &counts),
        cost: cost_answer(&model, &counts),
        cautions: Vec::new(),
        outcome: outcome(&model, first),
    };
    answer.cautions = cautions(&model, &counts, &answer);
    answer
}

/// Nothing fits where a resource is broken, or N is 0 and nothing fixed runs.
fn outcome(model: &HostModel, first: Option<Largest>) -> Outcome {
    match first {
        Some(Largest::Broken) => Outcome::DoesNotFit,
        Some(Largest::Bound(0)) if !model.composition.has_fixed_beside() => Outcome::DoesNotFit,
        Some(Largest::Bound(_) | Largest::Unbounded) | None => Outcome::Fits,
    }
}

fn resource_answer(model: &HostModel, counts: &[u64], found: &Found) -> Option<ResourceAnswer> {
    let strain = found.resource.strain(model, counts)?;
    let at_risk = strain.at_risk();
    Some(ResourceAnswer {
        name: found.resource.name(model),
        state: match found.largest {
            Largest::Bound(_) => State::Bound,
            Largest::Unbounded => State::Unbounded,
            Largest::Broken => State::Broken,
        },
        unit: found.resource.unit(),
        fits: bound(found.largest),
        limit: strain.limit,
        mean: strain.mean(),
        at_risk,
        load: strain.load(at_risk),
        resource: found.resource,
    })
}

fn memory_answer(model: &HostModel, counts: &[u64]) -> MemoryAnswer {
    let scan = model.counted_scan();
    let sharing = model.sharing(counts, Age::LivedIn, scan);
    let promised = promised(model, counts);
    let used = |scan| model.mean_used(counts, Age::LivedIn, scan);
    MemoryAnswer {
        visible: model.visible,
        usable: model.usable(),
        cliff: model.cliff(counts, model.host.memory.file_cache_floor).1,
        promised,
        overcommit: promised / model.visible,
        shared_saved: used(Scan::Off) - used(scan),
        kappa: model.kappa(counts, &sharing),
        scan_pass_s: sharing.pass,
        settled: model.settled_used(counts, Age::LivedIn),
    }
}

fn cpu_answer(model: &HostModel, counts: &[u64]) -> CpuAnswer {
    let queue = model.queue(counts);
    let vcpus = model.vcpus(counts);
    CpuAnswer {
        supply: model.cpu_supply(counts),
        vcpus,
        threads: model.threads,
        vcpus_per_thread: vcpus / model.threads,
        wait_chance: queue.map(|queue| queue.chance),
        mean_wait_s: queue.map(|queue| queue.mean_wait),
    }
}

fn disk_answer(model: &HostModel, pool: usize, counts: &[u64]) -> DiskAnswer {
    let devices = &model.host.disks[pool];
    let factors = write_factors(devices);
    let written = model.written(pool, counts);
    let used = model.space_used(pool, counts, model.lab.policy.disk_horizon);
    let owned = model.usable_space(pool);
    let life = model
        .writes_left(pool)
        .map(|left| endurance::life(left, written, factors) / YEAR);
    DiskAnswer {
        name: devices.name.clone(),
        life_years: life.filter(|years| years.is_finite()),
        fill: used / owned,
        promised: model.space_promised(pool, counts),
        owned,
        full_in_days: model.full_in(pool, counts).map(|seconds| seconds / DAY),
        used,
        written_per_day: written * DAY,
        device_written_per_day: written * factors.file_system * factors.layout * DAY,
    }
}

fn power_answer(model: &HostModel, counts: &[u64]) -> Option<PowerAnswer> {
    let watts = model.mean_watts(counts)?;
    Some(PowerAnswer {
        watts,
        kwh_per_year: power::kwh_per_year(watts),
    })
}

fn cost_answer(model: &HostModel, counts: &[u64]) -> Option<CostAnswer> {
    let lab = model.lab;
    let price = model.host.price;
    let energy = model.mean_watts(counts).map(power::kwh_per_year);
    let running = energy
        .zip(lab.tariff)
        .map(|(kwh, tariff)| cost::running(lab.years, kwh, tariff));
    if price.is_none() && running.is_none() {
        return None;
    }
    let total = price
        .zip(running)
        .map(|(price, running)| price + running)
        .or(price);
    let guests: u64 = counts.iter().sum();
    let gib = promised(model, counts) / GIB;
    Some(CostAnswer {
        price,
        running,
        total,
        per_guest: total
            .filter(|_| guests > 0)
            .map(|total| total / guests as f64),
        per_gib: total.filter(|_| gib > 0.0).map(|total| total / gib),
    })
}

/// Values that nobody gave, that rest on an assumption and that this answer uses: of all guests, and of this host.
fn guesses(lab: &Lab, host: &Host) -> Vec<Guess> {
    let own = key_path(&["host", &host.name]) + ".";
    lab.origins
        .iter()
        .filter(|(key, origin)| {
            matches!(origin.source, Source::Default(DefaultOrigin::Assumption))
                && (!key.starts_with("host.") || key.starts_with(&own))
                && later_command(key).is_none()
        })
        .map(|(key, origin)| Guess {
            key: key.clone(),
            value: origin.text.clone(),
        })
        .collect()
}
