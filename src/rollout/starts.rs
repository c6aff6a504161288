//! Guests yet to start: the schedule turned into moments.

use std::collections::VecDeque;

use super::host::HostState;
use super::options::{Disks, Options, Stagger};
use super::order::first_guests;
use super::record::Recorder;
use super::schedule::{Batch, Schedule};
use super::step::NOW;

/// Most cohorts of a run; more guests than that start in groups.
const MOST_COHORTS: u64 = 20_000;
/// A batch of a schedule made on the way has at least this share of the guests that run before it, so that there are not
/// very many; a smaller one waits for more room while memory still falls. Whatever the target, so that a higher one goes
/// the same way for as long as it is safe. Assumption.
const LEAST_BATCH: f64 = 0.05;

/// Guests that start at one moment.
#[derive(Debug, Clone, Copy)]
struct Start {
    at: f64,
    profile: usize,
    weight: f64,
}

/// Guests yet to start.
#[derive(Debug)]
pub(super) struct Starts {
    /// Profiles in the order they start.
    order: Vec<usize>,
    /// How many of them belong to batches that have begun.
    begun: usize,
    plan: Pace,
    pending: VecDeque<Start>,
    stagger: Stagger,
    disks: Disks,
    /// Guests that start together where there are very many.
    group: f64,
}

#[derive(Debug)]
enum Pace {
    Batches(VecDeque<Batch>),
    AsSoonAsSafe { limit: f64, exhausted: bool },
}

impl Starts {
    pub(super) fn new(host: &HostState, schedule: &Schedule, options: &Options) -> Starts {
        let guests = schedule.guests();
        Starts {
            order: first_guests(&host.model.composition, guests),
            begun: 0,
            plan: match schedule {
                Schedule::Batches(batches) => Pace::Batches(batches.iter().copied().collect()),
                Schedule::AsSoonAsSafe { limit, .. } => Pace::AsSoonAsSafe {
                    limit: *limit,
                    exhausted: false,
                },
            },
            pending: VecDeque::new(),
            stagger: options.stagger,
            disks: options.disks,
            group: guests.div_ceil(MOST_COHORTS).max(1) as f64,
        }
    }

    /// Whether every guest has been started, or none more will be.
    pub(super) fn done(&self) -> bool {
        self.pending.is_empty()
            && match &self.plan {
                Pace::Batches(batches) => batches.is_empty(),
                Pace::AsSoonAsSafe { exhausted, .. } => {
                    *exhausted || self.begun == self.order.len()
                }
            }
    }

    /// Whether it gave up with guests left.
    pub(super) fn gave_up(&self) -> bool {
        matches!(
            self.plan,
            Pace::AsSoonAsSafe {
                exhausted: true,
                ..
            }
        )
    }

    /// When the next one starts `[s]`; none where that depends on how the run goes.
    pub(super) fn next(&self) -> Option<f64> {
        match (&self.plan, self.pending.front()) {
            (_, Some(start)) => Some(start.at),
            (Pace::Batches(batches), None) => batches.front().map(|batch| batch.start_s),
            (Pace::AsSoonAsSafe { .. }, None) => None,
        }
    }

    /// Begins the batch that is due, if one is, and starts the guests that are due.
    ///
    /// `calm`: whether memory has settled, so that waiting longer will not make room.
    pub(super) fn fire(&mut self, host: &mut HostState, recorder: &mut Recorder, calm: Calm) {
        loop {
            while let Some(start) = self.pending.front().copied() {
                if start.at > host.now + NOW {
                    return;
                }
                self.pending.pop_front();
                host.start(start.profile, recorder.batches.len() - 1, start.weight);
            }
            match self.next_batch(host, calm) {
                Some(0) => {}
                Some(guests) => self.begin(host, recorder, guests),
                None => return,
            }
        }
    }

