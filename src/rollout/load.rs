//! What all guests hold together: sums that are kept up to date as cohorts change, never recounted.

use super::cohort::{Cohort, Life, Part};
use super::copies::{Families, Which};
use super::profile::Profile;

/// Sums over the guests of one profile.
#[derive(Debug, Clone, Default)]
pub(super) struct Totals {
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
    pub base: Part,
    /// Σ of shares.
    pub grown: Part,
    /// Σ of the resident share of t1 − t0.
    pub resident: f64,
    /// Σ of the resident share of what is kept of it.
    pub kept: f64,
    /// Σ of the tracked share of t1 − t0.
    pub tracked: f64,
}

impl Totals {
    /// Σ of the touched share of t0.
    pub(super) fn touched(&self, profile: &Profile) -> f64 {
        if profile.whole {
            self.alive
        } else {
            (self.up + self.booting * self.clock - self.begun).max(0.0)
        }
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
        self.base.change(&cohort.base, weight);
        self.grown.change(&cohort.grown, weight);
        self.resident += weight * cohort.resident;
        self.kept += weight * cohort.kept(profile);
        self.tracked += weight * cohort.grown.seen * cohort.resident;
        if self.alive < 0.5 {
            // Nobody is left: drop rounding errors.
            *self = Totals {
                clock: self.clock,
                ..Totals::default()
            };
        }
    }

    /// Counts rewriting during `dt`.
    pub(super) fn rewrite(&mut self, dt: f64, profile: &Profile) {
        if self.base.merged > 0.0 || self.grown.merged > 0.0 {
            let left = (-dt * profile.rewrites).exp();
            self.base.merged *= left;
            self.grown.merged *= left;
        }
    }

    fn part(&self, which: Which) -> &Part {
        match which {
            Which::Base => &self.base,
            Which::Grown => &self.grown,
        }
    }
}

/// What all guests hold together `[B]`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Load {
    /// Physical memory if nothing were swapped out, page tables and bookkeeping included.
    pub demand: f64,
    /// Part of it that can be swapped out.
    pub swappable: f64,
    /// Saved by the scanner: merged pages beyond the copies that stay.
    pub saved: f64,
    /// Resident with merged pages counted in full, without page tables and bookkeeping.
    pub resident: f64,
}

/// What all guests hold, from the sums.
///
/// `Σ n·o + resident·(1 + tables) + tracked·64/4096 − merged + copies`, the steady state's sum with each share as far as
/// it has come.
pub(super) fn load(
    profiles: &[Profile],
    totals: &[Totals],
    families: &Families,
    users: f64,
) -> Load {
    let reached = |profile: usize, which| totals[profile].part(which).reached;
    let merged = |profile: usize, which| totals[profile].part(which).merged;
    let touched = |profile: usize, _| totals[profile].touched(&profiles[profile]);
    let scanned: f64 = families
        .scanned
        .iter()
        .map(|family| family.copies(users, reached, merged))
        .sum();
    let files: f64 = families
        .files
        .iter()
        .map(|family| family.copies(f64::INFINITY, touched, touched))
        .sum();
    let mut load = Load {
        demand: scanned + files,
        saved: -scanned,
        ..Load::default()
    };
    let mut fixed = 0.0;
    for (profile, sums) in profiles.iter().zip(totals) {
        if sums.alive <= 0.0 {
            continue;
        }
        let touched = sums.touched(profile);
        let resident = touched * profile.touched + sums.resident * profile.grown;
        let tracked =
            sums.base.seen * (profile.touched - profile.files) + sums.tracked * profile.grown;
        let own_copies = sums.base.merged * (profile.repeats - profile.zero) / users;
        let merged =
            sums.base.merged * profile.mergeable + sums.grown.merged * profile.grown_common;
        let held = sums.alive * profile.overhead
            + resident * (1.0 + profile.tables)
            + tracked * profile.tracked
            - touched * profile.files;
        load.demand += held - merged + own_copies;
        load.saved += merged - own_copies;
        load.resident += sums.alive * profile.overhead + resident;
        if !profile.swappable {
            fixed += held;
        }
    }
    load.saved = load.saved.max(0.0);
    load.swappable = (load.demand - fixed).max(0.0);
    load
}
