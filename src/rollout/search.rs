//! The search for a rule: k guests every t that keeps every peak under a limit.

use super::options::{Options, Stop};
use super::run::{End, Run};
use super::schedule::{Rule, Schedule};
use super::simulate::simulate;
use crate::sizing::host::HostModel;

/// Waits that a person would set `[s]`, from none to four hours.
const WAITS: [f64; 22] = [
    0.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0, 300.0, 420.0, 600.0, 900.0,
    1200.0, 1800.0, 2700.0, 3600.0, 5400.0, 7200.0, 14_400.0,
];
/// Batch sizes that a person would set, per power of ten.
const ROUND: [u64; 10] = [10, 12, 15, 20, 25, 30, 40, 50, 60, 80];
/// Smaller batches tried after the largest that works, for a shorter total.
const SMALLER: usize = 4;
/// A larger batch is preferred unless a smaller one is done in less than this share of its time.
const WORTH: f64 = 0.9;

/// A rule that takes more than this many times as long as the list is no help.
const PATIENCE: f64 = 3.0;

/// What the reader wants fixed of a rule.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Choice {
    /// Guests that start together.
    pub batch: Option<u64>,
    /// From start to start `[s]`.
    pub wait_s: Option<f64>,
}

/// A rule that works, and its run.
type Found = (Rule, Run);

/// The search for one number of guests under one limit.
#[derive(Debug)]
pub(super) struct Search<'a> {
    model: &'a HostModel<'a>,
    guests: u64,
    limit: f64,
    options: Options,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        model: &'a HostModel<'a>,
        guests: u64,
        limit: f64,
        options: &Options,
    ) -> Search<'a> {
        Search {
            model,
            guests,
            limit,
            options: Options {
                stop: Stop::Past(limit),
                ..options.clone()
            },
        }
    }

    /// The rule with the shortest total, larger batches preferred; none where no rule of round numbers works that is
    /// done within [`PATIENCE`] times `list_s`, the time that the list takes.
    pub(super) fn rule(&self, choice: Choice, list_s: f64) -> Option<Found> {
        if choice == Choice::default()
            && let Some(found) = self.attempt(self.guests, 0.0)
        {
            return Some(found);
        }
        let mut best: Option<Found> = None;
        let mut smaller = 0;
        for batch in self.batches(choice) {
            let bound = best
                .as_ref()
                .map_or(PATIENCE * list_s, |(_, run)| WORTH * run.total_s());
            let found = self.shortest_wait(batch, choice, bound);
            // Once a batch size works, the next ones either work or cannot be faster.
            smaller += usize::from(found.is_some() || best.is_some());
            let faster = |(_, run): &Found| match &best {
                Some((_, best)) => run.total_s() < WORTH * best.total_s(),
                None => true,
            };
            best = found.filter(faster).or(best);
            if smaller > SMALLER {
                break;
            }
        }
        best
    }

    /// Batch sizes to try, largest first.
    fn batches(&self, choice: Choice) -> Vec<u64> {
        if let Some(batch) = choice.batch {
            return vec![batch.clamp(1, self.guests.max(1))];
        }
        let mut batches: Vec<u64> = (1..10).collect();
        let mut ten = 1;
        while ten * 10 <= self.guests {
            batches.extend(ROUND.map(|round| round * ten));
            ten *= 10;
        }
        batches.retain(|batch| *batch < self.guests);
        batches.push(self.guests);
        batches.reverse();
        batches
    }

    /// The shortest round wait that works for a batch size and is done within `bound` `[s]`.
    fn shortest_wait(&self, batch: u64, choice: Choice, bound: f64) -> Option<Found> {
        if let Some(wait) = choice.wait_s {
            return self.attempt(batch, wait);
        }
        let gaps = self.guests.div_ceil(batch.max(1)).saturating_sub(1) as f64;
        let last = WAITS.partition_point(|wait| wait * gaps < bound);
        // Longer waits first make sure that the size works at all; then the border is bisected.
        let (mut fails, mut works) = (0, None);
        for index in [last * 2 / 3, last.saturating_sub(1)] {
            if index >= last {
                continue;
            }
            match self.attempt(batch, WAITS[index]) {
                Some(found) => {
                    works = Some((index, found));
                    break;
                }
                None => fails = index + 1,
            }
        }
        let (mut index, mut found) = works?;
        while fails < index {
            let middle = fails + (index - fails) / 2;
            match self.attempt(batch, WAITS[middle]) {
                Some(sooner) => (index, found) = (middle, sooner),
                None => fails = middle + 1,
            }
        }
        Some(found)
    }

    /// Runs a rule; none where a peak passes the limit, a guest is lost, or a batch is not started when the next is due.
    pub(super) fn attempt(&self, batch: u64, wait_s: f64) -> Option<Found> {
        let run = simulate(
            self.model,
            &Schedule::rule(self.guests, batch, wait_s),
            &self.options,
        );
        let mut batches = run.batches.iter().enumerate();
        let in_time = batches.all(|(index, batch)| batch.start_s <= index as f64 * wait_s + 1.0);
        let complete = run.end == End::Complete && run.up_s.is_some();
        (complete && in_time && run.safe(self.limit)).then_some((Rule { batch, wait_s }, run))
    }
}
