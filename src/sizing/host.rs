//! One host with the guests of the lab: what every question about it starts from.

use super::composition::Composition;
use crate::lab::{Guest, Host, Lab};
use crate::model::demand::{Busy, Demand};
use crate::model::footprint::{Age, Footprint};
use crate::model::sharing::families;
use crate::model::{memory, processor, scanner};

/// A host, the guests, and what follows from both before any N is chosen.
#[derive(Debug)]
pub struct HostModel<'a> {
    /// The lab.
    pub lab: &'a Lab,
    /// The host.
    pub host: &'a Host,
    /// Which guests make up N.
    pub composition: Composition,
    /// Memory that the kernel sees `[B]`.
    pub visible: f64,
    /// The scanner with its sleep resolved.
    pub scanner: scanner::Scanner,
    /// Throughput of all cores `[cores of speed 1]`.
    pub total_cores: f64,
    /// Hardware threads.
    pub threads: f64,
    pub(super) lived_in: Vec<Footprint>,
    pub(super) fresh: Vec<Footprint>,
    /// Profiles that share one copy of their common pages, by scanner (machines) or page cache (containers).
    pub(crate) families: Vec<Vec<usize>>,
}

impl<'a> HostModel<'a> {
    /// The model of one host of the lab.
    #[must_use]
    pub fn new(lab: &'a Lab, host: &'a Host) -> HostModel<'a> {
        let installed = host.memory.modules.iter().sum();
        let visible = memory::visible(installed, host.memory.firmware_reserved);
        HostModel {
            lab,
            host,
            composition: Composition::new(&lab.guests),
            visible,
            scanner: scanner::Scanner::of(&host.merging, visible),
            total_cores: host.cpu.groups.iter().map(processor::throughput).sum(),
            threads: processor::hardware_threads(&host.cpu.groups) as f64,
            lived_in: lab
                .guests
                .iter()
                .map(|guest| Footprint::of(guest, Age::LivedIn))
                .collect(),
            fresh: lab
                .guests
                .iter()
                .map(|guest| Footprint::of(guest, Age::Fresh))
                .collect(),
            families: families(&lab.guests),
        }
    }

    /// Footprints of all profiles at an age, in the order of the lab.
    #[must_use]
    pub fn footprints(&self, age: Age) -> &[Footprint] {
        match age {
            Age::LivedIn => &self.lived_in,
            Age::Fresh => &self.fresh,
        }
    }

    /// Memory left for guests above the host's own `[B]`: visible − base.
    #[must_use]
    pub fn beside_base(&self) -> f64 {
        self.visible - self.host.memory.base
    }

    /// Memory assigned to all guests `[B]`: Σ n·m.
    #[must_use]
    pub fn promised(&self, counts: &[u64]) -> f64 {
        self.sum(counts, |guest| guest.memory)
    }

    /// Σ over profiles of count times a figure.
    pub(super) fn sum(&self, counts: &[u64], figure: impl Fn(&Guest) -> f64) -> f64 {
        counts
            .iter()
            .zip(&self.lab.guests)
            .map(|(n, guest)| *n as f64 * figure(guest))
            .sum()
    }

    /// Random demand of the guests: `idle` of each always, `extra` more of each while it is busy.
    pub(super) fn demand(
        &self,
        counts: &[u64],
        always: f64,
        idle: impl Fn(&Guest) -> f64,
        busy: impl Fn(&Guest) -> f64,
    ) -> Demand {
        let extras: Vec<f64> = self
            .lab
            .guests
            .iter()
            .map(|guest| busy(guest) - idle(guest))
            .collect();
        self.demand_of(counts, always + self.sum(counts, idle), &extras)
    }

    /// Random demand from what is always there and what each busy guest of a profile adds.
    pub(super) fn demand_of(&self, counts: &[u64], always: f64, extras: &[f64]) -> Demand {
        let busy: Vec<Busy> = self
            .lab
            .guests
            .iter()
            .zip(counts)
            .zip(extras)
            .map(|((guest, n), extra)| Busy {
                guests: *n,
                probability: guest.busy,
                extra: extra.max(0.0),
            })
            .collect();
        Demand::new(always, &busy, self.lab.policy.correlation)
    }
}
