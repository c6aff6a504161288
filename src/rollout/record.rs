//! What a run leaves behind: a thinned timeline, the batches, the events.

/// Points of a timeline after which every second one is dropped and the spacing doubled.
const MOST_POINTS: usize = 2000;
/// First spacing of the timeline `[s]`.
const FIRST_SPACING: f64 = 0.5;
/// Events kept at most; a run that goes on losing guests repeats itself.
const MOST_EVENTS: usize = 10_000;

/// The host at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Since the first batch `[s]`.
    pub t_s: f64,
    /// Guests of all profiles that run, booting ones included.
    pub guests: u64,
    /// Base, cache and guests in memory, share of visible memory.
    pub used: f64,
    /// What page sharing saves: merged pages beyond the copies that stay `[B]`.
    pub merged_bytes: f64,
    /// Speed of the scanner `[pages/s]`.
    pub scan_pages_per_s: f64,
    /// Swapped out, uncompressed `[B]`.
    pub swap_used: f64,
    /// Busy share of the busiest pool.
    pub disk_busy: f64,
}

/// What became of one batch. It ends where the next one starts.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchRun {
    /// When it began, with cloning `[s]`.
    pub start_s: f64,
    /// Guests that ran before.
    pub before: u64,
    /// Guests started.
    pub started: u64,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// Time from `start_s` to the peak `[s]`.
    pub peak_s: f64,
    /// Use at its end, share of visible memory.
    pub settled: f64,
    /// Time from its last guest being up until memory was seen to have settled `[s]`: to have moved by less than 0.5 % of
    /// what the guests hold through two passes of the scanner, those passes included. None: the batch ended before.
    pub settle_s: Option<f64>,
    /// Guests killed.
    pub killed: u64,
    /// Guests that may be lost within milliseconds before the first one's memory is back: those asking for memory at the
    /// moment, at least `killed`.
    pub killed_most: u64,
    /// Time that cloning took `[s]`; none where the pool's write speed is not given.
    pub clone_s: Option<f64>,
    /// When its last guest was up `[s]`; none if not all came up before the end.
    pub up_s: Option<f64>,
}

/// Something that happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// When `[s]`.
    pub t_s: f64,
    /// What.
    pub kind: EventKind,
}

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EventKind {
    /// The scanner began to walk.
    ScannerStarted,
    /// The scanner came to rest.
    ScannerStopped,
    /// The first pages were swapped out.
    SwapInUse,
    /// Guests wait for memory while swap takes pages out.
    GuestsWait,
    /// The kernel killed a guest.
    Killed {
        /// Profile, an index into `Lab::guests`.
        profile: usize,
        /// What the kernel says it frees: resident memory, merged pages in full `[B]`.
        announced: f64,
        /// What comes back `[B]`.
        returned: f64,
    },
}

/// A run.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Memory that the kernel sees `[B]`.
    pub visible: f64,
    /// Thinned; peaks of batches and the end are always in it.
    pub timeline: Vec<Moment>,
    /// One entry a batch.
    pub batches: Vec<BatchRun>,
    /// In order of time, the first of very many.
    pub events: Vec<Event>,
    /// Guests of each profile that run at the end, in the order of the lab.
    pub guests: Vec<u64>,
    /// Guests started.
    pub started: u64,
    /// Guests killed.
    pub killed: u64,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// When the last guest started was up `[s]`; none if some never came up.
    pub up_s: Option<f64>,
    /// When the run ended `[s]`.
    pub end_s: f64,
    /// Processor time of the scanner `[s]`.
    pub scan_cpu_s: f64,
    /// Why the run ended.
    pub end: End,
}

/// Why a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Everything was started and watched.
    Complete,
    /// [`super::Stop::Past`]: use passed the limit or a guest was lost.
    PastLimit,
    /// [`super::Schedule::AsSoonAsSafe`]: memory has settled and not even one more guest is safe.
    NoRoom,
}

/// Whether guests wait for memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Waiting {
    Yes,
    No,
}

/// Collects a run.
#[derive(Debug)]
pub(super) struct Recorder {
    points: Vec<Moment>,
    /// Moments that stay whatever is thinned: the peak of each batch.
    peaks: Vec<Moment>,
    pub batches: Vec<BatchRun>,
    pub events: Vec<Event>,
    spacing: f64,
    last: Option<Moment>,
    quiet: bool,
    swapping: bool,
    waiting: Waiting,
}

impl Recorder {
    pub(super) fn new() -> Recorder {
        Recorder {
            points: Vec::new(),
            peaks: Vec::new(),
            batches: Vec::new(),
            events: Vec::new(),
            spacing: FIRST_SPACING,
            last: None,
            quiet: true,
            swapping: false,
            waiting: Waiting::No,
        }
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
        self.peaks.extend(self.last);
    }

    /// Takes in a moment.
    pub(super) fn take(&mut self, moment: Moment, waiting: Waiting) {
        if let (Some(batch), Some(peak)) = (self.batches.last_mut(), self.peaks.last_mut()) {
            batch.settled = moment.used;
            if moment.used > batch.peak {
                batch.peak = moment.used;
                batch.peak_s = moment.t_s - batch.start_s;
                *peak = moment;
            }
        }
        let scanning = moment.scan_pages_per_s > 0.0;
        let change = if scanning {
            EventKind::ScannerStarted
        } else {
            EventKind::ScannerStopped
        };
        self.note_if(scanning == self.quiet, moment.t_s, change);
        self.quiet = !scanning;
        let swapping = moment.swap_used > 0.0;
        self.note_if(swapping && !self.swapping, moment.t_s, EventKind::SwapInUse);
        self.swapping |= swapping;
        let begins = waiting == Waiting::Yes && self.waiting == Waiting::No;
        self.note_if(begins, moment.t_s, EventKind::GuestsWait);
        self.waiting = waiting;
        self.last = Some(moment);
        let due = self
            .points
            .last()
            .is_none_or(|point| moment.t_s - point.t_s >= self.spacing);
        if due {
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

    fn note_if(&mut self, happened: bool, t_s: f64, kind: EventKind) {
        if happened {
            self.note(t_s, kind);
        }
    }

    /// Takes in an event.
    pub(super) fn note(&mut self, t_s: f64, kind: EventKind) {
        if self.events.len() < MOST_EVENTS {
            self.events.push(Event { t_s, kind });
        }
    }

    /// The timeline, with the peaks and the end in their places.
    pub(super) fn timeline(&mut self) -> Vec<Moment> {
        let mut points = std::mem::take(&mut self.points);
        points.append(&mut self.peaks);
        points.extend(self.last);
        points.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
        points.dedup_by(|a, b| a.t_s == b.t_s && a.used == b.used);
        points
    }
}
