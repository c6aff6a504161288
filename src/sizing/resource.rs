//! The resources that can run out, each with its demand, its limit and the risk it is judged by.

use super::host::HostModel;
use super::memory::MemoryCount;
use super::storage::PoolIndex;
use crate::model::demand::Demand;
use crate::model::{DAY, SLACK, endurance, within};
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

/// Demand for a resource at a composition, and its limit.
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
        Constraint::random(Demand::new(demand, &[], 0.0), limit, 0.5)
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

    /// An approximate test for a search: nearly [`Constraint::within`].
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

    /// Whether a demand at risk is that of idle guests, though some are busy at times.
    #[must_use]
    pub fn counts_idle(&self, at_risk: f64) -> bool {
        !self.demand.is_certain() && within(at_risk, self.demand.least())
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
        match (self.pool(), model.host.disks.as_slice()) {
            (Some(index), pools @ [_, _, ..]) => format!("{}:{}", self.kind(), pools[index].name),
            _ => self.kind().to_owned(),
        }
    }

    /// Name without that of a pool, unit of limit, mean and at-risk demand, and a number in it as a person reads it.
    fn row(self) -> (&'static str, &'static str, fn(f64) -> String) {
        match self {
            Resource::Memory => ("memory", "B", format::bytes),
            Resource::Cpu => ("cpu", "cores", |n| format::numbered(n, "core", "cores")),
            Resource::CpuWait => ("cpu_wait", "s", format::seconds),
            Resource::Vcpus => ("vcpus", "vCPUs/thread", format::number),
            Resource::DiskSpace(_) => ("disk_space", "B", format::bytes),
            Resource::DiskIops(_) => ("disk_iops", "busy share", |share| {
                format!("{} busy", format::share(share))
            }),
            Resource::DiskWrites(_) => ("disk_writes", "B/day", format::bytes_per_day),
            Resource::Network => ("network", "bit/s", format::bit_rate),
            Resource::Backup => ("backup", "s", format::seconds),
            Resource::Power => ("power", "W", format::power),
            Resource::Guests => ("guests", "guests", format::number),
        }
    }

    /// Name without that of a pool.
    #[must_use]
    pub fn kind(self) -> &'static str {
        self.row().0
    }

    /// The pool that it is a resource of.
    #[must_use]
    pub fn pool(self) -> Option<PoolIndex> {
        match self {
            Resource::DiskSpace(pool) | Resource::DiskIops(pool) | Resource::DiskWrites(pool) => {
                Some(pool)
            }
            _ => None,
        }
    }

    /// Unit of limit, mean and at-risk demand.
    #[must_use]
    pub fn unit(self) -> &'static str {
        self.row().1
    }

    /// A number in the unit of the resource, as a person reads it.
    #[must_use]
    pub fn text(self, value: f64) -> String {
        if value.is_finite() {
            self.row().2(value)
        } else {
            "no bound".to_owned()
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

    /// Demand for the resource and its limit; none where the inventory does not say enough to consider it.
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
                let queue = model.queue(counts);
                let wait = queue.map_or(f64::INFINITY, |queue| queue.mean_wait);
                Some(Constraint::certain(wait, policy.max_mean_wait?))
            }
            Resource::Vcpus => {
                let ratio = model.vcpus(counts) / model.threads;
                Some(Constraint::certain(ratio, policy.max_vcpus_per_thread?))
            }
            Resource::DiskSpace(pool) | Resource::DiskIops(pool) | Resource::DiskWrites(pool) => {
                model.host.disks.get(pool)?;
                self.pool_constraint(model, pool, counts)
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
            Resource::Power => {
                let (demand, most) = model.power_demand(counts)?;
                Some(Constraint {
                    most,
                    ..Constraint::random(demand, policy.power_budget?, policy.slow_risk)
                })
            }
            Resource::Guests => {
                let guests = counts.iter().map(|n| *n as f64).sum();
                Some(Constraint::certain(guests, policy.max_guests? as f64))
            }
        }
    }

    /// Demand for a resource of an existing pool and its limit.
    fn pool_constraint(
        self,
        model: &HostModel,
        pool: PoolIndex,
        counts: &[u64],
    ) -> Option<Constraint> {
        let policy = &model.lab.policy;
        match self {
            Resource::DiskSpace(_) => {
                let used = model.space_used(pool, counts, policy.disk_horizon);
                let limit = model.usable_space(pool) * (1.0 - policy.disk_keep_free);
                Some(Constraint::certain(used, limit))
            }
            Resource::DiskIops(_) => {
                let demand = model.busy_devices(pool, counts)?;
                let ceiling = policy.disk_ceiling;
                Some(Constraint::random(demand, ceiling, policy.slow_risk))
            }
            Resource::DiskWrites(_) => {
                let factors = model.write_factors(pool);
                let left = model.writes_left(pool)?;
                let limit = endurance::most_written(left, policy.service_life, factors);
                let written = model.written(pool, counts);
                Some(Constraint::certain(written * DAY, limit * DAY))
            }
            _ => None,
        }
    }
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
}
