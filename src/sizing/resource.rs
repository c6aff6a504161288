//! The resources that can run out, each with its demand, its limit and the risk it is judged by.

use super::host::HostModel;
use super::memory::MemoryCount;
use super::storage::PoolIndex;
use crate::lab::Guest;
use crate::model::demand::Demand;
use crate::model::number::{Measure, Number, Read};
use crate::model::{DAY, SLACK, endurance, network, power, processor, queue, within};
use crate::unit::format;

/// Relative slack between a chance and the accepted risk: chances are integrated to about 1e-8 of themselves, and one
/// guest busy 5 % of the time must count as within a risk of 5 %.
pub const RISK_SLACK: f64 = 1e-7;

/// A resource that can run out, in the order of names that settles ties.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Resource {
    /// Memory up to the safe limit.
    Memory,
    /// Processor time.
    Cpu,
    /// Mean wait in the run queue.
    CpuWait,
    /// vCPUs per hardware thread.
    Vcpus,
    /// Space of a pool.
    DiskSpace(PoolIndex),
    /// Operations of a pool, as device-busy share.
    DiskIops(PoolIndex),
    /// Rated writes of a pool.
    DiskWrites(PoolIndex),
    /// Link.
    Network,
    /// Backup window.
    Backup,
    /// Power budget.
    Power,
    /// Accepted number of guests.
    Guests,
}

/// What a resource is asked for at a composition, and what it may be asked for.
#[derive(Debug)]
pub struct Constraint {
    /// Random demand, always in the same unit as the limit.
    pub demand: Demand,
    /// Limit.
    pub limit: f64,
    /// Accepted probability of passing it.
    pub risk: f64,
    /// A limit on the mean as well (processor: the supply).
    pub mean_limit: Option<f64>,
    /// Demand cannot pass this whatever happens (power: everything busy).
    pub most: f64,
}

impl Constraint {
    /// A demand without randomness.
    fn certain(demand: f64, limit: f64) -> Constraint {
        Constraint {
            demand: Demand::new(demand, &[], 0.0),
            limit,
            risk: 0.5,
            mean_limit: None,
            most: f64::INFINITY,
        }
    }

    pub(super) fn random(demand: Demand, limit: f64, risk: f64) -> Constraint {
        Constraint {
            demand,
            limit,
            risk,
            mean_limit: None,
            most: f64::INFINITY,
        }
    }

    fn accepted(&self) -> f64 {
        self.risk * (1.0 + RISK_SLACK)
    }

    /// Whether the mean is within its own limit and no demand can pass the limit at all, if that is certain.
    fn settled(&self) -> Option<bool> {
        if self
            .mean_limit
            .is_some_and(|limit| !within(self.demand.mean(), limit))
        {
            return Some(false);
        }
        within(self.most, self.limit).then_some(true)
    }

    /// Whether the demand is within the limit at the accepted risk.
    #[must_use]
    pub fn within(&self) -> bool {
        self.settled()
            .unwrap_or_else(|| self.demand.within(self.limit, self.accepted()))
    }

    /// A cheap guide for a search: nearly [`Constraint::within`].
    #[must_use]
    pub fn nearly_within(&self) -> bool {
        self.settled()
            .unwrap_or_else(|| self.demand.nearly_within(self.limit, self.accepted()))
    }

    /// Mean demand.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.demand.mean().min(self.most)
    }

    /// The smallest demand that is passed with at most the accepted risk.
    #[must_use]
    pub fn at_risk(&self) -> f64 {
        self.demand.at_risk(self.accepted()).min(self.most)
    }

    /// at_risk/limit, for the processor the larger of that and mean/supply; infinite where there is no supply at all.
    #[must_use]
    pub fn load(&self, at_risk: f64) -> f64 {
        let by_mean = self.mean_limit.map_or(0.0, |_| self.mean_load());
        share(at_risk, self.limit).max(by_mean)
    }

    /// Mean demand over the limit on it; infinite where there is no supply at all.
    #[must_use]
    pub fn mean_load(&self) -> f64 {
        share(self.mean(), self.mean_limit.unwrap_or(self.limit))
    }
}

