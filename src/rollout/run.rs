//! What a run leaves behind: a thinned timeline, the batches, what happened.

use schemars::JsonSchema;
use serde::Serialize;

use crate::model::within;

/// The host at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "MomentAnswer")]
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
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "BatchAnswer")]
pub struct BatchRun {
    /// When it began, with cloning `[s]`.
    pub start_s: f64,
    /// Guests that ran before.
    pub before: u64,
    /// Guests started.
    pub started: u64,
    /// Guests of each profile started, in the order of the lab.
    #[serde(skip)]
    pub profiles: Vec<u64>,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// Time from `start_s` to the peak `[s]`.
    pub peak_s: f64,
    /// Use at its end, share of visible memory. Pages that are rewritten and merged again move it up and down with every
    /// pass, so where memory has settled it is the mean since it stopped moving, and where it goes up and down by more
    /// than that the mean over a cycle of the scanner.
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
    #[serde(skip)]
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
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct Run {
    /// When the last guest is up `[s]`; null if some never come up.
    #[serde(rename = "total_s")]
    pub up_s: Option<f64>,
    /// Highest use, share of visible memory.
    pub peak: f64,
    /// Guests lost.
    pub killed: u64,
    /// One entry a batch.
    pub batches: Vec<BatchRun>,
    /// Thinned; peaks of batches and the end are always in it.
    pub timeline: Vec<Moment>,
    /// In order of time, the first of very many.
    #[serde(skip)]
    pub events: Vec<Event>,
    /// Guests of each profile that run at the end, in the order of the lab.
    #[serde(skip)]
    pub guests: Vec<u64>,
    /// Guests started.
    #[serde(skip)]
    pub started: u64,
    /// When the run ended `[s]`.
    #[serde(skip)]
    pub end_s: f64,
    /// Steps that it took, visits of the scanner included.
    #[serde(skip)]
    pub steps: u64,
    /// Processor time of the scanner `[s]`.
    #[serde(skip)]
    pub scan_cpu_s: f64,
    /// Memory that the kernel sees `[B]`.
    #[serde(skip)]
    pub visible: f64,
    /// Why the run ended.
    #[serde(skip)]
    pub end: End,
}

impl Run {
    /// Guests of all profiles that run at the end.
    pub fn running(&self) -> u64 {
        self.guests.iter().sum()
    }

    /// When the last guest is up, else when the run ended `[s]`.
    pub fn total_s(&self) -> f64 {
        self.up_s.unwrap_or(self.end_s)
    }

    /// Whether no guest was lost and memory stayed under a limit.
    pub fn safe(&self, limit: f64) -> bool {
        self.killed == 0 && within(self.peak, limit)
    }
}

/// Why a run ended.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum End {
    /// Everything was started and watched.
    #[default]
    Complete,
    /// [`super::Stop::Past`]: use passed the limit or a guest was lost.
    PastLimit,
    /// [`super::Schedule::AsSoonAsSafe`]: memory has settled and not even one more guest is safe.
    NoRoom,
    /// [`super::Options::most_steps`] were simulated.
    OutOfSteps,
}
