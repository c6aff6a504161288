//! How a run is to be carried out.

/// How a run is to be carried out.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Time between the starts of two guests of a batch.
    pub stagger: Stagger,
    /// Whether the guests' disks are there already.
    pub disks: Disks,
    /// Busy spells.
    pub spells: Spells,
    /// How long to watch after the last batch.
    pub watch: Watch,
    /// When to end early.
    pub stop: Stop,
    /// Steps after which a run, or the search for a plan, ends where it is.
    pub most_steps: u64,
}

/// Steps of a run or of the search for a plan, at most, so that no answer takes minutes. Counted and not timed, so that
/// the answer is the same everywhere.
pub const MOST_STEPS: u64 = 3_000_000;

impl Default for Options {
    fn default() -> Options {
        Options {
            stagger: Stagger::BootTime,
            disks: Disks::Clone,
            spells: Spells::None,
            watch: Watch::UntilSettled {
                at_most_s: 48.0 * 3600.0,
            },
            stop: Stop::AtEnd,
            most_steps: MOST_STEPS,
        }
    }
}

/// What a host is to reach, and how.
#[derive(Debug, Clone, Copy)]
pub struct Goal<'a> {
    /// Scaling guests (or sets).
    pub target: u64,
    /// Highest accepted share of visible memory.
    pub limit: f64,
    /// Whether the guests will never be busy: what they hold once they have been is no objection then.
    pub fresh: bool,
    /// How the run is carried out.
    pub options: &'a Options,
}

/// Time between the starts of two guests of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stagger {
    /// The next guest starts when the one before it should be up: its `boot_time` later.
    BootTime,
    /// A fixed time `[s]`; 0 starts the whole batch at once.
    Every(f64),
}

/// Whether the guests' disks are there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Disks {
    /// Each batch is cloned through its pools first.
    Clone,
    /// The guests exist and only start (a restart).
    Ready,
}

/// Busy spells: when guests become busy.
#[derive(Debug, Clone, PartialEq)]
pub enum Spells {
    /// Every guest stays idle and fresh.
    None,
    /// At given moments.
    At(Vec<Spell>),
    /// Sampled guest by guest: idle times and spells are exponential, with the profile's `busy` as the share of time
    /// busy. Guests are independent here (assumption: the common factor of the sizing has no time scale).
    Sampled {
        /// Seed of the generator, PCG-XSH-RR 64/32 (M. E. O'Neill, HMC-CS-2014-0905).
        seed: u64,
        /// Mean length of a spell `[s]`.
        mean_s: f64,
        /// Time of the day at which the run begins `[s]`: guests are then as busy as in the period that the clock is in;
        /// none: as in the period in which each is busiest.
        at_s: Option<f64>,
    },
}

/// Some guests of one profile become busy at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spell {
    /// When `[s]`.
    pub at_s: f64,
    /// Profile, an index into `Lab::guests`.
    pub profile: usize,
    /// How many guests; as many as are up and idle, oldest first.
    pub guests: u64,
    /// For how long `[s]`.
    pub lasts_s: f64,
}

/// How long to watch after the last guest has been started and is up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Watch {
    /// Until memory has settled, at most this long `[s]`.
    UntilSettled {
        /// `[s]`
        at_most_s: f64,
    },
    /// This long `[s]`.
    For(f64),
}

/// When to end early.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stop {
    /// Never.
    AtEnd,
    /// As soon as use passes this share of visible memory or a guest is lost.
    Past(f64),
}
