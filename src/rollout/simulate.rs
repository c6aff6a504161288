//! The run itself: takes a host from event to event.

use super::cohort::{Cohort, Life};
use super::host::{HostState, Victim};
use super::load::Load;
use super::options::{Options, Stop, Watch};
use super::queue::{Due, EventQueue, NOW};
use super::reclaim::FULL;
use super::recorder::Recorder;
use super::run::{End, EventKind, Moment, Run};
use super::schedule::Schedule;
use super::settle::Settling;
use super::spells::SpellPlan;
use super::starts::Starts;
use crate::sizing::host::HostModel;

/// Longest wait for room for the next batch `[s]`. Assumption: an operator waits no more than a day for it.
const LONGEST_WAIT: f64 = 86_400.0;
/// A run that does not come to its end after the last start ends here `[s]`. Only guests that wait for a very slow swap
/// come to this.
const PATIENCE: f64 = 30.0 * 86_400.0;
/// Time in which nothing happens that is worth skipping `[s]`.
const WORTH_SKIPPING: f64 = 600.0;
/// Smallest step of all `[s]`, so that time goes on whatever rounding does.
const LEAST_STEP: f64 = 1e-6;

/// Runs a host through a schedule.
///
/// From one event to the next (a start, a guest being up, a decision of the scanner's daemon, a busy spell), with steps
/// between that are small against a boot and a pass of the scanner. In each step booting and busy guests touch memory,
/// merged pages are rewritten, the scanner walks on, and memory is brought into balance by the cache letting go, by swap,
/// and last by killing the largest guests.
///
/// Deterministic: the same input gives the same run.
///
/// # Source
/// Linux mm/ksm.c (ring, visits, smart scan, users per copy), mm/oom_kill.c; costs and visits measured for this project;
/// the rest by the laws of [`crate::model`].
pub fn simulate(model: &HostModel, schedule: &Schedule, options: &Options) -> Run {
    Simulation::new(model, schedule, options).run()
}

#[derive(Clone)]
struct Simulation<'a> {
    host: HostState<'a>,
    queue: EventQueue,
    starts: Starts<'a>,
    spells: SpellPlan,
    recorder: Recorder,
    settling: Settling,
    watch: Watch,
    stop: Stop,
    most_steps: u64,
    /// Steps so far, those of trials included.
    steps: u64,
    /// Whether memory does not move.
    steady: bool,
    last_start: f64,
    /// Pages per second that the scanner visited in the last step.
    speed: f64,
}

