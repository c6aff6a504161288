//! How to get to a target safely, and how far it goes where that is not possible.

use super::list::{guests_at, list, load_line, scaling_of};
use super::options::{Goal, Options, Watch};
use super::run::Run;
use super::schedule::{Rule, Schedule};
use super::search::{Choice, Search};
use super::shortfall::{Shortfall, shortfall};
use super::simulate::simulate;
use crate::model::within;
use crate::sizing::host::HostModel;

/// How to get to a target.
#[derive(Debug, Clone)]
pub struct Plan {
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

/// A plan to `target` scaling guests (or sets) that keeps every peak under `limit` (default: the load line).
///
/// Fixed guests start first. The list is made on the way: the next batch as soon as it fits under the limit before any of
/// it merges. The rule is the quickest of k guests every t with round k and t, larger k preferred.
#[must_use]
pub fn plan(model: &HostModel, target: u64, limit: Option<f64>, options: &Options) -> Plan {
    let goal = Goal {
        target,
        limit: limit.unwrap_or_else(|| load_line(model)),
        options,
    };
    plan_within(model, goal, Choice::default())
}

/// A [`plan`] with batch size or wait chosen by the reader.
#[must_use]
pub fn plan_within(model: &HostModel, goal: Goal, choice: Choice) -> Plan {
    let Goal { target, limit, .. } = goal;
    let asked = guests_at(model, target);
    let list = list(model, asked, limit, goal.options);
    let running = list.running();
    let complete = running >= asked && within(list.peak, limit);
    let reached = if complete {
        target
    } else {
        scaling_of(model, running).min(target)
    };
    let rule = (running > 0)
        .then(|| watched_rule(model, guests_at(model, reached), goal, choice, &list))
        .flatten();
    Plan {
        reached,
        limit,
        rule,
        list,
        shortfall: (!complete).then(|| shortfall(model, goal, running)),
    }
}

/// The rule, and its run watched as the reader wants it.
///
/// Most peaks are over once the last guest is up, so the search ends there at first; where memory rises again after that
/// (pages rewritten faster than a slow or slowing scanner merges them), it is repeated with the whole watch.
fn watched_rule(
    model: &HostModel,
    guests: u64,
    goal: Goal,
    choice: Choice,
    list: &Run,
) -> Option<(Rule, Run)> {
    let Goal { limit, options, .. } = goal;
    let search =
        |options: &Options| Search::new(model, guests, limit, options).rule(choice, list.total_s());
    let unwatched = Options {
        watch: Watch::For(0.0),
        ..options.clone()
    };
    let (rule, _) = search(&unwatched)?;
    let schedule = Schedule::rule(guests, rule.batch, rule.wait_s);
    let run = simulate(model, &schedule, options);
    if run.safe(limit) {
        return Some((rule, run));
    }
    search(options)
}
