//! The run itself: moves a host from event to event.

use super::host::HostState;
use super::load::Load;
use super::options::{Options, Stop, Watch};
use super::record::{End, EventKind, Moment, Recorder, Run, Waiting};
use super::schedule::Schedule;
use super::settle::Settling;
use super::starts::{Calm, Starts};
use super::step::{NOW, time_step};
use crate::sizing::host::HostModel;

/// Longest wait for room for the next batch `[s]`. Assumption: nobody waits more than a day for it.
const LONGEST_WAIT: f64 = 86_400.0;
/// A run that does not come to its end after the last start ends here `[s]`. Only guests that wait for a very slow swap
/// come to this.
const PATIENCE: f64 = 30.0 * 86_400.0;

/// Runs a host through a schedule.
///
/// Time-stepped: from one thing that becomes due to the next (a start, a guest being up, a decision of the scanner's
/// daemon, a busy spell), with steps between that are small against a boot and a pass of the scanner. In each step booting
/// and busy guests touch memory, merged pages are rewritten, the scanner walks on, and memory is brought into balance by
/// the cache letting go, by swap, and last by killing the largest guests.
///
/// Deterministic: the same input gives the same run.
///
/// # Source
/// Linux mm/ksm.c (ring, visits, smart scan, users per copy), mm/oom_kill.c; costs and visits measured for this project;
/// the rest by the laws of [`crate::model`].
#[must_use]
pub fn simulate(model: &HostModel, schedule: &Schedule, options: &Options) -> Run {
    let mut runner = Runner::new(model, schedule, options);
    let end = loop {
        if let Some(end) = runner.step() {
            break end;
        }
    };
    runner.finish(end)
}

struct Runner<'a> {
    host: HostState<'a>,
    starts: Starts,
    recorder: Recorder,
    options: &'a Options,
    settling: Settling,
    /// Guests of each batch that are not up yet.
    coming: Vec<f64>,
    last_start: f64,
    killed: u64,
    peak: f64,
    up_s: Option<f64>,
    /// Pages per second that the scanner visited in the last step.
    speed: f64,
}

