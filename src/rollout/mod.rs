//! What happens in time: guests start, memory peaks, the scanner catches up, swap fills, the kernel kills.
//!
//! ```text
//! HostModel + Schedule + Options ──simulate──▶ Run (timeline, batches, events)
//! HostModel + Goal + Choice      ──plan──────▶ Plan (rule, list, how far and why)
//! HostModel + N                  ──restart───▶ Restart (after a power cut)
//! ```
//!
//! [`simulate`] takes a host from one event to the next. What the host is made of has a file each: guests (cohorts and
//! their sums), the copies that stay of merged pages, the scanner (ring, visit, speed), pools, and memory running short.
//! Guests of one profile that start at the same moment are one cohort; the scanner walks the cohorts in a ring.
//! Nothing is random unless a seed is handed in; the same input gives the same run.

mod answer;
mod cohort;
mod copies;
mod guests;
mod host;
mod lived;
mod load;
mod options;
mod part;
mod plan;
mod planner;
mod pool;
mod profile;
mod queue;
mod reclaim;
mod recorder;
mod restart;
mod ring;
mod run;
mod scan_speed;
mod scanner;
mod schedule;
mod search;
mod settle;
mod shortfall;
mod simulate;
mod spells;
mod starts;
mod sums;
mod visit;
mod way;

pub use answer::{Rollout, RolloutCaution};
pub use lived::{Chance, chance};
pub use options::{Disks, Goal, MOST_STEPS, Options, Spell, Spells, Stagger, Stop, Watch};
pub use plan::{Plan, plan};
pub use planner::load_line;
pub use restart::restart;
pub use run::{BatchRun, End, Event, EventKind, Moment, Run};
pub use schedule::{Batch, Rule, Schedule};
pub use search::Choice;
pub use shortfall::{Change, Shortfall, Why};
pub use simulate::simulate;
pub use way::{Way, rollout};
