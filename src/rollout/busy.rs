//! Busy spells: guests touch the rest of their memory, break sharing, and keep most of it.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::cohort::Life;
use super::host::HostState;
use super::options::{Spell, Spells};
use super::profile::Profile;
use super::random::Pcg32;
use super::step::NOW;

/// Longest time that a busy guest takes to touch all it will `[s]`. Assumption: the measured guest grew through the
/// whole of its spell of 45 s.
const GROWTH_TIME: f64 = 60.0;
/// Stream of the generator for busy spells, so that other uses of a seed do not repeat it.
const STREAM: u64 = 9;

/// What becomes due.
#[derive(Debug, Clone, Copy)]
enum Due {
    /// Some guests of a profile become busy.
    Spell(Spell),
    /// A guest of a cohort becomes busy by chance.
    Chance(usize),
    /// A guest falls idle again.
    Over(usize),
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    at: f64,
    /// Settles ties: first come, first served.
    number: u64,
    due: Due,
}

impl Ord for Entry {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap hands out the largest: the earliest.
        other
            .at
            .total_cmp(&self.at)
            .then(other.number.cmp(&self.number))
    }
}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Entry {}

/// Spells to come.
#[derive(Debug)]
pub(super) struct Calendar {
    entries: BinaryHeap<Entry>,
    entered: u64,
    sampling: Option<(Pcg32, f64)>,
    /// Entries that the run waits for: spells asked for and their ends.
    awaited: u64,
}

impl Calendar {
    pub(super) fn new(spells: &Spells) -> Calendar {
        let mut calendar = Calendar {
            entries: BinaryHeap::new(),
            entered: 0,
            sampling: None,
            awaited: 0,
        };
        match spells {
            Spells::None => {}
            Spells::At(spells) => {
                for spell in spells {
                    calendar.enter(spell.at_s, Due::Spell(*spell));
                    calendar.awaited += 1;
                }
            }
            Spells::Sampled { seed, mean_s } => {
                calendar.sampling = Some((Pcg32::new(*seed, STREAM), mean_s.max(1.0)))
            }
        }
        calendar
    }

    fn enter(&mut self, at: f64, due: Due) {
        self.entered += 1;
        self.entries.push(Entry {
            at,
            number: self.entered,
            due,
        });
    }

    /// When the next one is due `[s]`.
    pub(super) fn next(&self) -> Option<f64> {
        self.entries.peek().map(|entry| entry.at)
    }

    /// Whether spells that were asked for are still to come or to end.
    pub(super) fn awaits(&self) -> bool {
        self.awaited > 0
    }

    /// A cohort is up: samples when each of its guests becomes busy.
    pub(super) fn came_up(&mut self, cohort: usize, weight: f64, now: f64, profile: &Profile) {
        for _ in 0..weight.round() as u64 {
            self.chance(cohort, now, profile);
        }
    }

    /// Idle times have the mean that makes `busy` the share of time busy.
    fn chance(&mut self, cohort: usize, now: f64, profile: &Profile) {
        let Some((random, mean)) = &mut self.sampling else {
            return;
        };
        if profile.busy > 0.0 {
            let idle = *mean * (1.0 - profile.busy).max(0.0) / profile.busy;
            let at = now + random.exponential(idle);
            self.enter(at, Due::Chance(cohort));
        }
    }

    fn spell_length(&mut self) -> f64 {
        self.sampling
            .as_mut()
            .map_or(0.0, |(random, mean)| random.exponential(*mean))
    }
}

impl HostState<'_> {
    /// Begins and ends the spells that are due.
    pub(super) fn turn_busy(&mut self) {
        while let Some(entry) = self.calendar.entries.peek().copied() {
            if entry.at > self.now + NOW {
                return;
            }
            self.calendar.entries.pop();
            match entry.due {
                Due::Spell(spell) => {
                    self.calendar.awaited -= 1;
                    for _ in 0..spell.guests {
                        let Some(id) = self.oldest_idle(spell.profile) else {
                            break;
                        };
                        let one = self.split_one(id);
                        self.begin(one, spell.lasts_s);
                        self.calendar.awaited += 1;
                    }
                }
                Due::Chance(cohort) => {
                    if self.cohorts[cohort].life == Life::Idle {
                        let one = self.split_one(cohort);
                        let lasts = self.calendar.spell_length();
                        self.begin(one, lasts);
                    }
                }
                Due::Over(cohort) => self.end(cohort),
            }
        }
    }

    fn oldest_idle(&self, profile: usize) -> Option<usize> {
        self.cohorts
            .iter()
            .position(|cohort| cohort.profile == profile && cohort.life == Life::Idle)
    }

    fn begin(&mut self, id: usize, lasts: f64) {
        let lasts = lasts.max(0.0);
        let now = self.now;
        self.alter(id, |cohort, profile| {
            cohort.life = Life::Busy {
                grows_until: now + lasts.min(GROWTH_TIME),
            };
            cohort.grown_age = 0;
            for part in [&mut cohort.base, &mut cohort.grown] {
                let broken = part.merged * profile.breaks;
                part.merged -= broken;
                part.held += broken;
            }
        });
        self.growing.push(id);
        self.calendar.enter(now + lasts, Due::Over(id));
    }

    fn end(&mut self, id: usize) {
        self.growing.retain(|growing| *growing != id);
        if self.calendar.sampling.is_none() {
            self.calendar.awaited -= 1;
        }
        if self.cohorts[id].life == Life::Gone {
            return;
        }
        self.alter(id, |cohort, profile| {
            cohort.life = Life::Idle;
            cohort.resident = profile.keeps;
            cohort.base.held = 0.0;
            cohort.grown.held = 0.0;
        });
        let profile = &self.profiles[self.cohorts[id].profile];
        self.calendar.chance(id, self.now, profile);
    }

    /// Busy guests touch memory for `dt` up to now, evenly until all is touched.
    pub(super) fn grow(&mut self, dt: f64) {
        if self.growing.is_empty() {
            return;
        }
        let stalled = self.pressure.stalled;
        let before = self.now - dt;
        for id in std::mem::take(&mut self.growing) {
            let cohort = &mut self.cohorts[id];
            let profile = &self.profiles[cohort.profile];
            let Life::Busy { grows_until } = &mut cohort.life else {
                continue;
            };
            if stalled {
                *grows_until += dt;
            } else {
                let left = *grows_until - before;
                let share = if left > dt { dt / left } else { 1.0 };
                let totals = &mut self.totals[cohort.profile];
                // Only what is resident changes, so the sums can be corrected in place.
                totals.resident -= cohort.weight * cohort.resident;
                totals.kept -= cohort.weight * cohort.kept(profile);
                totals.tracked -= cohort.weight * cohort.grown.seen * cohort.resident;
                cohort.resident += (1.0 - cohort.resident) * share;
                totals.resident += cohort.weight * cohort.resident;
                totals.kept += cohort.weight * cohort.kept(profile);
                totals.tracked += cohort.weight * cohort.grown.seen * cohort.resident;
                if share >= 1.0 {
                    continue;
                }
            }
            self.growing.push(id);
        }
    }
}
