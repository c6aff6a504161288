//! How to get to a target safely, and how far it goes where that is not possible.

use super::options::{Options, Stop, Watch};
use super::record::Run;
use super::schedule::Schedule;
use super::search::Search;
use super::shortfall::{Goal, Shortfall, shortfall};
use super::simulate::simulate;
use crate::model::within;
use crate::sizing::host::HostModel;
use crate::sizing::search::{Largest, largest};

/// Tries of a list that overshoots because merged pages are rewritten meanwhile.
const TRIES: u32 = 4;
/// So many guests every so often.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Guests of all profiles that start together.
    pub batch: u64,
    /// From the start of one batch to that of the next `[s]`; 0 with a single batch.
    pub wait_s: f64,
}

/// What the reader wants fixed of a rule.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Choice {
    /// Guests that start together.
    pub batch: Option<u64>,
    /// From start to start `[s]`.
    pub wait_s: Option<f64>,
}

/// How to get to a target.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Scaling guests (or sets) asked for.
    pub target: u64,
    /// Scaling guests (or sets) that the plan reaches.
    pub reached: u64,
    /// Highest accepted share of visible memory.
    pub limit: f64,
    /// The fixed rule to `reached` and its run, watched until memory has settled; none where no rule of round numbers is
    /// safe.
    pub rule: Option<(Rule, Run)>,
    /// The next batch as soon as it is safe, to `reached`: its batches are the list.
    pub list: Run,
    /// Why it ends before the target; none where it does not.
    pub shortfall: Option<Shortfall>,
}

impl Plan {
    /// When the last guest is up by the rule, else by the list `[s]`.
    #[must_use]
    pub fn total_s(&self) -> Option<f64> {
        self.rule.as_ref().map_or(&self.list, |(_, run)| run).up_s
    }
}

/// The load line as a share of visible memory: what is full when the safe limit is reached.
///
/// `(usable + base + file_cache)/visible = 1 − keep_free`
#[must_use]
pub fn load_line(model: &HostModel) -> f64 {
    let memory = &model.host.memory;
    (model.usable() + memory.base + memory.file_cache) / model.visible
}

/// A plan to `target` scaling guests (or sets) that keeps every peak under `limit` (default: the load line).
///
/// Fixed guests start first. The list is made on the way: the next batch as soon as it fits under the limit before any of
/// it merges. The rule is the quickest of k guests every t with round k and t, larger k preferred.
#[must_use]
pub fn plan(model: &HostModel, target: u64, limit: Option<f64>, options: &Options) -> Plan {
    plan_within(model, target, limit, Choice::default(), options)
}

/// A [`plan`] with batch size or wait chosen by the reader.
#[must_use]
pub fn plan_within(
    model: &HostModel,
    target: u64,
    limit: Option<f64>,
    choice: Choice,
    options: &Options,
) -> Plan {
    let limit = limit.unwrap_or_else(|| load_line(model));
    let asked = guests_at(model, target);
    let list = list(model, asked, limit, options);
    let running: u64 = list.guests.iter().sum();
    let complete = running >= asked && within(list.peak, limit);
    let reached = if complete {
        target
    } else {
        scaling_of(model, running).min(target)
    };
    let rule = if running > 0 {
        watched_rule(
            model,
            guests_at(model, reached),
            limit,
            choice,
            options,
            &list,
        )
    } else {
        None
    };
    let goal = Goal {
        target,
        limit,
        options,
    };
    let shortfall = (!complete).then(|| shortfall(model, goal, running));
    Plan {
        target,
        reached,
        limit,
        rule,
        list,
        shortfall,
    }
}

/// The rule, and its run watched as the reader wants it.
///
/// Most peaks are over once the last guest is up, so the search ends there at first; where memory rises again after that
/// (pages rewritten faster than a slow or slowing scanner merges them), it is repeated with the whole watch.
fn watched_rule(
    model: &HostModel,
    guests: u64,
    limit: f64,
    choice: Choice,
    options: &Options,
    list: &Run,
) -> Option<(Rule, Run)> {
    let list_s = list.up_s.unwrap_or(list.end_s);
    let found = Search::new(model, guests, limit, &unwatched(options)).rule(choice, list_s)?;
    let schedule = Schedule::rule(guests, found.rule.batch, found.rule.wait_s);
    let run = simulate(model, &schedule, options);
    if run.killed == 0 && within(run.peak, limit) {
        return Some((found.rule, run));
    }
    let found = Search::new(model, guests, limit, options).rule(choice, list_s)?;
    Some((found.rule, found.run))
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

/// The next batch as soon as it is safe, as far as that goes.
pub(super) fn list(model: &HostModel, guests: u64, limit: f64, options: &Options) -> Run {
    let mut aim = limit;
    let options = Options {
        stop: Stop::AtEnd,
        ..options.clone()
    };
    let mut run = simulate(
        model,
        &Schedule::AsSoonAsSafe { guests, limit: aim },
        &options,
    );
    for _ in 1..TRIES {
        if within(run.peak, limit) || run.batches.is_empty() {
            break;
        }
        aim -= (run.peak - limit) * 1.2;
        run = simulate(
            model,
            &Schedule::AsSoonAsSafe { guests, limit: aim },
            &options,
        );
    }
    run
}

/// Options for a start that is not watched further than until the last guest is up.
pub(super) fn unwatched(options: &Options) -> Options {
    Options {
        watch: Watch::For(0.0),
        ..options.clone()
    }
}