fn share(demand: f64, limit: f64) -> f64 {
    match (demand, limit) {
        (_, limit) if limit > 0.0 => demand / limit,
        (demand, limit) if limit == 0.0 && demand <= SLACK => 0.0,
        _ => f64::INFINITY,
    }
}

impl Resource {
    /// Name in reports and JSON; pools are named where there are several.
    #[must_use]
    pub fn name(self, model: &HostModel) -> String {
        let pool = |base: &str, index: PoolIndex| match model.host.disks.as_slice() {
            [] | [_] => base.to_owned(),
            pools => format!("{base}:{}", pools[index].name),
        };
        match self {
            Resource::Memory => "memory".to_owned(),
            Resource::Cpu => "cpu".to_owned(),
            Resource::CpuWait => "cpu_wait".to_owned(),
            Resource::Vcpus => "vcpus".to_owned(),
            Resource::DiskSpace(index) => pool("disk_space", index),
            Resource::DiskIops(index) => pool("disk_iops", index),
            Resource::DiskWrites(index) => pool("disk_writes", index),
            Resource::Network => "network".to_owned(),
            Resource::Backup => "backup".to_owned(),
            Resource::Power => "power".to_owned(),
            Resource::Guests => "guests".to_owned(),
        }
    }

    /// Unit of limit, mean and at-risk demand.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Resource::Memory | Resource::DiskSpace(_) => "B",
            Resource::Cpu => "cores",
            Resource::CpuWait | Resource::Backup => "s",
            Resource::Vcpus => "vCPUs/thread",
            Resource::DiskIops(_) => "busy share",
            Resource::DiskWrites(_) => "B/day",
            Resource::Network => "bit/s",
            Resource::Power => "W",
            Resource::Guests => "guests",
        }
    }

    /// A number in the unit of the resource, as a person reads it.
    #[must_use]
    pub fn text(self, value: f64) -> String {
        if !value.is_finite() {
            return "no bound".to_owned();
        }
        match self {
            Resource::Memory | Resource::DiskSpace(_) => format::bytes(value),
            Resource::Cpu => format::numbered(value, "core", "cores"),
            Resource::CpuWait | Resource::Backup => format::seconds(value),
            Resource::Vcpus | Resource::Guests => format::number(value),
            Resource::DiskIops(_) => format!("{} busy", format::share(value)),
            Resource::DiskWrites(_) => format::bytes_per_day(value),
            Resource::Network => format::bit_rate(value),
            Resource::Power => format::power(value),
        }
    }

    /// Every resource that a host could run out of, considered or not, in the order of names.
    #[must_use]
    pub fn all(model: &HostModel) -> Vec<Resource> {
        let pools = || 0..model.host.disks.len().max(1);
        let mut all = vec![
            Resource::Memory,
            Resource::Cpu,
            Resource::CpuWait,
            Resource::Vcpus,
        ];
        all.extend(pools().map(Resource::DiskSpace));
        all.extend(pools().map(Resource::DiskIops));
        all.extend(pools().map(Resource::DiskWrites));
        all.extend([
            Resource::Network,
            Resource::Backup,
            Resource::Power,
            Resource::Guests,
        ]);
        all
    }

    /// What the resource is asked for; none where the inventory does not say enough to consider it.
    #[must_use]
    pub fn constraint(self, model: &HostModel, counts: &[u64]) -> Option<Constraint> {
        let policy = &model.lab.policy;
        match self {
            Resource::Memory => {
                let (demand, limit) = model.memory_demand(counts, MemoryCount::LivedIn);
                Some(Constraint::random(demand, limit, policy.memory_risk))
            }
            Resource::Cpu => {
                let supply = model.cpu_supply(counts);
                let demand = model.cpu_demand(counts);
                Some(Constraint {
                    mean_limit: Some(supply),
                    ..Constraint::random(demand, policy.cpu_slowdown * supply, policy.slow_risk)
                })
            }
            Resource::CpuWait => {
                let wait = model
                    .queue(counts)
                    .map_or(f64::INFINITY, |queue| queue.mean_wait);
                policy
                    .max_mean_wait
                    .map(|limit| Constraint::certain(wait, limit))
            }
            Resource::Vcpus => {
                let ratio = model.vcpus(counts) / model.threads;
                policy
                    .max_vcpus_per_thread
                    .map(|limit| Constraint::certain(ratio, limit))
            }
            Resource::DiskSpace(pool) => {
                model.host.disks.get(pool)?;
                let limit = model.usable_space(pool) * (1.0 - policy.disk_keep_free);
                Some(Constraint::certain(
                    model.space_used(pool, counts, policy.disk_horizon),
                    limit,
                ))
            }
            Resource::DiskIops(pool) => {
                model.host.disks.get(pool)?;
                let demand = model.busy_devices(pool, counts)?;
                Some(Constraint::random(
                    demand,
                    policy.disk_ceiling,
                    policy.slow_risk,
                ))
            }
            Resource::DiskWrites(pool) => {
                model.host.disks.get(pool)?;
                let factors = model.write_factors(pool);
                let left = model.writes_left(pool)?;
                let limit = endurance::most_written(left, policy.service_life, factors);
                Some(Constraint::certain(
                    model.written(pool, counts) * DAY,
                    limit * DAY,
                ))
            }
            Resource::Network => {
                let limit = policy.network_ceiling * model.host.link?;
                let demand =
                    model.demand(counts, 0.0, |guest| guest.net_idle, |guest| guest.net_busy);
                Some(Constraint::random(demand, limit, policy.slow_risk))
            }
            Resource::Backup => {
                let window = model.host.backup.as_ref()?.window;
                Some(Constraint::certain(model.backup_time(counts)?, window))
            }
            Resource::Power => power_constraint(model, counts, policy.power_budget?),
            Resource::Guests => {
                let limit = policy.max_guests? as f64;
                Some(Constraint::certain(
                    counts.iter().map(|n| *n as f64).sum(),
                    limit,
                ))
            }
        }
    }
}

