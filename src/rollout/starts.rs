//! Guests yet to start: the schedule turned into moments.

use std::collections::VecDeque;

use super::host::HostState;
use super::options::{Disks, Options, Stagger};
use super::queue::{Due, EventQueue, NOW};
use super::recorder::Recorder;
use super::schedule::{Batch, Schedule};
use crate::sizing::composition::Composition;

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
#[derive(Debug, Clone)]
pub(super) struct Starts<'a> {
    pub schedule: &'a Schedule,
    /// Batches of a given schedule that have begun.
    batches: usize,
    /// Whether waiting makes no room for one more guest, as far as can be seen without a trial.
    pub stuck: bool,
    /// Whether no more guests are safe.
    pub exhausted: bool,
    /// Profiles in the order they start.
    order: Order<'a>,
    /// How many of them belong to batches that have begun.
    begun: usize,
    pending: VecDeque<Start>,
    options: &'a Options,
    /// Guests that start together where there are very many.
    group: f64,
}

impl<'a> Starts<'a> {
    pub(super) fn new(
        host: &HostState<'a>,
        schedule: &'a Schedule,
        options: &'a Options,
    ) -> Starts<'a> {
        let guests = schedule.guests();
        Starts {
            schedule,
            batches: 0,
            stuck: false,
            exhausted: false,
            order: Order::new(&host.model.composition, guests),
            begun: 0,
            pending: VecDeque::new(),
            options,
            group: guests.div_ceil(MOST_COHORTS).max(1) as f64,
        }
    }

    /// Whether every guest has been started, or none more will be.
    pub(super) fn done(&self) -> bool {
        let begun = match self.schedule {
            Schedule::Batches(batches) => self.batches == batches.len(),
            Schedule::AsSoonAsSafe { .. } => self.exhausted || self.begun == self.order.total,
        };
        begun && self.pending.is_empty()
    }

    /// The next batch of a given schedule.
    fn batch(&self) -> Option<Batch> {
        match self.schedule {
            Schedule::Batches(batches) => batches.get(self.batches).copied(),
            Schedule::AsSoonAsSafe { .. } => None,
        }
    }

    /// When the next one starts `[s]`; none where that depends on how the run goes.
    pub(super) fn next(&self) -> Option<f64> {
        let start = self.pending.front().map(|start| start.at);
        start.or(self.batch().map(|batch| batch.start_s))
    }

    /// Begins the batch that is due, if one is, and starts the guests that are due.
    ///
    /// `settled`: whether waiting longer makes no more room.
    pub(super) fn start_due(
        &mut self,
        host: &mut HostState,
        recorder: &mut Recorder,
        queue: &mut EventQueue,
        settled: bool,
    ) {
        self.stuck = false;
        loop {
            while let Some(start) = self.pending.front().copied() {
                if start.at > host.now + NOW {
                    return;
                }
                self.pending.pop_front();
                host.start(start.profile, recorder.run.batches.len() - 1, start.weight);
            }
            match self.next_batch(host, settled) {
                Some(0) => {}
                Some(guests) => self.begin(host, recorder, queue, guests),
                None => return,
            }
        }
    }

    /// How many of the next guests fit into `room` before any of them merges; files that the page cache shares count once.
    fn safe_guests(&mut self, host: &HostState, room: f64) -> usize {
        let mut left = room + 1e-9 * host.model.visible;
        let guests = host.guests.by_profile();
        let mut present: Vec<bool> = guests.map(|(_, sums)| sums.alive >= 1.0).collect();
        let fitting = (self.begun..self.order.total).take_while(|index| {
            let profile = self.order.at(*index);
            let newcomer = &host.guests.profiles[profile];
            left -= if std::mem::replace(&mut present[profile], true) {
                newcomer.beside_others()
            } else {
                newcomer.unmerged
            };
            left >= 0.0
        });
        fitting.count()
    }

    fn next_batch(&mut self, host: &HostState, settled: bool) -> Option<usize> {
        let left = self.order.total - self.begun;
        match self.schedule {
            Schedule::Batches(_) => {
                let batch = self
                    .batch()
                    .filter(|batch| batch.start_s <= host.now + NOW)?;
                self.batches += 1;
                Some(usize::try_from(batch.guests).unwrap_or(left).min(left))
            }
            Schedule::AsSoonAsSafe { limit, .. } => {
                let room = room(host, *limit);
                let safe = self.safe_guests(host, room);
                let least = (LEAST_BATCH * host.guests.alive()).ceil() as usize;
                self.stuck = left > 0 && safe == 0 && settled;
                (safe >= least.clamp(1, left.max(1)) || (safe > 0 && settled)).then_some(safe)
            }
        }
    }

    /// Begins a batch of so many guests: has their disks cloned, and puts down when each starts.
    pub(super) fn begin(
        &mut self,
        host: &mut HostState,
        recorder: &mut Recorder,
        queue: &mut EventQueue,
        guests: usize,
    ) {
        let profiles = self.begun..self.begun + guests;
        let profiles: Vec<usize> = profiles.map(|index| self.order.at(index)).collect();
        let cloning = match self.options.disks {
            Disks::Clone => {
                let times = host.pools.write_clones(&profiles, &host.guests, host.now);
                let written = times.iter().map(|time| host.now + time);
                written.for_each(|at| queue.push(at, Due::ClonesWritten));
                times.into_iter().reduce(f64::max)
            }
            Disks::Ready => Some(0.0),
        };
        let kinds = host.guests.profiles.len();
        let mut counts = vec![0; kinds];
        profiles.iter().for_each(|profile| counts[*profile] += 1);
        let before = host.guests.alive().round() as u64;
        recorder.begin(host.now, before, counts, cloning);
        let mut at = host.now + cloning.unwrap_or(0.0);
        for profile in &profiles {
            let gap = match self.options.stagger {
                Stagger::BootTime => host.guests.profiles[*profile].boot_time,
                Stagger::Every(gap) => gap.max(0.0),
            };
            let mut latest = self.pending.iter_mut().rev().take(kinds);
            let joined = latest.find(|start| {
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

/// The profiles of the first `total` guests in the order they start: fixed guests first, then one scaling guest (or set)
/// after another, the mix being multiplied as often as that takes.
///
/// The mix is split by a house-monotone method, so the count of each profile only grows along the list. It is made as far
/// as it is needed.
#[derive(Debug, Clone)]
struct Order<'a> {
    composition: &'a Composition,
    total: usize,
    /// N up to which it is made, and the counts there.
    n: u64,
    counts: Vec<u64>,
    profiles: Vec<usize>,
}

impl<'a> Order<'a> {
    fn new(composition: &'a Composition, guests: u64) -> Order<'a> {
        let mut order = Order {
            composition,
            total: 0,
            n: 0,
            counts: vec![0; composition.counts(0).len()],
            profiles: Vec::new(),
        };
        order.extend();
        let all = usize::try_from(guests).unwrap_or(usize::MAX);
        // Every step of N adds at least one guest unless the mix is empty.
        let grows = composition.counts(1) != composition.counts(0);
        order.total = match grows {
            true => all,
            false => all.min(order.profiles.len()),
        };
        order
    }

    /// Adds what comes with N.
    fn extend(&mut self) {
        let counts = self.composition.counts(self.n);
        for (profile, (now, then)) in counts.iter().zip(&self.counts).enumerate() {
            let added = now.saturating_sub(*then) as usize;
            self.profiles.extend(std::iter::repeat_n(profile, added));
        }
        self.counts = counts;
        self.n += 1;
    }

    /// The profile of a guest, counted from 0, below `total`.
    fn at(&mut self, index: usize) -> usize {
        while self.profiles.len() <= index {
            self.extend();
        }
        self.profiles[index]
    }
}

/// Memory left under a limit once everything under way is touched `[B]`.
fn room(host: &HostState, limit: f64) -> f64 {
    let load = host.load();
    let guests = host.guests.by_profile();
    let coming: f64 = guests
        .map(|(profile, sums)| {
            let touched = sums.touched(profile);
            let untouched = sums.alive - touched;
            let files = (sums.alive.min(1.0) - touched).max(0.0) * profile.files;
            untouched * (profile.beside_others() - profile.footprint.overhead) + files
        })
        .sum();
    let base = host.model.host.memory.base;
    limit * host.model.visible - base - host.memory.cache - load.demand - coming
}
