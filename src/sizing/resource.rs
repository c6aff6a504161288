//! The resources that can run out, each with its demand, its limit and the risk it is judged by.

use super::host::HostModel;
use super::memory::MemoryCount;
use super::storage::PoolIndex;
use crate::model::demand::Demand;
use crate::model::number::{Measure, Number, Read};
use crate::model::periods::over_time;
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
    pub fn within(&self) -> bool {
        self.settled()
            .unwrap_or_else(|| self.demand.within(self.limit, self.accepted()))
    }

    /// An approximate test for a search: nearly [`Constraint::within`].
    pub fn nearly_within(&self) -> bool {
        let (limit, risk) = (self.limit, self.accepted());
        self.settled()
            .or_else(|| self.demand.surely_within(limit, risk))
            .unwrap_or_else(|| self.demand.nearly_within(limit, risk))
    }

    /// About [`Constraint::load`] at the demand at risk, to start a search from.
    fn near_load(&self) -> f64 {
        let near = self.demand.near_at_risk(self.accepted()).min(self.most);
        self.load(near)
    }

    /// The chance that demand is past the limit.
    pub fn past_limit(&self) -> f64 {
        match self.settled() {
            Some(true) => 0.0,
            Some(false) if self.demand.is_certain() => 1.0,
            _ => self.demand.tail(self.limit),
        }
    }

    /// Mean demand.
    pub fn mean(&self) -> f64 {
        self.demand.mean().min(self.most)
    }

    /// The smallest demand that is passed with at most the accepted risk.
    pub fn at_risk(&self) -> f64 {
        self.demand.at_risk(self.accepted()).min(self.most)
    }

    /// Whether a demand at risk is that of idle guests, though some are busy at times.
    pub fn counts_idle(&self, at_risk: f64) -> bool {
        !self.demand.is_certain() && within(at_risk, self.demand.least())
    }

    /// at_risk/limit, for the processor the larger of that and mean/supply; infinite where there is no supply at all.
    pub fn load(&self, at_risk: f64) -> f64 {
        let by_mean = self.mean_limit.map_or(0.0, |_| self.mean_load());
        share(at_risk, self.limit).max(by_mean)
    }

    /// Mean demand over the limit on it; infinite where there is no supply at all.
    pub fn mean_load(&self) -> f64 {
        share(self.mean(), self.mean_limit.unwrap_or(self.limit))
    }
}

/// How far a resource is loaded.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// Share of its limit, in the period in which it is highest.
    pub load: f64,
    /// That period, where the lab has any.
    pub period: Option<String>,
}

impl Loaded {
    /// Of what does not depend on periods.
    pub(super) fn of(load: f64) -> Loaded {
        Loaded { load, period: None }
    }
}

/// The constraints of a resource in every period of the lab; they hold when each of them does.
#[derive(Debug)]
pub struct Constraints(Vec<(usize, Constraint)>);

impl Constraints {
    /// The constraints that each period of a model has.
    pub(super) fn of(
        model: &HostModel,
        constraint: impl Fn(&HostModel) -> Option<Constraint>,
    ) -> Option<Constraints> {
        let each = model.periods();
        let each = each.map(|model| Some((model.period, constraint(model)?)));
        Some(Constraints(each.collect::<Option<_>>()?))
    }

    fn all(&self) -> impl Iterator<Item = &Constraint> {
        self.0.iter().map(|(_, constraint)| constraint)
    }

    /// Whether the demand is within the limit at the accepted risk in every period.
    pub fn within(&self) -> bool {
        self.all().all(Constraint::within)
    }

    /// An approximate test for a search: nearly [`Constraints::within`].
    pub fn nearly_within(&self) -> bool {
        self.all().all(Constraint::nearly_within)
    }

    /// About the highest load, to start a search from.
    pub(super) fn near_load(&self) -> f64 {
        self.all().map(Constraint::near_load).fold(0.0, f64::max)
    }

    /// The constraint with the highest load, the first of them, and the place of its period.
    pub fn worst(&self) -> (usize, &Constraint) {
        let mut worst = (&self.0[0], f64::NEG_INFINITY);
        // Where there are no others the load is of no interest.
        for one in self.0.iter().filter(|_| self.0.len() > 1) {
            let load = one.1.load(one.1.at_risk());
            if load > worst.1 {
                worst = (one, load);
            }
        }
        let (period, constraint) = worst.0;
        (*period, constraint)
    }

    /// The highest demand that is passed with the accepted risk only.
    pub(super) fn at_risk(&self) -> f64 {
        self.all()
            .map(Constraint::at_risk)
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// The largest mean demand over its limit.
    pub fn mean_load(&self) -> f64 {
        self.all().map(Constraint::mean_load).fold(0.0, f64::max)
    }

    /// Share of the time that the limit is passed: `Σ ω·P(demand > limit)` over the periods, ω the share of each.
    pub fn past_limit(&self, model: &HostModel) -> f64 {
        let shares = model.periods().map(HostModel::share_of_time);
        over_time(shares.zip(self.all().map(Constraint::past_limit)))
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
    pub fn kind(self) -> &'static str {
        self.row().0
    }

    /// The pool that it is a resource of.
    pub fn pool(self) -> Option<PoolIndex> {
        match self {
            Resource::DiskSpace(pool) | Resource::DiskIops(pool) | Resource::DiskWrites(pool) => {
                Some(pool)
            }
            _ => None,
        }
    }

    /// Unit of limit, mean and at-risk demand.
    pub fn unit(self) -> &'static str {
        self.row().1
    }