/// Power is linear in the processor's demand up to all cores busy, where it stays.
fn power_constraint(model: &HostModel, counts: &[u64], budget: f64) -> Option<Constraint> {
    let power = model.host.power.as_ref()?;
    let per_core = power::per_core(power.idle, power.busy, model.total_cores);
    let always = model.host.cpu.base_cores + model.scan_load(counts);
    let demand = model.demand(
        counts,
        power.idle + power.extra + per_core * always,
        |guest| per_core * guest.vcpus as f64 * guest.idle_load,
        |guest| per_core * guest.vcpus as f64 * guest.busy_load,
    );
    let most = power::watts(power.idle, power.busy, power.extra, 1.0);
    Some(Constraint {
        most,
        ..Constraint::random(demand, budget, model.lab.policy.slow_risk)
    })
}

/// Waits in the run queue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Queue {
    /// Chance of waiting.
    pub chance: f64,
    /// Mean wait `[s]`.
    pub mean_wait: f64,
}

impl HostModel<'_> {
    /// The resources that the inventory says enough of to consider them; they do not depend on the counts.
    #[must_use]
    pub fn considered(&self) -> Vec<Resource> {
        let none = vec![0; self.lab.guests.len()];
        let mut all = Resource::all(self);
        all.retain(|resource| resource.constraint(self, &none).is_some());
        all
    }

    /// The resources whose limit these guests pass.
    #[must_use]
    pub fn passed(&self, counts: &[u64]) -> Vec<Resource> {
        let mut all = Resource::all(self);
        all.retain(|resource| {
            resource
                .constraint(self, counts)
                .is_some_and(|constraint| !constraint.within())
        });
        all
    }

    /// Random processor demand of the guests `[cores of speed 1]`.
    #[must_use]
    pub fn cpu_demand(&self, counts: &[u64]) -> Demand {
        self.demand(
            counts,
            0.0,
            |guest| guest.vcpus as f64 * guest.idle_load,
            |guest| guest.vcpus as f64 * guest.busy_load,
        )
    }

    /// Waits in the run queue from M/M/c over the hardware threads; none where they have no bound.
    ///
    /// Offered load A = c·mean demand/supply.
    #[must_use]
    pub fn queue(&self, counts: &[u64]) -> Option<Queue> {
        let supply = self.cpu_supply(counts);
        if supply <= 0.0 {
            return None;
        }
        let servers = self.threads as u64;
        let offered = queue::offered(self.threads, self.cpu_demand(counts).mean(), supply);
        let chance = queue::erlang_c(servers, offered)?;
        let mean_wait = queue::mean_wait(servers, offered, self.lab.policy.cpu_slice)?;
        Some(Queue { chance, mean_wait })
    }
}

