//! The search for a rule: k guests every t that keeps every peak under a limit.

use super::options::Watch;
use super::planner::{Found, Planner};
use super::schedule::Rule;
use crate::sizing::search::largest;

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

/// Batch sizes of the rules that are tried where a list ends early.
const FURTHER: [u64; 3] = [1, 4, 16];

/// What the reader wants fixed of a rule.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Choice {
    /// Guests that start together.
    pub batch: Option<u64>,
    /// From start to start `[s]`.
    pub wait_s: Option<f64>,
}

impl Planner<'_> {
    /// The rule with the shortest total, larger batches preferred, watched as the reader wants it; none where no rule of
    /// round numbers works that is done within `at_most_s`.
    ///
    /// Most peaks are over once the last guest is up, so the search ends there at first; where memory rises again after
    /// that (pages rewritten faster than a slow or slowing scanner merges them), it is repeated with the whole watch.
    pub(super) fn rule(&self, guests: u64, choice: Choice, at_most_s: f64) -> Option<Found> {
        let unwatched = Planner {
            watch: Watch::For(0.0),
            ..*self
        };
        let (rule, _) = unwatched.search(guests, choice, at_most_s)?;
        self.attempt(guests, rule)
            .or_else(|| self.search(guests, choice, at_most_s))
    }

    /// The rule of a small grid that safely reaches most guests beyond `from`, up to `guests`, and how many; none where
    /// none does.
    ///
    /// A list starts its guests early, and an adaptive or slow scanner may then find memory fuller for ever than a patient
    /// rule would.
    pub(super) fn further(&self, from: u64, guests: u64, choice: Choice) -> Option<(u64, Found)> {
        let mut best: Option<(u64, Found)> = None;
        let batches = choice.batch.map_or(FURTHER.to_vec(), |batch| vec![batch]);
        let waits = choice.wait_s.map_or(WAITS.to_vec(), |wait| vec![wait]);
        let rules = batches.into_iter().flat_map(|batch| {
            let waits = waits.iter();
            waits.map(move |&wait_s| Rule { batch, wait_s })
        });
        for rule in rules {
            let most = best.as_ref().map_or(from, |(most, _)| *most);
            let mut reaches = |n: u64| {
                let run = (n <= guests).then(|| self.completes(n, rule)).flatten();
                let safe = run.is_some();
                best = run.map(|run| (n, (rule, run))).or(best.take());
                safe
            };
            if most < guests && reaches(most + 1) {
                largest(most + 1, |n| n <= most + 1 || reaches(n));
            }
        }
        best
    }

    /// All guests at the same moment.
    pub(super) fn at_once(&self, guests: u64) -> Option<Found> {
        let rule = Rule {
            batch: guests,
            wait_s: 0.0,
        };
        self.attempt(guests, rule)
    }

    fn search(&self, guests: u64, choice: Choice, at_most_s: f64) -> Option<Found> {
        if choice == Choice::default()
            && let Some(found) = self.at_once(guests)
        {
            return Some(found);
        }
        let mut best: Option<Found> = None;
        let mut smaller = 0;
        for batch in batches(guests, choice) {
            let bound = best
                .as_ref()
                .map_or(at_most_s, |(_, run)| WORTH * run.total_s());
            let found = self.shortest_wait(guests, batch, choice, bound);
            // Once a batch size works, the next ones either work or cannot be faster.
            smaller += usize::from(found.is_some() || best.is_some());
            let faster = |(_, run): &Found| match &best {
                Some((_, best)) => run.total_s() < WORTH * best.total_s(),
                None => true,
            };
            best = found.filter(faster).or(best);
            if smaller > SMALLER || self.exhausted() {
                break;
            }
        }
        best
    }

    /// The shortest round wait that works for a batch size and is done within `bound` `[s]`.
    fn shortest_wait(&self, guests: u64, batch: u64, choice: Choice, bound: f64) -> Option<Found> {
        let attempt = |wait_s| self.attempt(guests, Rule { batch, wait_s });
        if let Some(wait) = choice.wait_s {
            return attempt(wait);
        }
        let gaps = guests.div_ceil(batch.max(1)).saturating_sub(1) as f64;
        let last = WAITS.partition_point(|wait| wait * gaps < bound);
        // Longer waits first make sure that the size works at all; then the border is bisected.
        let (mut fails, mut works) = (0, None);
        for index in [last * 2 / 3, last.saturating_sub(1)] {
            if index >= last {
                continue;
            }
            match attempt(WAITS[index]) {
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
            match attempt(WAITS[middle]) {
                Some(sooner) => (index, found) = (middle, sooner),
                None => fails = middle + 1,
            }
        }
        Some(found)
    }
}

/// Batch sizes to try, largest first.
fn batches(guests: u64, choice: Choice) -> Vec<u64> {
    if let Some(batch) = choice.batch {
        return vec![batch.clamp(1, guests.max(1))];
    }
    let mut batches: Vec<u64> = (1..10).collect();
    let mut ten = 1;
    while ten * 10 <= guests {
        batches.extend(ROUND.map(|round| round * ten));
        ten *= 10;
    }
    batches.retain(|batch| *batch < guests);
    batches.push(guests);
    batches.reverse();
    batches
}
