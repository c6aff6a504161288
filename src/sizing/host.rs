//! One host with the guests of the lab: what every question about it starts from.

use super::composition::Composition;
use crate::lab::{Guest, Host, Lab};
use crate::model::demand::{Busy, Demand};
use crate::model::footprint::{Age, Footprint};
use crate::model::number::{Given, Measure, Number, Owner, Read};
use crate::model::scanner::Scanner;
use crate::model::sharing::families;
use crate::model::{memory, processor};

/// A host, the guests, and what follows from both before any N is chosen.
///
/// Its laws are computed over the numbers that `R` makes of the values of the lab; [`Given`] takes the values as they are.
#[derive(Debug, Clone)]
pub struct HostModel<'a, R: Read = Given> {
    /// The lab.
    pub lab: &'a Lab,
    /// The host.
    pub host: &'a Host,
    /// Which guests make up N.
    pub composition: Composition,
    /// Memory that the kernel sees `[B]`.
    pub visible: R::Number,
    /// The scanner with its sleep resolved.
    pub scanner: Scanner<R::Number>,
    /// Throughput of all cores `[cores of speed 1]`.
    pub total_cores: R::Number,
    /// Hardware threads.
    pub threads: R::Number,
    pub(super) lived_in: Vec<Footprint<R::Number>>,
    pub(super) fresh: Vec<Footprint<R::Number>>,
    /// Profiles that share one copy of their common pages, by scanner (machines) or page cache (containers).
    pub families: Vec<Vec<usize>>,
    /// Which of the lab's periods it is; 0 where there are none.
    pub period: usize,
    /// The same in the lab's later periods.
    later: Vec<HostModel<'a, R>>,
    pub(crate) read: R,
}

impl<'a> HostModel<'a> {
    /// The model of one host of the lab.
    pub fn new(lab: &'a Lab, host: &'a Host) -> HostModel<'a> {
        HostModel::read(lab, host, Given)
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
                probability: guest.busy.in_period(self.period),
                extra: extra.max(0.0),
            })
            .collect();
        Demand::new(always, &busy, self.correlation())
    }
}

impl<'a, R: Read> HostModel<'a, R> {
    /// The same in every period of the lab, this one first.
    pub fn periods(&self) -> impl Iterator<Item = &HostModel<'a, R>> {
        std::iter::once(self).chain(&self.later)
    }

    /// The same in the period with that place.
    pub fn in_period(&self, period: usize) -> &HostModel<'a, R> {
        let mut periods = self.periods();
        periods.find(|one| one.period == period).unwrap_or(self)
    }

    /// The same in the period in which a figure is largest, the first of them.
    pub fn worst_by(&self, figure: impl Fn(&HostModel<'a, R>) -> f64) -> &HostModel<'a, R> {
        let mut worst = (self, f64::NEG_INFINITY);
        for model in self.periods().filter(|_| !self.later.is_empty()) {
            let value = figure(model);
            if value > worst.1 {
                worst = (model, value);
            }
        }
        worst.0
    }

    /// Share of the time that the period is.
    pub fn share_of_time(&self) -> f64 {
        let period = self.lab.periods.get(self.period);
        period.map_or(1.0, |period| period.share)
    }

    /// Name of the period; none where the lab has no periods.
    pub fn period_name(&self) -> Option<&str> {
        let period = self.lab.periods.get(self.period)?;
        Some(&period.name)
    }

    /// How much the guests are busy at the same time.
    pub fn correlation(&self) -> f64 {
        let period = self.lab.periods.get(self.period);
        let own = period.and_then(|period| period.correlation);
        own.unwrap_or(self.lab.policy.correlation)
    }

    /// The chance that a guest is busy.
    pub(super) fn busy_of(&self, guest: &Guest) -> R::Number {
        let chance = guest.busy.in_period(self.period);
        self.of_guest(guest, "busy", chance, Measure::Share)
    }
}

impl<'a, R: Read + Clone> HostModel<'a, R> {
    /// The model of one host of the lab, over the numbers that `read` makes of its values.
    pub fn read(lab: &'a Lab, host: &'a Host, read: R) -> HostModel<'a, R> {
        let number = |key: &'static str, value, measure| read.key(Owner::Host, key, value, measure);
        let size = |key, value| number(key, value, Measure::Bytes);
        let modules = host.memory.modules.iter();
        let installed = R::Number::sum(modules.map(|module| size("memory.modules", *module)));
        let reserved = size("memory.firmware_reserved", host.memory.firmware_reserved);
        let visible = memory::visible(installed, reserved);
        let of_group = |_, value| number("cpu.groups", value, Measure::Plain);
        let groups = host.cpu.groups.iter();
        let footprints = |age| -> Vec<Footprint<R::Number>> {
            let guests = lab.guests.iter();
            guests
                .map(|guest| {
                    let owner = Owner::Guest(&guest.name);
                    Footprint::read(guest, age, |key, value, measure| {
                        read.key(owner, key, value, measure)
                    })
                })
                .collect()
        };
        let first = HostModel {
            lab,
            host,
            composition: Composition::new(&lab.guests),
            visible,
            scanner: Scanner::read(&host.merging, visible, number),
            total_cores: R::Number::sum(
                groups
                    .clone()
                    .map(|group| processor::throughput(group, of_group)),
            )
            .named(Measure::Plain),
            threads: R::Number::sum(groups.map(|group| {
                of_group("cores", group.cores as f64) * of_group("threads", group.threads as f64)
            }))
            .named(Measure::Plain),
            lived_in: footprints(Age::LivedIn),
            fresh: footprints(Age::Fresh),
            families: families(&lab.guests),
            period: 0,
            later: Vec::new(),
            read,
        };
        let later = (1..lab.periods.len()).map(|period| HostModel {
            period,
            ..first.clone()
        });
        HostModel {
            later: later.collect(),
            ..first
        }
    }
}