    /// A number in the unit of the resource, as a person reads it.
    pub fn text(self, value: f64) -> String {
        if value.is_finite() {
            self.row().2(value)
        } else {
            "no bound".to_owned()
        }
    }

    /// Every resource that a host could run out of, considered or not, in the order of names.
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

    /// Demand for the resource and its limit in the model's period; none where the inventory does not say enough to
    /// consider it.
    pub fn constraint(self, model: &HostModel, counts: &[u64]) -> Option<Constraint> {
        let policy = &model.lab.policy;
        let limit = model.limit(self, counts)?;
        let soft = |demand| Constraint::random(demand, limit, policy.slow_risk);
        Some(match self {
            Resource::Memory => {
                let (demand, _) = model.memory_demand(counts, MemoryCount::LivedIn);
                Constraint::random(demand, limit, policy.memory_risk)
            }
            Resource::Cpu => Constraint {
                mean_limit: Some(limit / policy.cpu_slowdown),
                ..soft(model.cpu_demand(counts))
            },
            Resource::CpuWait => {
                let waits = model.queue(counts).map(|queue| queue.worst.mean);
                Constraint::certain(waits.unwrap_or(f64::INFINITY), limit)
            }
            Resource::Vcpus => Constraint::certain(model.vcpus(counts) / model.threads, limit),
            Resource::DiskSpace(pool) => {
                let used = model.space_used(pool, counts, policy.disk_horizon);
                Constraint::certain(used, limit)
            }
            Resource::DiskIops(pool) => soft(model.busy_devices(pool, counts)?),
            Resource::DiskWrites(pool) => {
                Constraint::certain(model.written(pool, counts) * DAY, limit * DAY)
            }
            Resource::Network => {
                soft(model.demand(counts, 0.0, |guest| guest.net_idle, |guest| guest.net_busy))
            }
            Resource::Backup => Constraint::certain(model.backup_time(counts)?, limit),
            Resource::Power => {
                let (demand, most) = model.power_demand(counts)?;
                Constraint {
                    most,
                    ..soft(demand)
                }
            }
            Resource::Guests => Constraint::certain(counts.iter().map(|n| *n as f64).sum(), limit),
        })
    }

    /// How far it is loaded.
    pub fn loaded(self, model: &HostModel, counts: &[u64]) -> Option<Loaded> {
        let constraints = self.constraints(model, counts)?;
        let (period, constraint) = constraints.worst();
        Some(Loaded {
            load: constraint.load(constraint.at_risk()),
            period: model.in_period(period).period_name().map(str::to_owned),
        })
    }

    /// The constraints in every period of the lab.
    pub fn constraints(self, model: &HostModel, counts: &[u64]) -> Option<Constraints> {
        Constraints::of(model, |model| self.constraint(model, counts))
    }
}

impl<R: Read> HostModel<'_, R> {
    /// The limit of a resource, of written bytes `[B/s]`; none where the inventory does not say enough to consider it.
    pub(crate) fn limit(&self, resource: Resource, counts: &[u64]) -> Option<R::Number> {
        let policy = &self.lab.policy;
        let share = |key, value| self.policy(key, value, Measure::Share);
        let plain = |key, value| self.policy(key, value, Measure::Plain);
        let time = |key, value| self.policy(key, value, Measure::Seconds);
        if let Some(pool) = resource.pool() {
            self.host.disks.get(pool)?;
        }
        Some(match resource {
            Resource::Memory => self.usable(),
            Resource::Cpu => plain("cpu_slowdown", policy.cpu_slowdown) * self.cpu_supply(counts),
            Resource::CpuWait => time("max_mean_wait", policy.max_mean_wait?),
            Resource::Vcpus => plain("max_vcpus_per_thread", policy.max_vcpus_per_thread?),
            Resource::DiskSpace(pool) => {
                let keep_free = share("disk_keep_free", policy.disk_keep_free);
                self.usable_space(pool) * (R::Number::of(1.0) - keep_free)
            }
            Resource::DiskIops(_) => share("disk_ceiling", policy.disk_ceiling),
            Resource::DiskWrites(pool) => {
                let life = time("service_life", policy.service_life);
                endurance::most_written(self.writes_left(pool)?, life, self.write_factors(pool))
            }
            Resource::Network => self.network_ceiling() * self.link()?,
            Resource::Backup => {
                let window = self.host.backup.as_ref()?.window;
                self.own("backup.window", window, Measure::Seconds)
            }
            Resource::Power => self.policy("power_budget", policy.power_budget?, Measure::Watts),
            Resource::Guests => plain("max_guests", policy.max_guests? as f64),
        })
    }
}

impl HostModel<'_> {
    /// The resources that the inventory says enough of to consider them; they do not depend on the counts.
    pub fn considered(&self) -> Vec<Resource> {
        let none = vec![0; self.lab.guests.len()];
        let mut all = Resource::all(self);
        all.retain(|resource| resource.constraint(self, &none).is_some());
        all
    }

    /// The resources whose limit these guests pass.
    pub fn passed(&self, counts: &[u64]) -> Vec<Resource> {
        let mut all = Resource::all(self);
        all.retain(|resource| {
            resource
                .constraints(self, counts)
                .is_some_and(|constraints| !constraints.within())
        });
        all
    }
}
