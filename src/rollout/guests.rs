//! The guests of a host: cohorts, their sums, and which of them boot or grow.

use std::collections::VecDeque;

use super::cohort::{Cohort, Life};
use super::part::BASE;
use super::profile::Profile;
use super::sums::Sums;

/// The guests of a host.
#[derive(Debug, Clone)]
pub(super) struct Guests {
    /// In the order of the lab, as `sums`.
    pub profiles: Vec<Profile>,
    pub sums: Vec<Sums>,
    pub cohorts: Vec<Cohort>,
    /// Booting cohorts of each profile, oldest first: all of a profile boot equally fast.
    booting: Vec<VecDeque<usize>>,
    /// Cohorts that are touching memory for a busy spell.
    pub growing: Vec<usize>,
}

impl Guests {
    pub(super) fn new(profiles: Vec<Profile>) -> Guests {
        Guests {
            sums: vec![Sums::default(); profiles.len()],
            booting: vec![VecDeque::new(); profiles.len()],
            profiles,
            cohorts: Vec::new(),
            growing: Vec::new(),
        }
    }

    /// Profiles and sums, in the order of the lab.
    pub(super) fn by_profile(&self) -> impl Iterator<Item = (&Profile, &Sums)> {
        self.profiles.iter().zip(&self.sums)
    }

    /// A cohort with its rewriting counted up to `now`, its profile and its profile's sums.
    pub(super) fn cohort_at(&mut self, id: usize, now: f64) -> (&mut Cohort, &Profile, &mut Sums) {
        let cohort = &mut self.cohorts[id];
        let profile = &self.profiles[cohort.profile];
        let sums = &mut self.sums[cohort.profile];
        cohort.rewrite_until(now, profile.rewrites);
        (cohort, profile, sums)
    }

    /// Guests that run.
    pub(super) fn alive(&self) -> f64 {
        self.sums.iter().map(|sums| sums.alive).sum()
    }

    /// Guests that boot.
    pub(super) fn booting(&self) -> f64 {
        self.sums.iter().map(|sums| sums.booting).sum()
    }

    /// Guests that are asking for memory: booting ones and busy ones that still grow.
    pub(super) fn allocating(&self) -> f64 {
        let weights = self.growing.iter().map(|id| self.cohorts[*id].weight);
        self.booting() + weights.sum::<f64>()
    }

    /// Bytes that can merge and never have yet.
    pub(super) fn unmerged_yet(&self) -> f64 {
        let scanned = self.by_profile().filter(|(profile, _)| profile.scanned);
        let waiting = scanned.map(|(profile, sums)| {
            profile.mergeable[BASE] * (sums.touched(profile) - sums.parts[BASE].found).max(0.0)
        });
        waiting.sum()
    }

    /// Starts guests of one profile; returns their cohort.
    pub(super) fn start(&mut self, profile: usize, batch: usize, weight: f64, now: f64) -> usize {
        let id = self.cohorts.len();
        let constants = &self.profiles[profile];
        let sums = &mut self.sums[profile];
        let life = if constants.boot_time <= 0.0 {
            Life::Idle
        } else {
            Life::Booting { begun: sums.clock }
        };
        let cohort = Cohort {
            profile,
            batch,
            weight,
            life,
            at: now,
            ..Cohort::default()
        };
        sums.count(&cohort, constants, 1.0);
        self.booting[profile].push_back(id);
        self.cohorts.push(cohort);
        id
    }

    /// Moves the boot clocks on; `rates` is the share of a boot that a guest of each profile gets done per second.
    pub(super) fn boot(&mut self, rates: &[f64], dt: f64) {
        for (sums, rate) in self.sums.iter_mut().zip(rates) {
            if sums.booting > 0.0 {
                sums.clock += rate * dt;
            }
        }
    }

    /// Time until the next guest is up `[s]`; none while none gets on.
    pub(super) fn next_up(&self, rates: &[f64]) -> Option<f64> {
        let oldest = self.booting.iter().map(|queue| queue.front());
        let times = oldest.zip(&self.sums).zip(rates);
        let times = times.filter_map(|((id, sums), rate)| {
            let Life::Booting { begun } = self.cohorts[*id?].life else {
                return Some(0.0);
            };
            (*rate > 0.0).then(|| ((begun + 1.0 - sums.clock) / rate).max(0.0))
        });
        times.min_by(f64::total_cmp)
    }