impl<'a> Runner<'a> {
    fn new(model: &'a HostModel<'a>, schedule: &Schedule, options: &'a Options) -> Runner<'a> {
        let host = HostState::new(model, options);
        Runner {
            starts: Starts::new(&host, schedule, options),
            host,
            recorder: Recorder::new(),
            options,
            settling: Settling::default(),
            coming: Vec::new(),
            last_start: 0.0,
            killed: 0,
            peak: 0.0,
            up_s: None,
            speed: 0.0,
        }
    }

    /// One step; returns why the run has ended, once it has.
    fn step(&mut self) -> Option<End> {
        self.fire();
        let end = self.over();
        if end.is_some() {
            return end;
        }
        let watched = match self.options.watch {
            Watch::For(time) => Some(self.settling.from_s + time),
            Watch::UntilSettled { .. } => None,
        };
        let dt = time_step(&self.host, &self.starts, watched);
        let walked = self.host.scanner.walked;
        self.host.advance(dt);
        let speed = (self.host.scanner.walked - walked) / dt;
        self.speed = speed;
        let before = self.host.allocating();
        let victims = self.host.balance(dt);
        if !victims.is_empty() {
            self.lose(&victims, before);
            self.record_full(speed);
        }
        self.record(speed);
        if let Stop::Past(limit) = self.options.stop
            && (self.killed > 0 || self.peak > limit * (1.0 + 1e-9))
        {
            return Some(End::PastLimit);
        }
        None
    }

    /// Does what is due now.
    fn fire(&mut self) {
        let batches = self.recorder.batches.len();
        let waited = self.settling.in_vain(&self.host)
            || self.host.now - self.settling.from_s >= LONGEST_WAIT;
        let calm = if self.starts_quiet() && (self.settling.settled || waited) {
            Calm::Settled
        } else {
            Calm::Moving
        };
        if self.recorder.batches.is_empty() {
            self.record(0.0);
        }
        let pending = self.host.alive();
        self.starts.fire(&mut self.host, &mut self.recorder, calm);
        if self.recorder.batches.len() > batches {
            let new = self.recorder.batches.iter().skip(batches);
            self.coming.extend(new.map(|batch| batch.started as f64));
            self.up_s = None;
        }
        if self.host.alive() > pending {
            self.last_start = self.host.now;
            // Guests that touch all at once are at their highest now, before the scanner comes by.
            self.record(self.speed);
        }
        for (batch, guests) in self.host.come_up() {
            self.arrived(batch, guests);
        }
        let due = self
            .host
            .calendar
            .next()
            .is_some_and(|at| at <= self.host.now + NOW);
        if due {
            let asked_for = self.host.calendar.awaits();
            self.host.turn_busy();
            if asked_for {
                self.settling.wait(&self.host);
            }
        }
        if self.host.scanner.next_decision <= self.host.now + NOW {
            let load = self.host.load();
            let free = self.host.model.visible - self.host.used(&load);
            self.host.scanner.decide(load.resident, free);
        }
        self.host.ask_pools();
    }

    /// Guests of a batch are up, or gone before they were.
    fn arrived(&mut self, batch: usize, guests: f64) {
        self.coming[batch] -= guests;
        if self.coming[batch] < 0.5 {
            self.recorder.batches[batch].up_s = Some(self.host.now);
            if self.host.booting() < 0.5 {
                self.up_s = Some(self.host.now);
                self.settling.wait(&self.host);
            }
        }
    }

    fn lose(&mut self, victims: &[super::kill::Victim], allocating: f64) {
        for victim in victims {
            let kind = EventKind::Killed {
                profile: victim.profile,
                announced: victim.announced,
                returned: victim.returned,
            };
            self.recorder.note(self.host.now, kind);
            if victim.booting {
                self.arrived(victim.batch, 1.0);
            }
        }
        let lost = victims.len() as u64;
        self.killed += lost;
        if let Some(batch) = self.recorder.batches.last_mut() {
            batch.killed += lost;
            batch.killed_most = batch
                .killed_most
                .max(batch.killed)
                .max(allocating.round() as u64);
        }
        self.settling.wait(&self.host);
    }

    /// Whether nothing starts, boots or is about to become busy as asked for.
    fn starts_quiet(&self) -> bool {
        self.host.booting() < 0.5 && !self.host.calendar.awaits()
    }

    /// Takes the moment into the record at which memory was full, before the kernel killed.
    fn record_full(&mut self, speed: f64) {
        let load = self.host.load();
        let full = Moment {
            used: self.host.pressure.full(),
            ..self.moment(&load, speed)
        };
        self.peak = self.peak.max(full.used);
        self.recorder.take(full, Waiting::No);
    }

    /// Takes the moment into the record and looks whether memory has settled.
    fn record(&mut self, speed: f64) {
        let load = self.host.load();
        let moment = self.moment(&load, speed);
        self.peak = self.peak.max(moment.used);
        let waiting = if self.host.pressure.stalled {
            Waiting::Yes
        } else {
            Waiting::No
        };
        self.recorder.take(moment, waiting);
        self.watch(&load);
    }

    fn moment(&self, load: &Load, speed: f64) -> Moment {
        let host = &self.host;
        Moment {
            t_s: host.now,
            guests: host.alive().round() as u64,
            used: host.used(load) / host.model.visible,
            merged_bytes: load.saved,
            scan_pages_per_s: speed,
            swap_used: host.pressure.swapped,
            disk_busy: host
                .pools
                .iter()
                .map(|pool| pool.busy(host.now))
                .fold(0.0, f64::max),
        }
    }

    /// Notes when memory has settled after the last guest of the last batch was up.
    fn watch(&mut self, load: &Load) {
        let quiet = self.settling.quiet(&self.host, load);
        let all_up = self.coming.last().is_some_and(|coming| *coming < 0.5);
        if !quiet || !all_up || self.settling.settled {
            return;
        }
        self.settling.settled = true;
        let since = self.settling.from_s;
        if let Some(batch) = self.recorder.batches.last_mut()
            && batch.up_s == Some(since)
        {
            batch.settle_s = Some(self.host.now - since);
        }
    }

    /// Why the run is over, if it is.
    fn over(&self) -> Option<End> {
        if !self.starts.done() {
            return None;
        }
        let end = if self.starts.gave_up() {
            End::NoRoom
        } else {
            End::Complete
        };
        let since = self.host.now - self.last_start;
        // What started at this very moment has not been looked at yet.
        let quiet = self.starts_quiet() && since > 0.0;
        let over = since > PATIENCE
            || quiet
                && match self.options.watch {
                    Watch::For(time) => self.host.now >= self.settling.from_s + time - NOW,
                    Watch::UntilSettled { at_most_s } => {
                        self.settling.settled || self.host.now >= self.settling.from_s + at_most_s
                    }
                };
        over.then_some(end)
    }

    fn finish(mut self, end: End) -> Run {
        let guests = self
            .host
            .totals
            .iter()
            .map(|totals| totals.alive.round() as u64)
            .collect();
        Run {
            visible: self.host.model.visible,
            timeline: self.recorder.timeline(),
            started: self
                .recorder
                .batches
                .iter()
                .map(|batch| batch.started)
                .sum(),
            batches: self.recorder.batches,
            events: self.recorder.events,
            guests,
            killed: self.killed,
            peak: self.peak,
            up_s: self.up_s,
            end_s: self.host.now,
            scan_cpu_s: self.host.scanner.worked,
            end,
        }
    }
}
