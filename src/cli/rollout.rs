//! What `rollout` takes.

use std::path::PathBuf;

use clap::Args;

use super::args::{CommonArgs, DetailArgs};
use super::number::{self, Value};
use crate::lab::keys::range::{CEILING, RUN, SLEEP};

/// What `rollout` takes.
#[derive(Debug, Args)]
pub struct RolloutArgs {
    /// The inventory
    #[arg(value_name = "LAB.toml", default_value = "lab.toml")]
    pub lab: PathBuf,
    /// Guests to reach, counted as `fit` counts them [default: as many as fit]
    #[arg(long, value_name = "N", value_parser = number::whole::<u64>(1, 1_000_000, 40))]
    pub target: Option<u64>,
    /// Guests to start together [default: as many as is safe]
    #[arg(long, value_name = "K", value_parser = number::whole::<u64>(1, 1_000_000, 10), conflicts_with = "steps")]
    pub batch: Option<u64>,
    /// Time from the start of one batch to that of the next, e.g. 5min [default: as short as is safe]
    #[arg(long, value_name = "TIME", value_parser = number::typed("--wait", RUN))]
    pub wait: Option<Value<f64>>,
    /// One batch to each of these numbers of guests in turn, e.g. 50,80,100 (needs --wait)
    #[arg(long, value_name = "N,N,…", value_delimiter = ',', requires = "wait", conflicts_with = "target",
          value_parser = number::whole::<u64>(1, 1_000_000, 20))]
    pub steps: Vec<u64>,
    /// Start the next batch as soon as it is safe instead of by a fixed rule
    #[arg(long, conflicts_with_all = ["batch", "wait", "anyway"])]
    pub as_soon_as_safe: bool,
    /// Highest share of memory that any peak may reach, e.g. 85% [default: the safe limit]
    #[arg(long, value_name = "SHARE", value_parser = number::typed("--at-most", CEILING))]
    pub at_most: Option<Value<f64>>,
    /// Go on to the target past the limit, and see what is lost
    #[arg(long)]
    pub anyway: bool,
    /// The guests will never be busy: do not hold against the target what they keep once they have been
    #[arg(long)]
    pub fresh: bool,
    /// Time between the starts of two guests of a batch [default: their boot_time]
    #[arg(long, value_name = "TIME", value_parser = number::typed("--stagger", SLEEP))]
    pub stagger: Option<Value<f64>>,
    /// The guests' disks exist already: start them without cloning
    #[arg(long)]
    pub cloned: bool,
    /// Some guests become busy: WHEN:GUEST=NUMBER:HOW LONG, e.g. 2h:web=3:10min (repeatable)
    #[arg(long, value_name = "SPELL", conflicts_with = "seed")]
    pub busy_at: Vec<String>,
    /// Draw every uncertain value this often and say in how many draws memory holds the target; 0 leaves that out
    #[arg(long, value_name = "N", default_value_t = 1_000, value_parser = number::whole::<u64>(0, 1_000_000, 10_000))]
    pub draws: u64,
    /// Guests become busy by chance, drawn with this seed, from which the draws follow too
    #[arg(long, value_name = "SEED", value_parser = number::whole::<u64>(0, u64::MAX, 1))]
    pub seed: Option<u64>,
    /// Mean length of a busy spell drawn by chance
    #[arg(long, value_name = "TIME", default_value = "10min", requires = "seed", value_parser = number::typed("--spell", RUN))]
    pub spell: Value<f64>,
    /// Time of the day at which it starts, e.g. 22:00: guests become busy as in the period that the clock is in
    #[arg(long, value_name = "TIME", requires = "seed", value_parser = number::time_of_day)]
    pub at: Option<f64>,
    /// How long to watch after the last guest is up [default: until memory settles]
    #[arg(long, value_name = "TIME", value_parser = number::typed("--watch", RUN))]
    pub watch: Option<Value<f64>>,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// Draw the run to an SVG file
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// Draw the run in characters within the text report
    #[arg(long)]
    pub plot: bool,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}
