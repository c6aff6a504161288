//! When how many guests start.

use schemars::JsonSchema;
use serde::Serialize;

/// So many guests every so often.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PlanAnswer")]
pub struct Rule {
    /// Guests of all profiles that start together.
    pub batch: u64,
    /// From the start of one batch to that of the next `[s]`; 0 with a single batch.
    pub wait_s: f64,
}

/// When how many guests start, in the order of the host's composition: fixed guests first.
#[derive(Debug, Clone, PartialEq)]
pub enum Schedule {
    /// Batches at given moments.
    Batches(Vec<Batch>),
    /// The next batch as soon as it is safe, until so many guests run.
    AsSoonAsSafe {
        /// Guests of all profiles to start.
        guests: u64,
        /// Highest accepted share of visible memory, at every moment.
        limit: f64,
    },
}

/// One batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// Earliest start `[s]`; a batch waits until every guest of the one before has been started.
    pub start_s: f64,
    /// Guests of all profiles to start.
    pub guests: u64,
}

impl Schedule {
    /// `batch` guests every `wait_s` until `guests` have been started; the last batch is what is left.
    ///
    /// # Example
    /// ```
    /// use berthage::rollout::{Batch, Schedule};
    /// let rule = Schedule::rule(25, 10, 60.0);
    /// let batch = |start_s, guests| Batch { start_s, guests };
    /// assert_eq!(rule, Schedule::Batches(vec![batch(0.0, 10), batch(60.0, 10), batch(120.0, 5)]));
    /// ```
    pub fn rule(guests: u64, batch: u64, wait_s: f64) -> Schedule {
        let batch = batch.max(1);
        let batches = (0..guests.div_ceil(batch)).map(|index| Batch {
            start_s: index as f64 * wait_s,
            guests: batch.min(guests - index * batch),
        });
        Schedule::Batches(batches.collect())
    }

    /// One batch every `wait_s` that brings the host to each of the given counts of guests in turn.
    pub fn steps(counts: &[u64], wait_s: f64) -> Schedule {
        let mut before = 0;
        let batches = counts.iter().enumerate().map(|(index, count)| Batch {
            start_s: index as f64 * wait_s,
            guests: count.saturating_sub(std::mem::replace(&mut before, *count)),
        });
        Schedule::Batches(batches.collect())
    }

    /// Guests of all profiles that it starts.
    pub fn guests(&self) -> u64 {
        match self {
            Schedule::Batches(batches) => batches.iter().map(|batch| batch.guests).sum(),
            Schedule::AsSoonAsSafe { guests, .. } => *guests,
        }
    }
}