    /// Counts the guests that have come up as up; returns their cohorts.
    pub(super) fn come_up(&mut self, now: f64) -> Vec<usize> {
        let mut up = Vec::new();
        for profile in 0..self.booting.len() {
            while let Some(id) = self.booting[profile].front().copied() {
                let clock = self.sums[profile].clock;
                if let Life::Booting { begun } = self.cohorts[id].life {
                    if clock - begun < 1.0 - 1e-9 {
                        break;
                    }
                    self.change(id, now, |cohort, _| cohort.life = Life::Idle);
                }
                self.booting[profile].pop_front();
                if self.cohorts[id].life != Life::Gone {
                    up.push(id);
                }
            }
            if self.booting[profile].is_empty() {
                self.sums[profile].reset_clock();
            }
        }
        up
    }

    /// Takes a cohort out of the sums, changes it and counts it in again.
    pub(super) fn change(
        &mut self,
        id: usize,
        now: f64,
        change: impl FnOnce(&mut Cohort, &Profile),
    ) {
        let (cohort, profile, sums) = self.cohort_at(id, now);
        sums.count(cohort, profile, -1.0);
        change(cohort, profile);
        sums.count(cohort, profile, 1.0);
    }

    /// Splits one guest off a cohort of several, so that it can go its own way; returns where it is.
    pub(super) fn split_one(&mut self, id: usize) -> usize {
        if self.cohorts[id].weight <= 1.0 {
            return id;
        }
        let one = self.cohorts.len();
        let mut single = self.cohorts[id].clone();
        single.weight = 1.0;
        // The sums stay the same: the guest only changes the cohort that counts it.
        self.cohorts[id].weight -= 1.0;
        if matches!(single.life, Life::Booting { .. }) {
            self.booting[single.profile].push_front(one);
        }
        self.cohorts.push(single);
        one
    }

    /// The oldest idle cohort of a profile.
    pub(super) fn oldest_idle(&self, profile: usize) -> Option<usize> {
        let idle = |cohort: &Cohort| cohort.profile == profile && cohort.life == Life::Idle;
        self.cohorts.iter().position(idle)
    }

    /// The cohort with the largest resident memory, the oldest of equals, and how large a guest of it is `[B]`.
    pub(super) fn largest(&self) -> Option<(usize, f64)> {
        let mut largest: Option<(usize, f64)> = None;
        for (id, cohort) in self.cohorts.iter().enumerate() {
            if cohort.life == Life::Gone {
                continue;
            }
            let clock = self.sums[cohort.profile].clock;
            let bytes = cohort.resident_bytes(&self.profiles[cohort.profile], clock);
            // Equal but for rounding errors is equal.
            if largest.is_none_or(|(_, most)| bytes > most * (1.0 + 1e-12)) {
                largest = Some((id, bytes));
            }
        }
        largest
    }

    /// Busy guests touch memory for `dt` up to `now`, evenly until all is touched; they wait while memory is `stalled`.
    pub(super) fn touch(&mut self, now: f64, dt: f64, stalled: bool) {
        let before = now - dt;
        let (cohorts, profiles, sums) = (&mut self.cohorts, &self.profiles, &mut self.sums);
        self.growing.retain(|id| {
            let cohort = &mut cohorts[*id];
            let Life::Busy { grows_until } = &mut cohort.life else {
                return false;
            };
            if stalled {
                *grows_until += dt;
                return true;
            }
            let left = *grows_until - before;
            let share = if left > dt { dt / left } else { 1.0 };
            let (profile, sums) = (&profiles[cohort.profile], &mut sums[cohort.profile]);
            // Only what is resident changes, so the sums can be corrected in place.
            sums.count_grown(cohort, profile, -cohort.weight);
            cohort.resident += (1.0 - cohort.resident) * share;
            sums.count_grown(cohort, profile, cohort.weight);
            share < 1.0
        });
    }

    /// The scanner has passed a cohort.
    pub(super) fn age(&mut self, id: usize) {
        let cohort = &mut self.cohorts[id];
        let [base, grown] = &mut cohort.parts;
        base.age = base.age.saturating_add(1);
        if cohort.resident > 0.0 {
            grown.age = grown.age.saturating_add(1);
        }
    }

    /// Counts rewriting during `dt`.
    pub(super) fn rewrite(&mut self, dt: f64) {
        for (sums, profile) in self.sums.iter_mut().zip(&self.profiles) {
            sums.rewrite(dt, profile);
        }
    }
}
