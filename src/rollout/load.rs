//! What all guests hold together.

use super::copies::Families;
use super::guests::Guests;
use super::part::BASE;

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

impl Load {
    /// What all guests hold, from the sums.
    ///
    /// `Σ n·o + resident·(1 + tables) + tracked·64/4096 − merged + copies`: the sum of [`crate::model::held`] with each
    /// share as far as it has come. That law counts whole guests in one state; here parts of guests are touched, tracked
    /// and merged, each on its own.
    pub(super) fn of(guests: &Guests, families: &Families, users: f64) -> Load {
        let scanned = families.merged_copies(guests, users);
        let mut load = Load {
            demand: scanned + families.file_copies(guests),
            saved: 0.0 - scanned,
            ..Load::default()
        };
        let mut fixed = 0.0;
        for (profile, sums) in guests.by_profile() {
            if sums.alive <= 0.0 {
                continue;
            }
            let touched = sums.touched(profile);
            let base = &sums.parts[BASE];
            let overhead = sums.alive * profile.footprint.overhead;
            let resident = touched * profile.footprint.touched + sums.resident * profile.grown;
            let tracked = base.seen * (profile.footprint.touched - profile.files)
                + sums.tracked * profile.grown;
            let own_copies = base.merged * profile.repeats / users;
            let merged = profile.merged(&sums.parts);
            let held = overhead + resident * (1.0 + profile.tables) + tracked * profile.bookkeeping
                - touched * profile.files;
            load.demand += held - merged + own_copies;
            load.saved += merged - own_copies;
            load.resident += overhead + resident;
            if profile.whole() {
                fixed += held;
            }
        }
        load.saved = load.saved.max(0.0);
        load.swappable = (load.demand - fixed).max(0.0);
        load
    }
}
