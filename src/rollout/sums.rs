//! Sums over the guests of one profile, kept up to date as cohorts change, never recounted.

use super::cohort::{Cohort, Life};
use super::part::{GROWN, Part};
use super::profile::{Profile, Rates};

/// Sums over the guests of one profile.
#[derive(Debug, Clone, Default)]
pub(super) struct Sums {
    /// Boot clock: rises by 1 while a guest boots.
    pub clock: f64,
    /// Guests that run.
    pub alive: f64,
    /// Guests that are up.
    pub up: f64,
    /// Guests that are up and busy.
    pub busy: f64,
    /// Guests that boot.
    pub booting: f64,
    /// Σ of the clock at their start over the booting guests.
    pub begun: f64,
    /// Σ of shares.
    pub parts: [Part; 2],
    /// Σ of the resident share of t1 − t0.
    pub resident: f64,
    /// Σ of the resident share of what is kept of it.
    pub kept: f64,
    /// Σ of the tracked share of t1 − t0.
    pub tracked: f64,
}

impl Sums {
    /// Σ of the touched share of t0.
    pub(super) fn touched(&self, profile: &Profile) -> f64 {
        if profile.whole() {
            self.alive
        } else {
            (self.up + self.booting * self.clock - self.begun).max(0.0)
        }
    }

    /// Σ of what guests ask for per second: `booting·boot + (up − busy)·idle + busy·busy`.
    pub(super) fn asked(&self, rates: &Rates) -> f64 {
        self.booting * rates.boot + (self.up - self.busy) * rates.idle + self.busy * rates.busy
    }

    /// Counts a cohort in (`sign` 1) or out (−1).
    pub(super) fn count(&mut self, cohort: &Cohort, profile: &Profile, sign: f64) {
        let weight = sign * cohort.weight;
        match cohort.life {
            Life::Gone => return,
            Life::Booting { begun } => {
                self.booting += weight;
                self.begun += weight * begun;
            }
            Life::Idle => self.up += weight,
            Life::Busy { .. } => {
                self.up += weight;
                self.busy += weight;
            }
        }
        self.alive += weight;
        self.add(&cohort.parts, weight);
        self.count_grown(cohort, profile, weight);
        if self.alive < 0.5 {
            // Nobody is left: drop rounding errors.
            *self = Sums {
                clock: self.clock,
                ..Sums::default()
            };
        }
    }

    /// Counts what a cohort touched when busy.
    pub(super) fn count_grown(&mut self, cohort: &Cohort, profile: &Profile, weight: f64) {
        self.resident += weight * cohort.resident;
        self.kept += weight * cohort.kept(profile);
        self.tracked += weight * cohort.parts[GROWN].seen * cohort.resident;
    }

    /// Counts what a visit of the scanner changed in a cohort.
    pub(super) fn count_visit(&mut self, cohort: &Cohort, changes: &[Part; 2]) {
        self.add(changes, cohort.weight);
        self.tracked += changes[GROWN].seen * cohort.weight * cohort.resident;
    }

    fn add(&mut self, parts: &[Part; 2], weight: f64) {
        for (sum, part) in self.parts.iter_mut().zip(parts) {
            sum.add(part, weight);
        }
    }

    /// Counts rewriting during `dt`.
    pub(super) fn rewrite(&mut self, dt: f64, profile: &Profile) {
        if self.parts.iter().any(|part| part.merged > 0.0) {
            let left = (-dt * profile.rewrites).exp();
            self.parts.iter_mut().for_each(|part| part.merged *= left);
        }
    }

    /// The boot clock only counts differences: starts it over while no guest boots, so that it never grows large.
    pub(super) fn reset_clock(&mut self) {
        self.clock = 0.0;
        self.begun = 0.0;
        self.booting = 0.0;
    }
}