impl<R: Read> HostModel<'_, R> {
    /// The value of a key of the host.
    pub(crate) fn own(&self, key: &'static str, value: f64, measure: Measure) -> R::Number {
        self.read.key(Owner::Host, key, value, measure)
    }

    /// The value of a key of a guest profile.
    pub(crate) fn of_guest(
        &self,
        guest: &Guest,
        key: &'static str,
        value: f64,
        measure: Measure,
    ) -> R::Number {
        self.read
            .key(Owner::Guest(&guest.name), key, value, measure)
    }

    /// The value of a key of the policy.
    pub(crate) fn policy(&self, key: &'static str, value: f64, measure: Measure) -> R::Number {
        self.read.key(Owner::Policy, key, value, measure)
    }

    /// Footprints of all profiles at an age, in the order of the lab.
    pub fn footprints(&self, age: Age) -> &[Footprint<R::Number>] {
        match age {
            Age::LivedIn => &self.lived_in,
            Age::Fresh => &self.fresh,
        }
    }

    /// The host's own memory `[B]`.
    pub(super) fn base(&self) -> R::Number {
        self.own("memory.base", self.host.memory.base, Measure::Bytes)
    }

    /// File-system cache that does not shrink `[B]`.
    pub(super) fn file_cache(&self) -> R::Number {
        let cache = self.host.memory.file_cache;
        self.own("memory.file_cache", cache, Measure::Bytes)
    }

    /// Memory left for guests above the host's own `[B]`: visible − base.
    pub fn beside_base(&self) -> R::Number {
        self.visible - self.base()
    }

    /// Memory assigned to all guests `[B]`: Σ n·m.
    pub fn promised(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| {
            self.of_guest(guest, "memory", guest.memory, Measure::Bytes)
        })
        .named(Measure::Bytes)
    }

    /// Σ over profiles of count times a figure.
    pub(crate) fn sum(&self, counts: &[u64], figure: impl Fn(&Guest) -> R::Number) -> R::Number {
        let guests = counts.iter().zip(&self.lab.guests);
        R::Number::sum(guests.map(|(n, guest)| R::Number::of(*n as f64) * figure(guest)))
    }

    /// Mean of a figure of a guest between idle and busy, from its two keys and their values.
    pub(super) fn mean_of(
        &self,
        guest: &Guest,
        ends: [(&'static str, f64); 2],
        measure: Measure,
    ) -> R::Number {
        let [idle, busy] = ends.map(|(key, value)| self.of_guest(guest, key, value, measure));
        processor::mean_of(idle, busy, self.busy_of(guest))
    }
}