impl<'a> Simulation<'a> {
    fn new(
        model: &'a HostModel<'a>,
        schedule: &'a Schedule,
        options: &'a Options,
    ) -> Simulation<'a> {
        let host = HostState::new(model);
        let mut queue = EventQueue::default();
        if let Some(interval) = host.scanner.speed.decides_every() {
            queue.push(interval, Due::ScannerDecision);
        }
        Simulation {
            starts: Starts::new(&host, schedule, options),
            spells: SpellPlan::new(&options.spells, model.lab, &mut queue),
            host,
            queue,
            recorder: Recorder::new(),
            settling: Settling::default(),
            watch: options.watch,
            stop: options.stop,
            most_steps: options.most_steps,
            steps: 0,
            steady: false,
            last_start: 0.0,
            speed: 0.0,
        }
    }

    fn run(mut self) -> Run {
        loop {
            self.handle_events();
            if let Some(end) = self.end().or_else(|| self.step()) {
                return self.finish(end);
            }
        }
    }

    /// Handles what is due now.
    ///
    /// A start that waits until it is safe and a boot that slows under load have no known moment, so these two are looked
    /// at first; all else comes from the queue.
    fn handle_events(&mut self) {
        self.start_guests();
        for cohort in self.host.guests.come_up(self.host.now) {
            let Cohort { batch, weight, .. } = self.host.guests.cohorts[cohort];
            self.sample_spells(cohort, weight.round() as u64);
            self.arrived(batch, weight);
        }
        while let Some((at, due)) = self.queue.pop_due(self.host.now) {
            self.handle(at, due);
        }
        self.host.pools.serve(&self.host.guests);
    }

    fn handle(&mut self, at: f64, due: Due) {
        match due {
            Due::Spell(spell) => {
                let mut begun = 0;
                while begun < spell.guests
                    && let Some(cohort) = self.host.guests.oldest_idle(spell.profile)
                {
                    self.begin_spell(cohort, spell.lasts_s);
                    begun += 1;
                }
                self.spells.begun(begun);
                self.settling.restart(&self.host);
            }
            Due::ChanceSpell(cohort) => {
                if self.host.guests.cohorts[cohort].life == Life::Idle {
                    let lasts = self.spells.sample_length();
                    self.begin_spell(cohort, lasts);
                }
            }
            Due::SpellEnd(cohort) => {
                if self.spells.ended() {
                    self.settling.restart(&self.host);
                }
                if self.host.become_idle(cohort) {
                    self.sample_spells(cohort, 1);
                }
            }
            Due::ScannerDecision => self.decide(at),
            Due::ClonesWritten => {}
        }
    }

    fn begin_spell(&mut self, cohort: usize, lasts: f64) {
        let lasts = lasts.max(0.0);
        let one = self.host.become_busy(cohort, lasts);
        self.queue.push(self.host.now + lasts, Due::SpellEnd(one));
    }

    fn sample_spells(&mut self, cohort: usize, guests: u64) {
        let profile = self.host.guests.cohorts[cohort].profile;
        for at in self.spells.sample(profile, guests, self.host.now) {
            self.queue.push(at, Due::ChanceSpell(cohort));
        }
    }

    /// The daemon of an adaptive scanner decides, and will again.
    fn decide(&mut self, at: f64) {
        let load = self.host.load();
        let free = self.host.model.visible - self.host.memory.used(&load);
        let speed = &mut self.host.scanner.speed;
        speed.decide(load.resident, free);
        if let Some(interval) = speed.decides_every() {
            self.queue.push(at + interval, Due::ScannerDecision);
        }
    }

    fn start_guests(&mut self) {
        let settled = self.settling.settled
            || self.settling.in_vain(&self.host)
            || self.host.now - self.settling.began_s >= LONGEST_WAIT;
        let settled = settled && self.quiet();
        if self.recorder.run.batches.is_empty() {
            self.record();
        }
        let before = self.host.guests.alive();
        let (host, recorder, queue) = (&mut self.host, &mut self.recorder, &mut self.queue);
        self.starts.start_due(host, recorder, queue, settled);
        if self.starts.stuck && !self.starts.exhausted {
            self.try_one_more();
        }
        if self.host.guests.alive() > before {
            self.last_start = self.host.now;
            // Guests that touch all at once are at their highest now, before the scanner comes by.
            self.record();
        }
    }

    /// Starts one more guest if a trial says that this is safe; if it is not, no more will be started.
    fn try_one_more(&mut self) {
        let &Schedule::AsSoonAsSafe { limit, .. } = self.starts.schedule else {
            return;
        };
        let mut trial = Simulation {
            stop: Stop::Past(limit),
            watch: Options::default().watch,
            ..self.clone()
        };
        trial.begin_one();
        trial.starts.exhausted = true;
        let run = trial.run();
        self.steps += run.steps - self.steps_so_far();
        if run.end == End::NoRoom && run.safe(limit) {
            self.begin_one();
        } else {
            self.starts.exhausted = true;
        }
    }

    /// Begins a batch of one guest.
    fn begin_one(&mut self) {
        let (host, recorder, queue) = (&mut self.host, &mut self.recorder, &mut self.queue);
        self.starts.begin(host, recorder, queue, 1);
        self.starts.start_due(host, recorder, queue, false);
    }

    /// Steps so far, each place that the scanner looked at being one.
    fn steps_so_far(&self) -> u64 {
        self.steps + self.host.scanner.looks
    }

    /// Guests of a batch are up, or gone before they were.
    fn arrived(&mut self, batch: usize, guests: f64) {
        let (booting, now) = (self.host.guests.booting(), self.host.now);
        if self.recorder.arrived(batch, guests, booting, now) {
            self.settling.restart(&self.host);
        }
    }

    /// Moves on to the next event, or less; returns why the run ends there, if it does.
    fn step(&mut self) -> Option<End> {
        self.steps += 1;
        if self.steps_so_far() >= self.most_steps {
            return Some(End::OutOfSteps);
        }
        if let Some(until) = self.nothing_happens_until() {
            self.host.skip(until - self.host.now);
            self.queue.put_off_decisions(until);
            self.record();
            return None;
        }
        let boot_rates = self.host.boot_rates();
        let dt = self.step_length(&boot_rates);
        let walked = self.host.scanner.walked;
        self.host.advance(&boot_rates, dt);
        self.speed = (self.host.scanner.walked - walked) / dt;
        let allocating = self.host.guests.allocating();
        let victims = self.host.balance(dt);
        if !victims.is_empty() {
            self.lose(&victims, allocating);
        }
        self.record();
        match self.stop {
            Stop::Past(limit) => (!self.recorder.run.safe(limit)).then_some(End::PastLimit),
            Stop::AtEnd => None,
        }
    }

    /// Time to the next event, or less `[s]`.
    fn step_length(&self, boot_rates: &[f64]) -> f64 {
        let now = self.host.now;
        let moments = [self.queue.next(), self.starts.next(), self.watched()];
        let known = moments.into_iter().flatten().filter(|at| *at > now + NOW);
        let next_up = self.host.guests.next_up(boot_rates);
        known
            .map(|at| at - now)
            .chain(next_up)
            .fold(self.host.longest_step(), f64::min)
            .max(LEAST_STEP)
    }

    /// When the watch of a given time ends `[s]`.
    fn watched(&self) -> Option<f64> {
        match self.watch {
            Watch::For(time) => Some(self.settling.began_s + time),
            Watch::UntilSettled { .. } => None,
        }
    }

    /// The moment up to which memory stays as it is `[s]`; none where it moves, and where that is soon.
    fn nothing_happens_until(&self) -> Option<f64> {
        let (now, due) = (self.host.now, self.queue.next_but_decisions());
        let moments = [due, self.starts.next(), self.watched()];
        let known = moments.into_iter().flatten().filter(|at| *at > now);
        let next = known.reduce(f64::min)?;
        let far = next - now > WORTH_SKIPPING;
        let still = self.steady && self.quiet() && !self.spells.by_chance();
        (far && still && self.host.guests.growing.is_empty()).then_some(next)
    }

    /// Guests were killed while so many were asking for memory.
    fn lose(&mut self, victims: &[Victim], allocating: f64) {
        let now = self.host.now;
        for victim in victims {
            let kind = EventKind::Killed {
                profile: victim.profile,
                announced: victim.announced,
                returned: victim.returned,
            };
            self.recorder.event(now, kind);
            if victim.booting {
                self.arrived(victim.batch, 1.0);
            }
        }
        self.recorder.lost(victims.len() as u64, allocating);
        self.settling.restart(&self.host);
        // Memory was full before the kernel killed.
        let full = Moment {
            used: FULL,
            ..self.moment(&self.host.load())
        };
        self.recorder.record(full, false);
    }

    /// Records the moment and looks whether memory has settled since the last guest of the last batch was up.
    fn record(&mut self) {
        let load = self.host.load();
        let moment = self.moment(&load);
        self.recorder.record(moment, self.host.memory.stalled);
        self.steady = self.settling.observe(&self.host, &load);
        if self.steady && self.recorder.last_batch_up() && !self.settling.settled {
            self.settling.settled = true;
            self.recorder.settled(self.settling.began_s, self.host.now);
        }
        if let Some(mean) = self.settling.mean_used(self.steady) {
            self.recorder.settles_at(mean / self.host.model.visible);
        }
    }

    fn moment(&self, load: &Load) -> Moment {
        let host = &self.host;
        Moment {
            t_s: host.now,
            guests: host.guests.alive().round() as u64,
            used: host.memory.used(load) / host.model.visible,
            merged_bytes: load.saved,
            scan_pages_per_s: self.speed,
            swap_used: host.memory.swapped,
            disk_busy: host.pools.busy(host.now),
        }
    }

    /// Whether nothing boots or is about to become busy as asked for.
    fn quiet(&self) -> bool {
        self.host.guests.booting() < 0.5 && self.spells.awaited == 0
    }

    /// Why the run is over, if it is.
    fn end(&self) -> Option<End> {
        if !self.starts.done() {
            return None;
        }
        let now = self.host.now;
        let since = now - self.last_start;
        let watched_s = now - self.settling.began_s;
        let watched = match self.watch {
            Watch::For(time) => now >= self.settling.began_s + time - NOW,
            Watch::UntilSettled { at_most_s } => self.settling.settled || watched_s >= at_most_s,
        };
        // What started at this very moment has not been looked at yet.
        let over = since > PATIENCE || (self.quiet() && since > 0.0 && watched);
        over.then_some(match self.starts.exhausted {
            true => End::NoRoom,
            false => End::Complete,
        })
    }

    fn finish(self, end: End) -> Run {
        let guests = self.host.guests.by_profile();
        let guests = guests.map(|(_, sums)| sums.alive.round() as u64).collect();
        Run {
            guests,
            end_s: self.host.now,
            steps: self.steps_so_far(),
            scan_cpu_s: self.host.scanner.worked,
            visible: self.host.model.visible,
            end,
            ..self.recorder.finish()
        }
    }
}
