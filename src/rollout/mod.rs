//! What happens in time: guests start, memory peaks, the scanner catches up, swap fills, the kernel kills.
//!
//! ```text
//! HostModel + Schedule + Options ──simulate──▶ Run (timeline, batches, events)
//! HostModel + target + limit     ──plan──────▶ Plan (rule, list, how far and why)
//! HostModel + N                  ──restart───▶ Restart (after a power cut)
//! ```
//!
//! Guests of one profile that start at the same moment are one cohort; the scanner walks the cohorts in a ring.
//! Nothing is random unless a seed is handed in; the same input gives the same run.

mod answer;
mod boot;
mod busy;
mod cohort;
mod copies;
mod host;
mod kill;
mod load;
mod options;
mod order;
mod plan;
mod pool;
mod pressure;
mod profile;
mod random;
mod record;
mod restart;
mod ring;
mod scanner;
mod schedule;
mod search;
mod settle;
mod shortfall;
mod simulate;
mod smart;
mod starts;
mod step;
mod walk;

pub use answer::{BatchAnswer, MomentAnswer, PlanAnswer, RolloutAnswer, ShortfallAnswer};
pub use options::{Disks, Options, Spell, Spells, Stagger, Stop, Watch};
pub use plan::{Choice, Plan, Rule, load_line, plan, plan_within};
pub use random::Pcg32;
pub use record::{BatchRun, End, Event, EventKind, Moment, Run};
pub use restart::restart;
pub use schedule::{Batch, Schedule};
pub use shortfall::{Change, Shortfall, Why};
pub use simulate::simulate;
pub use smart::due;