    fn next_batch(&mut self, host: &HostState, calm: Calm) -> Option<usize> {
        let left = self.order.len() - self.begun;
        match &mut self.plan {
            Pace::Batches(batches) => {
                let batch = batches
                    .front()
                    .copied()
                    .filter(|batch| batch.start_s <= host.now + NOW)?;
                batches.pop_front();
                Some(usize::try_from(batch.guests).unwrap_or(left).min(left))
            }
            Pace::AsSoonAsSafe { limit, exhausted } => {
                let room = room(host, *limit);
                let safe = safe_guests(host, &self.order[self.begun..], room);
                let wanted = ((LEAST_BATCH * host.alive()).ceil() as usize).clamp(1, left.max(1));
                if left > 0 && safe == 0 && calm == Calm::Settled {
                    *exhausted = true;
                }
                (safe >= wanted || (safe > 0 && calm == Calm::Settled)).then_some(safe)
            }
        }
    }

    fn begin(&mut self, host: &mut HostState, recorder: &mut Recorder, guests: usize) {
        let profiles = &self.order[self.begun..self.begun + guests];
        let cloning = match self.disks {
            Disks::Clone => host.clone_guests(profiles),
            Disks::Ready => Some(0.0),
        };
        recorder.begin(
            host.now,
            host.alive().round() as u64,
            guests as u64,
            cloning,
        );
        let mut at = host.now + cloning.unwrap_or(0.0);
        for profile in profiles {
            let gap = match self.stagger {
                Stagger::BootTime => host.profiles[*profile].boot_time,
                Stagger::Every(gap) => gap.max(0.0),
            };
            let joined = self
                .pending
                .iter_mut()
                .rev()
                .take(host.profiles.len())
                .find(|start| {
                    start.profile == *profile && (start.at == at || start.weight < self.group)
                });
            match joined {
                Some(start) => start.weight += 1.0,
                None => self.pending.push_back(Start {
                    at,
                    profile: *profile,
                    weight: 1.0,
                }),
            }
            at += gap;
        }
        self.begun += guests;
    }
}

/// Whether waiting longer would make room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Calm {
    /// Guests boot or memory still moves.
    Moving,
    /// Memory has settled.
    Settled,
}

/// Memory left under a limit once everything under way is touched `[B]`.
fn room(host: &HostState, limit: f64) -> f64 {
    let load = host.load();
    let memory = &host.model.host.memory;
    let coming: f64 = host
        .profiles
        .iter()
        .zip(&host.totals)
        .map(|(profile, totals)| {
            let touched = totals.touched(profile);
            let untouched = totals.alive - touched;
            let files = (totals.alive.min(1.0) - touched).max(0.0) * profile.files;
            untouched * (profile.beside_others() - profile.overhead) + files
        })
        .sum();
    limit * host.model.visible - memory.base - host.pressure.cache - load.demand - coming
}

/// How many of the next guests fit into `room` before any of them merges; files that the page cache shares count once.
fn safe_guests(host: &HostState, next: &[usize], room: f64) -> usize {
    let mut left = room + 1e-9 * host.model.visible;
    let mut there: Vec<bool> = host
        .totals
        .iter()
        .map(|totals| totals.alive >= 1.0)
        .collect();
    let fitting = next.iter().take_while(|profile| {
        let newcomer = &host.profiles[**profile];
        left -= if std::mem::replace(&mut there[**profile], true) {
            newcomer.beside_others()
        } else {
            newcomer.unmerged()
        };
        left >= 0.0
    });
    fitting.count()
}

impl HostState<'_> {
    /// Writes the clones of some guests through their pools; returns how long the slowest pool takes.
    fn clone_guests(&mut self, profiles: &[usize]) -> Option<f64> {
        let mut bytes = vec![0.0; self.pools.len()];
        for profile in profiles {
            if let Some(pool) = self.profiles[*profile].pool {
                bytes[pool] += self.profiles[*profile].cloned;
            }
        }
        let now = self.now;
        let mut longest = None;
        for (pool, bytes) in self.pools.iter_mut().zip(bytes) {
            if bytes > 0.0
                && let Some(time) = pool.write(bytes, now)
            {
                longest = Some(time.max(longest.unwrap_or(0.0)));
            }
        }
        longest
    }
}
