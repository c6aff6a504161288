//! Collects what a run leaves behind while it goes on.

use super::run::{BatchRun, Event, EventKind, Moment};

/// Points of a timeline after which every second one is dropped and the spacing doubled.
const MOST_POINTS: usize = 2000;
/// First spacing of the timeline `[s]`.
const FIRST_SPACING: f64 = 0.5;
/// Events kept at most; a run that goes on losing guests repeats itself.
const MOST_EVENTS: usize = 10_000;

/// The record of a run so far.
#[derive(Debug)]
pub(super) struct Recorder {
    points: Vec<Moment>,
    /// Moments that stay whatever is thinned: the peak of each batch.
    peaks: Vec<Moment>,
    batches: Vec<BatchRun>,
    /// Guests of each batch that are not up yet.
    booting: Vec<f64>,
    events: Vec<Event>,
    spacing: f64,
    last: Option<Moment>,
    scanning: bool,
    swapping: bool,
    stalled: bool,
    peak: f64,
    killed: u64,
}

impl Recorder {
    pub(super) fn new() -> Recorder {
        Recorder {
            points: Vec::new(),
            peaks: Vec::new(),
            batches: Vec::new(),
            booting: Vec::new(),
            events: Vec::new(),
            spacing: FIRST_SPACING,
            last: None,
            scanning: false,
            swapping: false,
            stalled: false,
            peak: 0.0,
            killed: 0,
        }
    }

    pub(super) fn batches(&self) -> &[BatchRun] {
        &self.batches
    }

    /// Highest use so far, share of visible memory.
    pub(super) fn peak(&self) -> f64 {
        self.peak
    }

    /// Guests killed so far.
    pub(super) fn killed(&self) -> u64 {
        self.killed
    }

    /// Whether every guest of the last batch is up or gone.
    pub(super) fn last_batch_up(&self) -> bool {
        self.booting.last().is_some_and(|guests| *guests < 0.5)
    }

    /// Begins a batch at a moment.
    pub(super) fn begin(&mut self, start_s: f64, before: u64, started: u64, clone_s: Option<f64>) {
        let used = self.last.map_or(0.0, |moment| moment.used);
        self.batches.push(BatchRun {
            start_s,
            before,
            started,
            peak: used,
            peak_s: 0.0,
            settled: used,
            settle_s: None,
            killed: 0,
            killed_most: 0,
            clone_s,
            up_s: None,
        });
        self.booting.push(started as f64);
        self.peaks.extend(self.last);
    }

    /// Counts guests of a batch as up, or gone before they were; whether they were the last ones of it.
    pub(super) fn arrived(&mut self, batch: usize, guests: f64, now: f64) -> bool {
        self.booting[batch] -= guests;
        let complete = self.booting[batch] < 0.5;
        if complete {
            self.batches[batch].up_s = Some(now);
        }
        complete
    }

    /// Notes that memory has settled, where its wait began with the last guest of the last batch being up.
    pub(super) fn settled(&mut self, since: f64, now: f64) {
        if let Some(batch) = self.batches.last_mut()
            && batch.up_s == Some(since)
        {
            batch.settle_s = Some(now - since);
        }
    }

    /// Counts guests killed at one moment, when `allocating` were asking for memory.
    pub(super) fn lost(&mut self, guests: u64, allocating: f64) {
        self.killed += guests;
        if let Some(batch) = self.batches.last_mut() {
            batch.killed += guests;
            let most = batch.killed.max(allocating.round() as u64);
            batch.killed_most = batch.killed_most.max(most);
        }
    }

    /// Records a moment; `stalled`: whether guests wait for memory.
    pub(super) fn record(&mut self, moment: Moment, stalled: bool) {
        self.peak = self.peak.max(moment.used);
        if let (Some(batch), Some(peak)) = (self.batches.last_mut(), self.peaks.last_mut()) {
            batch.settled = moment.used;
            if moment.used > batch.peak {
                batch.peak = moment.used;
                batch.peak_s = moment.t_s - batch.start_s;
                *peak = moment;
            }
        }
        self.record_changes(&moment, stalled);
        self.last = Some(moment);
        let last = self.points.last();
        if last.is_none_or(|point| moment.t_s - point.t_s >= self.spacing) {
            self.points.push(moment);
            if self.points.len() > MOST_POINTS {
                let mut index = 0;
                self.points.retain(|_| {
                    index += 1;
                    index % 2 == 1
                });
                self.spacing *= 2.0;
            }
        }
    }

    /// Records what a moment has that the one before had not.
    fn record_changes(&mut self, moment: &Moment, stalled: bool) {
        let scanning = moment.scan_pages_per_s > 0.0;
        if scanning != self.scanning {
            let change = if scanning {
                EventKind::ScannerStarted
            } else {
                EventKind::ScannerStopped
            };
            self.event(moment.t_s, change);
            self.scanning = scanning;
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
        if self.events.len() < MOST_EVENTS {
            self.events.push(Event { t_s, kind });
        }
    }

    /// The timeline with the peaks and the end in their places, the batches, and the events.
    pub(super) fn finish(self) -> (Vec<Moment>, Vec<BatchRun>, Vec<Event>) {
        let mut points = self.points;
        points.extend(self.peaks);
        points.extend(self.last);
        points.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
        points.dedup_by(|a, b| a.t_s == b.t_s && a.used == b.used);
        (points, self.batches, self.events)
    }
}
