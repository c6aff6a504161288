//! Guests of one profile that started at the same moment, as the scanner and the sums see them.

use super::part::{GROWN, Part};
use super::profile::Profile;

/// Guests of one profile that started at the same moment.
#[derive(Debug, Clone, Default)]
pub(super) struct Cohort {
    /// Profile, an index into `Lab::guests`.
    pub profile: usize,
    /// Batch that it belongs to.
    pub batch: usize,
    /// How many guests.
    pub weight: f64,
    /// What it is doing.
    pub life: Life,
    /// What it touches at boot, as shares of it, and when busy, as shares of what it keeps of that.
    pub parts: [Part; 2],
    /// Share of t1 − t0 that is resident.
    pub resident: f64,
    /// Moment up to which rewriting has been counted `[s]`.
    pub at: f64,
}

/// What a cohort is doing.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) enum Life {
    /// Booting since its profile's boot clock showed `begun`.
    Booting { begun: f64 },
    #[default]
    Idle,
    /// Busy; touches the rest of t1 until `grows_until` `[s]`.
    Busy { grows_until: f64 },
    /// Killed.
    Gone,
}

impl Cohort {
    /// Counts rewriting up to `now`.
    pub(super) fn rewrite_until(&mut self, now: f64, rewrites: f64) {
        if now > self.at {
            let left = (-(now - self.at) * rewrites).exp();
            self.parts.iter_mut().for_each(|part| part.merged *= left);
            self.at = now;
        }
    }

    /// Becomes busy, and touches memory until `grows_until`: what it rewrites is not merged meanwhile.
    pub(super) fn become_busy(&mut self, grows_until: f64, breaks: f64) {
        self.life = Life::Busy { grows_until };
        self.parts[GROWN].age = 0;
        for part in &mut self.parts {
            let broken = part.merged * breaks;
            part.merged -= broken;
            part.hot += broken;
        }
    }

    /// Falls idle, and keeps a share of what it touched.
    pub(super) fn become_idle(&mut self, keeps: f64) {
        self.life = Life::Idle;
        self.resident = keeps;
        self.parts.iter_mut().for_each(|part| part.hot = 0.0);
    }

    /// Share of what it keeps of t1 − t0 that is resident: the mergeable part of it is touched in step.
    pub(super) fn kept(&self, profile: &Profile) -> f64 {
        if profile.keeps > 0.0 {
            (self.resident / profile.keeps).min(1.0)
        } else {
            self.resident
        }
    }

    /// Share of t0 that is touched, given its profile's boot clock.
    pub(super) fn touched(&self, profile: &Profile, clock: f64) -> f64 {
        match self.life {
            Life::Booting { .. } if profile.whole() => 1.0,
            Life::Booting { begun } => (clock - begun).clamp(0.0, 1.0),
            Life::Idle | Life::Busy { .. } => 1.0,
            Life::Gone => 0.0,
        }
    }

    /// Resident bytes of one guest, merged pages counted in full; what the kernel picks its victim by.
    pub(super) fn resident_bytes(&self, profile: &Profile, clock: f64) -> f64 {
        profile.footprint.overhead + self.pages(profile, clock)
    }

    /// Pages of one guest that are resident `[B]`.
    fn pages(&self, profile: &Profile, clock: f64) -> f64 {
        self.touched(profile, clock) * profile.footprint.touched + self.resident * profile.grown
    }

    /// Bytes that only this guest holds: what killing one guest of the cohort returns, page tables and bookkeeping
    /// included.
    pub(super) fn private_bytes(&self, profile: &Profile, clock: f64) -> f64 {
        let [base, grown] = &self.parts;
        let tracked = base.seen * (profile.footprint.touched - profile.files)
            + grown.seen * self.resident * profile.grown;
        profile.footprint.overhead
            + self.pages(profile, clock) * (1.0 + profile.tables)
            + tracked * profile.bookkeeping
            - self.touched(profile, clock) * profile.files
            - profile.merged(&self.parts)
    }
}
