//! The processor of a host at a composition: demand, supply, the run queue, and the power that it draws.

use super::host::HostModel;
use super::resource::{RISK_SLACK, Resource};
use crate::lab::Guest;
use crate::model::demand::Demand;
use crate::model::finite_source::{self, Waits};
use crate::model::number::{Measure, Number, Read};
use crate::model::periods::over_time;
use crate::model::{power, processor};

/// Waits in the run queue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Queue {
    /// At the mean demand.
    pub mean: Waits,
    /// At the accepted worst moment.
    pub worst: Waits,
}

impl<'a> HostModel<'a> {
    /// The model in the period in which the processor's load is highest.
    pub fn busiest(&self, counts: &[u64]) -> &HostModel<'a> {
        self.worst_by(|model| {
            let constraint = Resource::Cpu.constraint(model, counts);
            constraint.map_or(0.0, |constraint| constraint.load(constraint.at_risk()))
        })
    }

    /// Power at the wall in the period that draws most `[W]`; none where power is not given.
    pub fn most_watts(&self, counts: &[u64]) -> Option<f64> {
        let each = self.periods().map(|model| model.mean_watts(counts));
        each.reduce(|one, other| Some(one?.max(other?)))?
    }

    /// Random processor demand of the guests `[cores of speed 1]`.
    pub fn cpu_demand(&self, counts: &[u64]) -> Demand {
        self.demand(
            counts,
            0.0,
            |guest| guest.vcpus as f64 * guest.idle_load,
            |guest| guest.vcpus as f64 * guest.busy_load,
        )
    }

    /// Random power at the wall `[W]`, and what it cannot pass; none where power is not given.
    ///
    /// Power is linear in the processor's demand up to all cores busy, where it stays: [`power::per_core`].
    pub(super) fn power_demand(&self, counts: &[u64]) -> Option<(Demand, f64)> {
        let power = self.host.power.as_ref()?;
        let per_core = power::per_core(power.idle, power.busy, self.total_cores);
        let always = self.host.cpu.base_cores + self.scan_load(counts);
        let demand = self.demand(
            counts,
            power.idle + power.extra + per_core * always,
            |guest| per_core * guest.vcpus as f64 * guest.idle_load,
            |guest| per_core * guest.vcpus as f64 * guest.busy_load,
        );
        let most = power::watts(power.idle, power.busy, power.extra, 1.0);
        Some((demand, most))
    }

    /// Waits in the run queue: [`finite_source::waits`] of the vCPUs over the hardware threads; none without supply.
    pub fn queue(&self, counts: &[u64]) -> Option<Queue> {
        let supply = self.cpu_supply(counts);
        if supply <= 0.0 {
            return None;
        }
        let demand = self.cpu_demand(counts);
        let waits = |demand| {
            let offered = finite_source::offered(self.threads, demand, supply);
            let burst = self.lab.policy.cpu_slice;
            let sources = self.vcpus(counts) as u64;
            finite_source::waits(self.threads as u64, sources, offered, burst)
        };
        let accepted = self.lab.policy.slow_risk * (1.0 + RISK_SLACK);
        Some(Queue {
            mean: waits(demand.mean()),
            worst: waits(demand.at_risk(accepted)),
        })
    }
}

impl<R: Read> HostModel<'_, R> {
    /// Mean processor demand of the guests `[cores of speed 1]`: `Σ n·vcpus·(idle_load + busy·(busy_load − idle_load))`.
    pub fn mean_cpu(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| {
            let ends = [
                ("idle_load", guest.idle_load),
                ("busy_load", guest.busy_load),
            ];
            self.vcpus_of(guest) * self.mean_of(guest, ends, Measure::Share)
        })
        .named(Measure::Plain)
    }

    /// What guests can have of the processor `[cores of speed 1]`: [`processor::supply`].
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
    pub fn vcpus(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| self.vcpus_of(guest))
            .named(Measure::Plain)
    }

    /// Power at the wall at the mean load of a composition `[W]`: [`power::watts`]; none where power is not given.
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

    /// Power at the wall over all the time `[W]`: [`over_time`]; none where power is not given.
    pub fn average_watts(&self, counts: &[u64]) -> Option<R::Number> {
        let periods = self.periods().map(|model| {
            let share = R::Number::measured(model.share_of_time(), Measure::Share);
            Some((share, model.mean_watts(counts)?))
        });
        let periods: Option<Vec<_>> = periods.collect();
        Some(over_time(periods?))
    }
}
