//! The figures of a host at a composition, beside the counts.

use super::answer::{CostAnswer, CpuAnswer, DiskAnswer, MemoryAnswer, PowerAnswer};
use super::host::HostModel;
use super::memory::Activity;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::model::{DAY, GIB, YEAR, cost, endurance, power};

pub(super) fn memory_answer(model: &HostModel, counts: &[u64]) -> MemoryAnswer {
    let model = model.fullest(counts);
    let scan = model.counted_scan();
    let sharing = model.sharing(counts, Age::LivedIn, scan);
    let promised = model.promised(counts);
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
        settled: model.settled_used(counts, Age::LivedIn, Activity::Mean),
    }
}

pub(super) fn cpu_answer(model: &HostModel, counts: &[u64]) -> CpuAnswer {
    let model = model.busiest(counts);
    let queue = model.queue(counts);
    let vcpus = model.vcpus(counts);
    CpuAnswer {
        supply: model.cpu_supply(counts),
        vcpus,
        threads: model.threads,
        vcpus_per_thread: vcpus / model.threads,
        wait_chance: queue.map(|queue| queue.worst.chance),
        mean_wait_s: queue.map(|queue| queue.worst.mean),
        usual_wait_chance: queue.map(|queue| queue.mean.chance),
        usual_mean_wait_s: queue.map(|queue| queue.mean.mean),
    }
}

/// The pools of the host, in its order.
pub(super) fn disk_answers(model: &HostModel, counts: &[u64]) -> Vec<DiskAnswer> {
    let pools = 0..model.host.disks.len();
    pools.map(|pool| disk_answer(model, pool, counts)).collect()
}

fn disk_answer(model: &HostModel, pool: usize, counts: &[u64]) -> DiskAnswer {
    let devices = &model.host.disks[pool];
    let factors = model.write_factors(pool);
    let written = model.written(pool, counts);
    let used = model.space_used(pool, counts, model.lab.policy.disk_horizon);
    let owned = model.usable_space(pool);
    let life = model
        .writes_left(pool)
        .map(|left| endurance::life(left, written, factors) / YEAR);
    DiskAnswer {
        name: devices.name.clone(),
        rated: life.is_some(),
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

pub(super) fn power_answer(model: &HostModel, counts: &[u64]) -> Option<PowerAnswer> {
    let watts = model.most_watts(counts)?;
    let guests: u64 = counts.iter().sum();
    Some(PowerAnswer {
        watts,
        watts_per_guest: (guests > 0).then(|| watts / guests as f64),
        kwh_per_year: power::kwh_per_year(model.average_watts(counts)?),
    })
}

pub(super) fn cost_answer(model: &HostModel, counts: &[u64]) -> Option<CostAnswer> {
    let lab = model.lab;
    let price = model.host.price;
    let energy = model.average_watts(counts).map(power::kwh_per_year);
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
    let gib = model.promised(counts) / GIB;
    Some(CostAnswer {
        price,
        running,
        running_per_year: energy.zip(lab.tariff).map(|(kwh, tariff)| kwh * tariff),
        total,
        per_guest: total
            .filter(|_| guests > 0)
            .map(|total| total / guests as f64),
        per_gib: total.filter(|_| gib > 0.0).map(|total| total / gib),
    })
}
