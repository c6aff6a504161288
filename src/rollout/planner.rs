//! Runs of a host in search of a safe way to start guests, within a budget of steps.

use std::cell::Cell;

use super::options::{Goal, Options, Stop, Watch};
use super::run::{End, Run};
use super::schedule::{Rule, Schedule};
use super::simulate::simulate;
use crate::model::within;
use crate::sizing::host::HostModel;
use crate::sizing::search::{Largest, largest};

/// Tries of a list that overshoots because merged pages are rewritten meanwhile.
const TRIES: u32 = 4;

/// The load line as a share of visible memory: what is full when the safe limit is reached.
///
/// `(usable + base + file_cache)/visible = 1 − keep_free`
pub fn load_line(model: &HostModel) -> f64 {
    let memory = &model.host.memory;
    (model.usable() + memory.base + memory.file_cache) / model.visible
}

/// Guests of all profiles at N.
pub(super) fn guests_at(model: &HostModel, n: u64) -> u64 {
    model.composition.counts(n).iter().sum()
}

/// The largest N whose guests are among the first so many that start; 0 where not even the fixed ones are.
pub(super) fn scaling_of(model: &HostModel, guests: u64) -> u64 {
    match largest(guests, |n| guests_at(model, n) <= guests) {
        Largest::Bound(n) => n,
        Largest::Unbounded => guests,
        Largest::Infeasible => 0,
    }
}

/// A rule that works, and its run.
pub type Found = (Rule, Run);

/// Runs a host towards a goal, as long as the budget lasts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Planner<'a> {
    pub model: &'a HostModel<'a>,
    pub goal: Goal<'a>,
    /// How long each run is watched.
    pub watch: Watch,
    /// Steps that may still be simulated, by all planners of one question.
    pub budget: &'a Cell<u64>,
}

impl<'a> Planner<'a> {
    pub(super) fn new(
        model: &'a HostModel<'a>,
        goal: Goal<'a>,
        budget: &'a Cell<u64>,
    ) -> Planner<'a> {
        Planner {
            model,
            goal,
            watch: goal.options.watch,
            budget,
        }
    }

    /// Whether the budget has run out.
    pub(super) fn exhausted(&self) -> bool {
        self.budget.get() == 0
    }

    /// Runs a schedule; what is left of the budget ends it.
    pub(super) fn run(&self, schedule: &Schedule, stop: Stop) -> Run {
        let options = Options {
            stop,
            watch: self.watch,
            most_steps: self.budget.get(),
            ..self.goal.options.clone()
        };
        let run = simulate(self.model, schedule, &options);
        self.budget.set(self.budget.get().saturating_sub(run.steps));
        run
    }

    /// Each batch as soon as it is safe, as far as that goes.
    pub(super) fn list(&self, guests: u64) -> Run {
        let run_to = |limit| self.run(&Schedule::AsSoonAsSafe { guests, limit }, Stop::AtEnd);
        let mut aim = self.goal.limit;
        let mut run = run_to(aim);
        for _ in 1..TRIES {
            if within(run.peak, self.goal.limit) || run.batches.is_empty() || self.exhausted() {
                break;
            }
            aim -= (run.peak - self.goal.limit) * 1.2;
            run = run_to(aim);
        }
        run
    }

    /// Whether a list safely reaches so many guests.
    pub(super) fn reaches(&self, guests: u64) -> bool {
        let run = self.list(guests);
        run.running() >= guests && run.safe(self.goal.limit)
    }

    /// Runs a rule; none where a peak passes the limit or a guest is lost.
    pub(super) fn completes(&self, guests: u64, rule: Rule) -> Option<Run> {
        if self.exhausted() {
            return None;
        }
        let schedule = Schedule::rule(guests, rule.batch, rule.wait_s);
        let run = self.run(&schedule, Stop::Past(self.goal.limit));
        let complete = run.end == End::Complete && run.up_s.is_some();
        (complete && run.safe(self.goal.limit)).then_some(run)
    }

    /// Runs a rule; none also where a batch is not started when the next is due.
    pub(super) fn attempt(&self, guests: u64, rule: Rule) -> Option<Found> {
        let run = self.completes(guests, rule)?;
        let mut batches = run.batches.iter().enumerate();
        let due = |index: usize| index as f64 * rule.wait_s + 1.0;
        let in_time = batches.all(|(index, batch)| batch.start_s <= due(index));
        in_time.then_some((rule, run))
    }
}
