//! A host at one moment of a run, and how it moves on.

use std::collections::VecDeque;

use super::busy::Calendar;
use super::cohort::{Cohort, Life};
use super::copies::Families;
use super::load::{Load, Totals, load};
use super::options::Options;
use super::pool::PoolState;
use super::pressure::Pressure;
use super::profile::Profile;
use super::ring::Ring;
use super::scanner::Scanner;
use crate::model::sharing::SMART_SCAN_PASSES;
use crate::sizing::host::HostModel;

/// A host at one moment.
#[derive(Debug)]
pub(super) struct HostState<'a> {
    pub model: &'a HostModel<'a>,
    pub profiles: Vec<Profile>,
    pub families: Families,
    /// `[s]` since the first batch.
    pub now: f64,
    pub cohorts: Vec<Cohort>,
    pub totals: Vec<Totals>,
    /// Booting cohorts of each profile, oldest first: all of a profile boot equally fast.
    pub queues: Vec<VecDeque<usize>>,
    pub ring: Ring,
    pub scanner: Scanner,
    pub scanner_from: f64,
    pub pools: Vec<PoolState>,
    pub pressure: Pressure,
    pub calendar: Calendar,
    /// Cohorts that are touching memory for a busy spell.
    pub growing: Vec<usize>,
}

impl<'a> HostState<'a> {
    pub(super) fn new(model: &'a HostModel<'a>, options: &Options) -> HostState<'a> {
        let profiles = Profile::all(model);
        let count = profiles.len();
        HostState {
            families: Families::new(&model.lab.guests, &profiles),
            profiles,
            now: 0.0,
            cohorts: Vec::new(),
            totals: vec![Totals::default(); count],
            queues: vec![VecDeque::new(); count],
            ring: Ring::new(),
            scanner: Scanner::new(model, options.scanner_from_s),
            scanner_from: options.scanner_from_s,
            pools: model.host.disks.iter().map(PoolState::new).collect(),
            pressure: Pressure::new(model),
            calendar: Calendar::new(&options.spells),
            growing: Vec::new(),
            model,
        }
    }

    /// What all guests hold.
    pub(super) fn load(&self) -> Load {
        load(
            &self.profiles,
            &self.totals,
            &self.families,
            self.scanner.users(),
        )
    }

    /// Guests that run.
    pub(super) fn alive(&self) -> f64 {
        self.totals.iter().map(|totals| totals.alive).sum()
    }

    /// Guests that boot.
    pub(super) fn booting(&self) -> f64 {
        self.totals.iter().map(|totals| totals.booting).sum()
    }

    /// Base, cache and guests in memory `[B]`.
    pub(super) fn used(&self, load: &Load) -> f64 {
        let used = self.model.host.memory.base + self.pressure.cache + load.demand
            - self.pressure.relief();
        // A guest that waits for swap has not got its memory yet.
        used.min(self.model.visible)
    }

    /// Pages that a pass of the steady state visits with the guests that are up.
    pub(super) fn pass_pages(&self) -> f64 {
        let rest = if self.scanner.smart() {
            1.0 / SMART_SCAN_PASSES
        } else {
            1.0
        };
        self.profiles
            .iter()
            .zip(&self.totals)
            .map(|(profile, totals)| totals.alive * profile.pages(rest))
            .sum()
    }

    /// Bytes that can merge and never have yet.
    pub(super) fn unmerged_yet(&self) -> f64 {
        let rows = self
            .profiles
            .iter()
            .zip(&self.totals)
            .filter(|(profile, _)| profile.scanned);
        rows.map(|(profile, totals)| {
            let waiting = (totals.touched(profile) - totals.base.reached).max(0.0);
            profile.mergeable * waiting
        })
        .sum()
    }

    /// One pass of the steady state at today's speed `[s]`; none at rest and where nothing is scanned.
    pub(super) fn pass_time(&self) -> Option<f64> {
        let (pages, speed) = (self.pass_pages(), self.scanner.steady_speed());
        (pages > 0.0 && speed > 0.0).then_some(pages / speed)
    }

    /// Moves on by `dt`.
    pub(super) fn advance(&mut self, dt: f64) {
        self.boot(dt);
        self.now += dt;
        self.grow(dt);
        for (totals, profile) in self.totals.iter_mut().zip(&self.profiles) {
            totals.rewrite(dt, profile);
        }
        if self.now > self.scanner_from {
            self.walk(dt);
        }
    }

    /// Takes a cohort out of the sums, changes it and counts it in again.
    pub(super) fn alter(&mut self, id: usize, change: impl FnOnce(&mut Cohort, &Profile)) {
        self.break_off(id);
        let cohort = &mut self.cohorts[id];
        let profile = &self.profiles[cohort.profile];
        cohort.bring_to(self.now, profile.rewrites);
        self.totals[cohort.profile].count(cohort, profile, -1.0);
        change(cohort, profile);
        self.totals[cohort.profile].count(cohort, profile, 1.0);
    }

    /// Splits one guest off a cohort, so that it can go its own way; returns where it is.
    pub(super) fn split_one(&mut self, id: usize) -> usize {
        if self.cohorts[id].weight <= 1.0 {
            return id;
        }
        let one = self.cohorts.len();
        let mut single = self.cohorts[id].clone();
        single.weight = 1.0;
        // The sums stay the same: the guest only changes the cohort that counts it.
        self.cohorts[id].weight -= 1.0;
        if let Some(visit) = &mut self.scanner.visit
            && visit.cohort == id
        {
            let share = self.cohorts[id].weight / (self.cohorts[id].weight + 1.0);
            visit.pages *= share;
            visit.left *= share;
        }
        if matches!(single.life, Life::Booting { .. }) {
            self.queues[single.profile].push_front(one);
        }
        if self.profiles[single.profile].scanned {
            self.ring.insert_before(one, id);
        }
        self.cohorts.push(single);
        one
    }
}
