//! Collects what a run leaves behind while it goes on.

use super::run::{BatchRun, Event, EventKind, Moment, Run};

/// Points of a timeline after which every second one is dropped and the spacing doubled.
const MOST_POINTS: usize = 2000;
/// First spacing of the timeline `[s]`.
const FIRST_SPACING: f64 = 0.5;
/// Events kept at most; a run that goes on losing guests repeats itself.
const MOST_EVENTS: usize = 10_000;

/// The record of a run so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Recorder {
    /// The run so far.
    pub run: Run,
    /// Moments that stay whatever is thinned: the peak of each batch.
    peaks: Vec<Moment>,
    /// Guests of each batch that are not up yet.
    booting: Vec<f64>,
    spacing: f64,
    last: Option<Moment>,
    swapping: bool,
    stalled: bool,
}

impl Recorder {
    pub(super) fn new() -> Recorder {
        Recorder {
            spacing: FIRST_SPACING,
            ..Recorder::default()
        }
    }

    /// Whether every guest of the last batch is up or gone.
    pub(super) fn last_batch_up(&self) -> bool {
        self.booting.last().is_some_and(|guests| *guests < 0.5)
    }

    /// Begins a batch at a moment.
    ///
    /// `profiles` counts the guests of each profile.
    pub(super) fn begin(
        &mut self,
        start_s: f64,
        before: u64,
        profiles: Vec<u64>,
        clone_s: Option<f64>,
    ) {
        let started = profiles.iter().sum();
        let used = self.last.map_or(0.0, |moment| moment.used);
        self.run.batches.push(BatchRun {
            start_s,
            before,
            started,
            profiles,
            peak: used,
            settled: used,
            clone_s,
            ..BatchRun::default()
        });
        self.run.started += started;
        self.run.up_s = None;
        self.booting.push(started as f64);
        self.peaks.extend(self.last);
    }

    /// Counts guests of a batch as up, or gone before they were; `booting` more still boot. Returns whether all are up.
    pub(super) fn arrived(&mut self, batch: usize, guests: f64, booting: f64, now: f64) -> bool {
        self.booting[batch] -= guests;
        let complete = self.booting[batch] < 0.5;
        if complete {
            self.run.batches[batch].up_s = Some(now);
        }
        let all_up = complete && booting < 0.5;
        if all_up {
            self.run.up_s = Some(now);
        }
        all_up
    }

    /// Notes where memory moves while it is settled `[share of visible memory]`.
    pub(super) fn settles_at(&mut self, mean: f64) {
        if let Some(batch) = self.run.batches.last_mut() {
            batch.settled = mean;
        }
    }

    /// Notes that memory has settled, where its wait began with the last guest of the last batch being up.
    pub(super) fn settled(&mut self, since: f64, now: f64) {
        if let Some(batch) = self.run.batches.last_mut()
            && batch.up_s == Some(since)
        {
            batch.settle_s = Some(now - since);
        }
    }

    /// Counts guests killed at one moment, when `allocating` were asking for memory.
    pub(super) fn lost(&mut self, guests: u64, allocating: f64) {
        self.run.killed += guests;
        if let Some(batch) = self.run.batches.last_mut() {
            batch.killed += guests;
            let allocating = allocating.round() as u64;
            batch.killed_most = batch.killed_most.max(batch.killed).max(allocating);
        }
    }

    /// Records a moment; `stalled`: whether guests wait for memory.
    pub(super) fn record(&mut self, moment: Moment, stalled: bool) {
        self.run.peak = self.run.peak.max(moment.used);
        if let (Some(batch), Some(peak)) = (self.run.batches.last_mut(), self.peaks.last_mut()) {
            batch.settled = moment.used;
            if moment.used > batch.peak {
                batch.peak = moment.used;
                batch.peak_s = moment.t_s - batch.start_s;
                *peak = moment;
            }
        }
        self.record_changes(&moment, stalled);
        self.last = Some(moment);
        let last = self.run.timeline.last();
        if last.is_none_or(|point| moment.t_s - point.t_s >= self.spacing) {
            self.run.timeline.push(moment);
            if self.run.timeline.len() > MOST_POINTS {
                self.run.timeline = self.run.timeline.iter().copied().step_by(2).collect();
                self.spacing *= 2.0;
            }
        }
    }

    /// Records what a moment has that the one before had not.
    fn record_changes(&mut self, moment: &Moment, stalled: bool) {
        let scanned = self.last.is_some_and(|last| last.scan_pages_per_s > 0.0);
        match (scanned, moment.scan_pages_per_s > 0.0) {
            (false, true) => self.event(moment.t_s, EventKind::ScannerStarted),
            (true, false) => self.event(moment.t_s, EventKind::ScannerStopped),
            _ => {}
        }
        if moment.swap_used > 0.0 && !self.swapping {
            self.event(moment.t_s, EventKind::SwapInUse);
            self.swapping = true;
        }
        if stalled && !self.stalled {
            self.event(moment.t_s, EventKind::GuestsWait);
        }
        self.stalled = stalled;
    }

    /// Records an event.
    pub(super) fn event(&mut self, t_s: f64, kind: EventKind) {
        if self.run.events.len() < MOST_EVENTS {
            self.run.events.push(Event { t_s, kind });
        }
    }

    /// The run, with the peaks and the end in their places in the timeline.
    pub(super) fn finish(self) -> Run {
        let mut run = self.run;
        let points = &mut run.timeline;
        points.extend(self.peaks);
        points.extend(self.last);
        points.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
        points.dedup_by(|a, b| a.t_s == b.t_s && a.used == b.used);
        run
    }
}