impl<R: Read> HostModel<'_, R> {
    /// Mean processor demand of the guests `[cores of speed 1]`: `Σ n·vcpus·(idle_load + busy·(busy_load − idle_load))`.
    #[must_use]
    pub fn mean_cpu(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| {
            let share = |key, value| self.of_guest(guest, key, value, Measure::Share);
            let idle = share("idle_load", guest.idle_load);
            let busy = share("busy_load", guest.busy_load);
            self.vcpus_of(guest) * processor::mean_of(idle, busy, share("busy", guest.busy))
        })
        .named(Measure::Plain)
    }

    /// What guests can have of the processor `[cores of speed 1]`: [`processor::supply`].
    #[must_use]
    pub fn cpu_supply(&self, counts: &[u64]) -> R::Number {
        processor::supply(self.total_cores, self.base_cores(), self.scan_load(counts))
    }

    fn base_cores(&self) -> R::Number {
        self.own("cpu.base_cores", self.host.cpu.base_cores, Measure::Plain)
    }

    fn vcpus_of(&self, guest: &Guest) -> R::Number {
        self.of_guest(guest, "vcpus", guest.vcpus as f64, Measure::Plain)
    }

    /// vCPUs of all guests.
    #[must_use]
    pub fn vcpus(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| self.vcpus_of(guest))
            .named(Measure::Plain)
    }

    /// Mean traffic of the guests in the busier direction `[bit/s]`.
    #[must_use]
    pub(crate) fn mean_traffic(&self, counts: &[u64]) -> R::Number {
        let rate = |guest: &Guest, key, value| self.of_guest(guest, key, value, Measure::BitRate);
        self.mean_sum(counts, |guest| {
            [
                rate(guest, "net_idle", guest.net_idle),
                rate(guest, "net_busy", guest.net_busy),
            ]
        })
    }

    /// Time that one day's backup takes `[s]`; none where none is planned.
    #[must_use]
    pub fn backup_time(&self, counts: &[u64]) -> Option<R::Number> {
        let backup = self.host.backup.as_ref()?;
        let target = backup
            .speed
            .map(|speed| self.own("backup.speed", speed, Measure::ByteRate));
        let speed = network::backup_speed(target, self.link(), self.network_ceiling());
        let bytes = self.sum(counts, |guest| {
            self.of_guest(guest, "backup", guest.backup * DAY, Measure::DiskBytes)
        });
        Some(bytes / speed)
    }

    /// Speed of the link `[bit/s]`.
    pub(crate) fn link(&self) -> Option<R::Number> {
        let link = self.host.link?;
        Some(self.own("network.link", link, Measure::BitRate))
    }

    /// Highest accepted share of the link.
    pub(crate) fn network_ceiling(&self) -> R::Number {
        let ceiling = self.lab.policy.network_ceiling;
        self.policy("network_ceiling", ceiling, Measure::Share)
    }

    /// Power at the wall at the mean load of a composition `[W]`: [`power::watts`]; none where power is not given.
    #[must_use]
    pub fn mean_watts(&self, counts: &[u64]) -> Option<R::Number> {
        let power = self.host.power.as_ref()?;
        let watts = |key, value| self.own(key, value, Measure::Watts);
        let load = power::load(
            self.mean_cpu(counts),
            self.base_cores(),
            self.scan_load(counts),
            self.total_cores,
        );
        let idle = watts("power.idle", power.idle);
        let busy = watts("power.busy", power.busy);
        Some(
            power::watts(idle, busy, watts("power.extra", power.extra), load).named(Measure::Watts),
        )
    }
}
