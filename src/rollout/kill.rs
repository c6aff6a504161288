//! The kernel killing guests when memory and swap are gone.

use super::cohort::Life;
use super::host::HostState;

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

impl HostState<'_> {
    /// Kills the guest with the largest resident memory, merged pages counted in full; the oldest of equals.
    ///
    /// # Source
    /// Linux mm/oom_kill.c (`oom_badness`). What comes back measured for this project: 263–273 MiB announced, 149–164
    /// returned.
    pub(super) fn kill_largest(&mut self) -> Option<Victim> {
        let mut largest: Option<(usize, f64)> = None;
        for (id, cohort) in self.cohorts.iter().enumerate() {
            if cohort.life == Life::Gone {
                continue;
            }
            let held = cohort.held(
                &self.profiles[cohort.profile],
                self.totals[cohort.profile].clock,
            );
            // Equal but for rounding errors is equal.
            if largest.is_none_or(|(_, most)| held > most * (1.0 + 1e-12)) {
                largest = Some((id, held));
            }
        }
        let (id, announced) = largest?;
        let one = self.split_one(id);
        let now = self.now;
        let cohort = &mut self.cohorts[one];
        let profile = &self.profiles[cohort.profile];
        cohort.bring_to(now, profile.rewrites);
        let victim = Victim {
            profile: cohort.profile,
            batch: cohort.batch,
            booting: matches!(cohort.life, Life::Booting { .. }),
            announced,
            returned: cohort
                .private(profile, self.totals[cohort.profile].clock)
                .max(0.0),
        };
        self.alter(one, |cohort, _| cohort.life = Life::Gone);
        self.ring.remove(one);
        Some(victim)
    }

    /// Guests that are asking for memory: booting ones and busy ones that still grow.
    pub(super) fn allocating(&self) -> f64 {
        let growing: f64 = self.growing.iter().map(|id| self.cohorts[*id].weight).sum();
        self.booting() + growing
    }
}
