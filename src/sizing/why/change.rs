//! The changes that could move a resource: hardware that an owner can buy, and decisions an owner can take.

use crate::lab::{Host, Lab, Mode};
use crate::model::YEAR;
use crate::sizing::resource::Resource;
use crate::sizing::storage::PoolIndex;

/// One changed value of a lab or its host.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// One more memory module of this size `[B]`.
    OneModule(f64),
    /// All memory modules twice as large.
    LargerModules,
    /// Page sharing on.
    Sharing,
    /// Guests report free memory to the host.
    FreeMemoryReports,
    /// Share of memory kept free.
    KeepFree(f64),
    /// Accepted risk of passing a limit that loses data.
    MemoryRisk(f64),
    /// Accepted risk of passing a limit that makes things slow.
    SlowRisk(f64),
    /// Cores of the first group.
    Cores(u64),
    /// Accepted slowdown of the processor.
    Slowdown(f64),
    /// Accepted mean wait `[s]`.
    MeanWait(f64),
    /// Accepted vCPUs per hardware thread.
    VcpusPerThread(f64),
    /// Devices of a pool: its place, its name, their number.
    Devices(PoolIndex, String, u64),
    /// Share of disk space kept free.
    DiskKeepFree(f64),
    /// Accepted busy share of the disks.
    DiskCeiling(f64),
    /// Rated writes of each device of a pool `[B]`.
    Endurance(PoolIndex, f64),
    /// How long disks have to last `[s]`.
    ServiceLife(f64),
    /// Speed of the link `[bit/s]`.
    Link(f64),
    /// Backup window `[s]`.
    BackupWindow(f64),
    /// What the backup target takes `[B/s]`.
    BackupSpeed(f64),
    /// Power budget `[W]`.
    PowerBudget(f64),
    /// Accepted number of guests.
    MostGuests(u64),
}

impl Change {
    /// The lab and the host with the change made.
    pub(super) fn made(&self, lab: &Lab, host: &Host) -> (Lab, Host) {
        let (mut lab, mut host) = (lab.clone(), host.clone());
        let policy = &mut lab.policy;
        match *self {
            Change::OneModule(size) => host.memory.modules.push(size),
            Change::LargerModules => host.memory.modules.iter_mut().for_each(|size| *size *= 2.0),
            Change::Sharing => host.merging.mode = Mode::Fixed,
            Change::FreeMemoryReports => lab.guests.iter_mut().for_each(|guest| guest.keeps = 0.0),
            Change::KeepFree(share) => policy.memory_keep_free = share,
            Change::MemoryRisk(risk) => policy.memory_risk = risk,
            Change::SlowRisk(risk) => policy.slow_risk = risk,
            Change::Cores(cores) => host.cpu.groups[0].cores = cores,
            Change::Slowdown(slowdown) => policy.cpu_slowdown = slowdown,
            Change::MeanWait(wait) => policy.max_mean_wait = Some(wait),
            Change::VcpusPerThread(most) => policy.max_vcpus_per_thread = Some(most),
            Change::Devices(pool, _, devices) => host.disks[pool].devices = devices,
            Change::DiskKeepFree(share) => policy.disk_keep_free = share,
            Change::DiskCeiling(share) => policy.disk_ceiling = share,
            Change::Endurance(pool, rated) => host.disks[pool].endurance = Some(rated),
            Change::ServiceLife(life) => policy.service_life = life,
            Change::Link(speed) => host.link = Some(speed),
            Change::BackupWindow(window) => {
                host.backup.iter_mut().for_each(|own| own.window = window);
            }
            Change::BackupSpeed(speed) => {
                host.backup
                    .iter_mut()
                    .for_each(|own| own.speed = Some(speed));
            }
            Change::PowerBudget(budget) => policy.power_budget = Some(budget),
            Change::MostGuests(most) => policy.max_guests = Some(most),
        }
        (lab, host)
    }
}

