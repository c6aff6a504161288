//! A host at one moment of a run: its guests, scanner, pools and memory, and how they act on one another.

use super::cohort::{Cohort, Life};
use super::copies::Families;
use super::guests::Guests;
use super::load::Load;
use super::pool::Pools;
use super::profile::Profile;
use super::reclaim::Reclaim;
use super::scanner::Scanner;
use crate::model::processor::supply;
use crate::sizing::host::HostModel;

/// Least share of the processor that booting guests get `[share of total]`. Assumption: only keeps a run going on a host
/// whose own use is larger than its processor.
pub(super) const LEAST_SUPPLY: f64 = 0.01;
/// Longest time that a busy guest takes to touch all it will `[s]`. Assumption: the measured guest grew through the
/// whole of its spell of 45 s.
const GROWTH_TIME: f64 = 60.0;

/// Smallest and largest time step `[s]`.
const STEP: (f64, f64) = (0.5, 30.0);
/// Steps of a pass, at least, so that memory falls smoothly.
const STEPS_A_PASS: f64 = 50.0;
/// Steps of a boot, at least.
const STEPS_A_BOOT: f64 = 10.0;
/// Largest step while busy guests grow or guests wait for memory `[s]`.
const TIGHT_STEP: f64 = 1.0;

/// A host at one moment.
#[derive(Debug, Clone)]
pub(super) struct HostState<'a> {
    pub model: &'a HostModel<'a>,
    /// `[s]` since the first batch.
    pub now: f64,
    pub guests: Guests,
    pub scanner: Scanner,
    pub pools: Pools,
    pub memory: Reclaim,
    families: Families,
    users_per_copy: f64,
}

/// A guest that was killed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Victim {
    pub profile: usize,
    /// Batch that it came with.
    pub batch: usize,
    /// Whether it was still booting.
    pub booting: bool,
    /// Resident, merged pages counted in full: what the kernel announces `[B]`.
    pub announced: f64,
    /// What only it held: what comes back `[B]`.
    pub returned: f64,
}

