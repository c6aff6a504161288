//! The changes that could move a resource: hardware that an owner can buy, and decisions an owner can take.

use crate::lab::{Backup, Host, Lab, Layout, Mode};
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
    let slow_risk = Change::SlowRisk((2.0 * policy.slow_risk).min(0.5));
    let cores = Change::Cores(host.cpu.groups[0].cores + 2);
    let one = |change: Option<Change>| change.into_iter();
    match resource {
        Resource::Memory => memory(lab, host),
        Resource::Cpu => vec![
            cores,
            Change::Slowdown(policy.cpu_slowdown + 0.5),
            slow_risk,
        ],
        Resource::CpuWait => {
            let wait = policy.max_mean_wait.map(|most| 2.0 * most);
            one(Some(cores)).chain(wait.map(Change::MeanWait)).collect()
        }
        Resource::Vcpus => {
            let ratio = policy.max_vcpus_per_thread.map(|most| most + 1.0);
            one(Some(cores))
                .chain(ratio.map(Change::VcpusPerThread))
                .collect()
        }
        Resource::DiskSpace(pool) => {
            let kept = policy.disk_keep_free;
            let kept = (kept > 0.0).then_some(Change::DiskKeepFree(kept / 2.0));
            one(more_devices(host, pool)).chain(kept).collect()
        }
        Resource::DiskIops(pool) => {
            let higher = (policy.disk_ceiling + 1.0) / 2.0;
            let ceiling = (higher > policy.disk_ceiling).then_some(Change::DiskCeiling(higher));
            one(more_devices(host, pool))
                .chain(ceiling)
                .chain([slow_risk])
                .collect()
        }
        Resource::DiskWrites(pool) => writes(lab, host, pool),
        Resource::Network => {
            let link = host.link.map(|link| Change::Link(2.0 * link));
            one(link).chain([slow_risk]).collect()
        }
        Resource::Backup => host.backup.iter().flat_map(backup).collect(),
        Resource::Power => {
            let budget = policy.power_budget;
            let budget = budget.map(|budget| Change::PowerBudget(1.2 * budget));
            one(budget).chain([slow_risk]).collect()
        }
        Resource::Guests => {
            let most = policy.max_guests.map(|most| 2 * most);
            one(most.map(Change::MostGuests)).collect()
        }
    }
}

fn memory(lab: &Lab, host: &Host) -> Vec<Change> {
    let memory = &host.memory;
    let largest = memory.modules.iter().copied().fold(0.0, f64::max);
    let is_full = memory
        .slots
        .is_some_and(|slots| memory.modules.len() as u64 >= slots);
    let can_be_larger = memory.max_module.is_none_or(|most| 2.0 * largest <= most);
    let kept = lab.policy.memory_keep_free;
    let all = [
        (!is_full, Change::OneModule(largest)),
        (is_full && can_be_larger, Change::LargerModules),
        (host.merging.mode == Mode::Off, Change::Sharing),
        (
            lab.guests.iter().any(|guest| guest.keeps > 0.0),
            Change::FreeMemoryReports,
        ),
        (kept > 0.0, Change::KeepFree(kept / 2.0)),
        (
            true,
            Change::MemoryRisk((2.0 * lab.policy.memory_risk).min(0.5)),
        ),
    ];
    let possible = all.into_iter().filter(|(is_possible, _)| *is_possible);
    possible.map(|(_, change)| change).collect()
}

fn writes(lab: &Lab, host: &Host, pool: PoolIndex) -> Vec<Change> {
    let rated = host.disks.get(pool).and_then(|pool| pool.endurance);
    let life = lab.policy.service_life;
    let changes = [
        more_devices(host, pool),
        rated.map(|rated| Change::Endurance(pool, 2.0 * rated)),
        (life > 1.5 * YEAR).then_some(Change::ServiceLife(life - YEAR)),
    ];
    changes.into_iter().flatten().collect()
}

/// As many devices more as the layout grows by at a time.
fn more_devices(host: &Host, index: PoolIndex) -> Option<Change> {
    let pool = host.disks.get(index)?;
    let more = match pool.layout {
        Layout::Mirror { ways } => ways,
        Layout::Stripe | Layout::Parity1 | Layout::Parity2 => 1,
    };
    Some(Change::Devices(
        index,
        pool.name.clone(),
        pool.devices + more,
    ))
}

fn backup(own: &Backup) -> impl Iterator<Item = Change> + use<> {
    let speed = own.speed.map(|speed| Change::BackupSpeed(2.0 * speed));
    [Change::BackupWindow(own.window * 1.5)]
        .into_iter()
        .chain(speed)
}