/// The changes that could move a resource of a host.
pub(super) fn changes(lab: &Lab, host: &Host, resource: Resource) -> Vec<Change> {
    let policy = &lab.policy;
    let slow_risk = Some(Change::SlowRisk((2.0 * policy.slow_risk).min(0.5)));
    let cores = Some(Change::Cores(host.cpu.groups[0].cores + 2));
    let halved = |kept: f64| (kept > 0.0).then_some(kept / 2.0);
    let all = match resource {
        Resource::Memory => return memory(lab, host, halved(policy.memory_keep_free)),
        Resource::Cpu => vec![
            cores,
            Some(Change::Slowdown(policy.cpu_slowdown + 0.5)),
            slow_risk,
        ],
        Resource::CpuWait => {
            let wait = policy.max_mean_wait;
            vec![cores, wait.map(|most| Change::MeanWait(2.0 * most))]
        }
        Resource::Vcpus => {
            let ratio = policy.max_vcpus_per_thread;
            vec![cores, ratio.map(|most| Change::VcpusPerThread(most + 1.0))]
        }
        Resource::DiskSpace(pool) => {
            let kept = halved(policy.disk_keep_free);
            vec![more_devices(host, pool), kept.map(Change::DiskKeepFree)]
        }
        Resource::DiskIops(pool) => {
            let higher = (policy.disk_ceiling + 1.0) / 2.0;
            let ceiling = (higher > policy.disk_ceiling).then_some(Change::DiskCeiling(higher));
            vec![more_devices(host, pool), ceiling, slow_risk]
        }
        Resource::DiskWrites(pool) => {
            let rated = host.disks.get(pool).and_then(|pool| pool.endurance);
            let life = policy.service_life;
            vec![
                more_devices(host, pool),
                rated.map(|rated| Change::Endurance(pool, 2.0 * rated)),
                (life > 1.5 * YEAR).then_some(Change::ServiceLife(life - YEAR)),
            ]
        }
        Resource::Network => vec![host.link.map(|link| Change::Link(2.0 * link)), slow_risk],
        Resource::Backup => {
            let own = host.backup.as_ref();
            let speed = own.and_then(|own| own.speed);
            vec![
                own.map(|own| Change::BackupWindow(own.window * 1.5)),
                speed.map(|speed| Change::BackupSpeed(2.0 * speed)),
            ]
        }
        Resource::Power => {
            let budget = policy.power_budget;
            vec![
                budget.map(|budget| Change::PowerBudget(1.2 * budget)),
                slow_risk,
            ]
        }
        Resource::Guests => vec![policy.max_guests.map(|most| Change::MostGuests(2 * most))],
    };
    all.into_iter().flatten().collect()
}

fn memory(lab: &Lab, host: &Host, kept: Option<f64>) -> Vec<Change> {
    let memory = &host.memory;
    let largest = memory.modules.iter().copied().fold(0.0, f64::max);
    let owned = memory.modules.len() as u64;
    let is_full = memory.slots.is_some_and(|slots| owned >= slots);
    let can_be_larger = memory.max_module.is_none_or(|most| 2.0 * largest <= most);
    let keeps = lab.guests.iter().any(|guest| guest.keeps > 0.0);
    let risk = (2.0 * lab.policy.memory_risk).min(0.5);
    let all = [
        (!is_full).then_some(Change::OneModule(largest)),
        (is_full && can_be_larger).then_some(Change::LargerModules),
        (host.merging.mode == Mode::Off).then_some(Change::Sharing),
        keeps.then_some(Change::FreeMemoryReports),
        kept.map(Change::KeepFree),
        Some(Change::MemoryRisk(risk)),
    ];
    all.into_iter().flatten().collect()
}

/// As many devices more as the layout grows by at a time.
fn more_devices(host: &Host, index: PoolIndex) -> Option<Change> {
    let pool = host.disks.get(index)?;
    let devices = pool.devices + pool.layout.step();
    Some(Change::Devices(index, pool.name.clone(), devices))
}