impl<'a> HostState<'a> {
    pub(super) fn new(model: &'a HostModel<'a>) -> HostState<'a> {
        let profiles = Profile::all(model);
        let pools = Pools::new(&model.host.disks);
        HostState {
            model,
            now: 0.0,
            scanner: Scanner::new(model),
            memory: Reclaim::new(model, pools.swap_speed()),
            pools,
            families: Families::new(&model.families, &profiles),
            guests: Guests::new(profiles),
            users_per_copy: model.host.merging.users_per_copy,
        }
    }

    /// What all guests hold.
    pub(super) fn load(&self) -> Load {
        Load::of(&self.guests, &self.families, self.users_per_copy)
    }

    /// Pages that a pass of the steady state visits with the guests that are up.
    pub(super) fn pass_pages(&self) -> f64 {
        let pages = self.guests.by_profile();
        pages
            .map(|(profile, sums)| sums.alive * profile.visited)
            .sum()
    }

    /// One pass of the steady state at today's speed `[s]`; none at rest and where nothing is scanned.
    fn pass_time(&self) -> Option<f64> {
        let (pages, speed) = (self.pass_pages(), self.scanner.speed.steady());
        (pages > 0.0 && speed > 0.0).then_some(pages / speed)
    }

    /// Longest step that still shows how memory moves `[s]`.
    pub(super) fn longest_step(&self) -> f64 {
        let (least, most) = STEP;
        let pass = self.pass_time();
        let of_pass = pass.map_or(most, |pass| (pass / STEPS_A_PASS).clamp(least, most));
        let boots = self.guests.by_profile();
        let boots = boots.filter(|(_, sums)| sums.booting > 0.0);
        let longest = boots
            .map(|(profile, _)| (profile.boot_time / STEPS_A_BOOT).max(least))
            .fold(of_pass, f64::min);
        if !self.guests.growing.is_empty() || self.memory.stalled {
            longest.min(TIGHT_STEP)
        } else {
            longest
        }
    }

    /// Starts guests of one profile.
    pub(super) fn start(&mut self, profile: usize, batch: usize, weight: f64) {
        let cohort = self.guests.start(profile, batch, weight, self.now);
        if self.guests.profiles[profile].scanned {
            self.scanner.ring.insert(cohort, None);
        }
    }

    /// Share of a boot that a guest of each profile gets done per second.
    ///
    /// `min(processor, disk)/boot_time`: booting slows by what is shorter, and stops while memory is stalled.
    pub(super) fn boot_rates(&self) -> Vec<f64> {
        let processor = self.processor_share();
        let profiles = self.guests.by_profile().map(|(profile, _)| {
            if profile.boot_time <= 0.0 || self.memory.stalled {
                return 0.0;
            }
            let disk = profile.pool.map_or(1.0, |pool| self.pools.share(pool));
            processor.min(disk) / profile.boot_time
        });
        profiles.collect()
    }

    /// Share of the processor time asked for that everyone gets.
    ///
    /// `min(1, supply/demand)` of [`supply`], shared in proportion to what is asked for (assumption:
    /// a fair scheduler).
    fn processor_share(&self) -> f64 {
        let total = self.model.total_cores;
        let scanning = (self.scanner.speed.steady() * self.model.scanner.scan_cost).min(1.0);
        let supply = supply(total, self.model.host.cpu.base_cores, scanning);
        let supply = supply.max(LEAST_SUPPLY * total);
        let guests = self.guests.by_profile();
        let demand: f64 = guests
            .map(|(profile, sums)| sums.asked(&profile.cores))
            .sum();
        supply / demand.max(supply)
    }

    /// Moves on by `dt`.
    pub(super) fn advance(&mut self, boot_rates: &[f64], dt: f64) {
        self.guests.boot(boot_rates, dt);
        self.now += dt;
        self.guests.touch(self.now, dt, self.memory.stalled);
        self.guests.rewrite(dt);
        let (guests, families) = (&mut self.guests, &self.families);
        self.scanner.walk(guests, families, self.now, dt);
    }

    /// Moves on by `dt` through which nothing happens: what is rewritten and what is merged make up for each other.
    pub(super) fn skip(&mut self, dt: f64) {
        self.now += dt;
        for cohort in &mut self.guests.cohorts {
            cohort.at = self.now;
        }
        self.scanner.skip(self.now, dt);
    }

    /// Brings memory into balance after `dt`; returns the guests that the kernel killed for it.
    pub(super) fn balance(&mut self, dt: f64) -> Vec<Victim> {
        let mut victims = Vec::new();
        let mut time = dt;
        loop {
            let load = self.load();
            if self.memory.balance(&load, time) {
                return victims;
            }
            let Some(victim) = self.kill_largest() else {
                return victims;
            };
            self.memory.drop_swapped(victim.returned, &load);
            victims.push(victim);
            time = 0.0;
        }
    }

    /// Kills the guest with the largest resident memory, merged pages counted in full; the oldest of equals.
    ///
    /// # Source
    /// Linux mm/oom_kill.c (`oom_badness`). What comes back measured for this project: 263–273 MiB announced, 149–164
    /// returned.
    fn kill_largest(&mut self) -> Option<Victim> {
        self.scanner.looks += self.guests.cohorts.len() as u64 / 10;
        let (id, announced) = self.guests.largest()?;
        let one = self.split_one(id);
        let (cohort, profile, sums) = self.guests.cohort_at(one, self.now);
        let victim = Victim {
            profile: cohort.profile,
            batch: cohort.batch,
            booting: matches!(cohort.life, Life::Booting { .. }),
            announced,
            returned: cohort.private_bytes(profile, sums.clock).max(0.0),
        };
        self.change(one, |cohort, _| cohort.life = Life::Gone);
        self.scanner.ring.remove(one);
        Some(victim)
    }

    /// One guest of a cohort becomes busy for a time; returns where it is.
    pub(super) fn become_busy(&mut self, cohort: usize, lasts: f64) -> usize {
        let one = self.split_one(cohort);
        let grows_until = self.now + lasts.min(GROWTH_TIME);
        self.change(one, |cohort, profile| {
            cohort.become_busy(grows_until, profile.footprint.breaks);
        });
        self.guests.growing.push(one);
        one
    }

    /// A guest falls idle again; whether it still runs.
    pub(super) fn become_idle(&mut self, cohort: usize) -> bool {
        self.guests.growing.retain(|growing| *growing != cohort);
        if self.guests.cohorts[cohort].life == Life::Gone {
            return false;
        }
        self.change(cohort, |cohort, profile| cohort.become_idle(profile.keeps));
        true
    }

    /// Changes a cohort, which breaks off its visit.
    fn change(&mut self, id: usize, change: impl FnOnce(&mut Cohort, &Profile)) {
        self.scanner.break_off(id, &mut self.guests);
        self.guests.change(id, self.now, change);
    }

    /// Splits one guest off a cohort of several; returns where it is.
    fn split_one(&mut self, id: usize) -> usize {
        let one = self.guests.split_one(id);
        let cohort = &self.guests.cohorts[id];
        if one != id && self.guests.profiles[cohort.profile].scanned {
            self.scanner.split(id, one, cohort.weight);
        }
        one
    }
}
