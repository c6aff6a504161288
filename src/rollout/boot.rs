//! Guests booting: how fast, and what that takes from processor and disk.

use super::cohort::{Cohort, Life, Part};
use super::host::HostState;

/// Least share of the processor that booting guests get `[share of total]`. Assumption: only keeps a run from standing
/// still on a host whose own use is larger than its processor.
const LEAST_SUPPLY: f64 = 0.01;

impl HostState<'_> {
    /// Starts guests of one profile at this moment.
    pub(super) fn start(&mut self, profile: usize, batch: usize, weight: f64) {
        let id = self.cohorts.len();
        let constants = &self.profiles[profile];
        let totals = &mut self.totals[profile];
        let instant = constants.boot_time <= 0.0;
        let cohort = Cohort {
            profile,
            batch,
            weight,
            life: if instant {
                Life::Idle
            } else {
                Life::Booting {
                    begun: totals.clock,
                }
            },
            age: 0,
            grown_age: 0,
            base: Part::default(),
            grown: Part::default(),
            resident: 0.0,
            at: self.now,
        };
        totals.count(&cohort, constants, 1.0);
        if constants.scanned {
            self.ring.insert(id);
        }
        self.queues[profile].push_back(id);
        self.cohorts.push(cohort);
    }

    /// Processor time asked for and had `[cores]`: the share of what is asked for that everyone gets.
    ///
    /// `min(1, supply/demand)`, supply = total − base − scanner, shared in proportion to what is asked for (assumption:
    /// a fair scheduler).
    pub(super) fn processor_share(&self) -> f64 {
        let total = self.model.total_cores;
        let scanning = (self.scanner.steady_speed() * self.model.scanner.scan_cost).min(1.0);
        let supply = (total - self.model.host.cpu.base_cores - scanning).max(LEAST_SUPPLY * total);
        let demand: f64 = self
            .profiles
            .iter()
            .zip(&self.totals)
            .map(|(profile, totals)| {
                totals.booting * profile.boot_cores
                    + (totals.up - totals.busy) * profile.idle_cores
                    + totals.busy * profile.busy_cores
            })
            .sum();
        if demand > supply {
            supply / demand
        } else {
            1.0
        }
    }

    /// Share of a boot that a guest of a profile gets done per second.
    fn boot_rate(&self, profile: usize, processor: f64) -> f64 {
        let constants = &self.profiles[profile];
        if constants.boot_time <= 0.0 || self.pressure.stalled {
            return 0.0;
        }
        let disk = constants.pool.map_or(1.0, |pool| self.pools[pool].share());
        processor.min(disk) / constants.boot_time
    }

    /// Moves the boot clocks on.
    pub(super) fn boot(&mut self, dt: f64) {
        if self.booting() <= 0.0 {
            return;
        }
        let processor = self.processor_share();
        for profile in 0..self.totals.len() {
            if self.totals[profile].booting > 0.0 {
                let rate = self.boot_rate(profile, processor);
                self.totals[profile].clock += rate * dt;
            }
        }
    }

    /// Time until the next guest is up `[s]`; none while none gets on.
    pub(super) fn next_up(&self) -> Option<f64> {
        let processor = self.processor_share();
        let times = self
            .queues
            .iter()
            .enumerate()
            .filter_map(|(profile, queue)| {
                let cohort = &self.cohorts[*queue.front()?];
                let Life::Booting { begun } = cohort.life else {
                    return Some(0.0);
                };
                let rate = self.boot_rate(profile, processor);
                (rate > 0.0).then(|| ((begun + 1.0 - self.totals[profile].clock) / rate).max(0.0))
            });
        times.min_by(f64::total_cmp)
    }

    /// Takes the guests that have come up off the queues; returns their batches and how many.
    pub(super) fn come_up(&mut self) -> Vec<(usize, f64)> {
        let mut up = Vec::new();
        for profile in 0..self.queues.len() {
            while let Some(id) = self.queues[profile].front().copied() {
                let clock = self.totals[profile].clock;
                if let Life::Booting { begun } = self.cohorts[id].life {
                    if clock - begun < 1.0 - 1e-9 {
                        break;
                    }
                    self.come_up_one(id);
                }
                self.queues[profile].pop_front();
                let cohort = &self.cohorts[id];
                if cohort.life != Life::Gone {
                    up.push((cohort.batch, cohort.weight));
                    self.calendar
                        .came_up(id, cohort.weight, self.now, &self.profiles[profile]);
                }
            }
            if self.queues[profile].is_empty() {
                // The clock only counts differences: start over, so that it never grows large.
                self.totals[profile].clock = 0.0;
                self.totals[profile].begun = 0.0;
                self.totals[profile].booting = 0.0;
            }
        }
        up
    }

    /// Counts a cohort as up without disturbing its visit.
    fn come_up_one(&mut self, id: usize) {
        let cohort = &mut self.cohorts[id];
        let profile = &self.profiles[cohort.profile];
        let totals = &mut self.totals[cohort.profile];
        cohort.bring_to(self.now, profile.rewrites);
        totals.count(cohort, profile, -1.0);
        cohort.life = Life::Idle;
        totals.count(cohort, profile, 1.0);
    }
}
