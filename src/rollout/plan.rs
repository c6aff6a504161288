//! How to get to a target safely, and how far it goes where that is not possible.

use super::lived::holds;
use super::options::{Goal, Options};
use super::planner::{Planner, guests_at, load_line, scaling_of};
use super::run::Run;
use super::schedule::Rule;
use super::search::Choice;
use super::shortfall::{Shortfall, shortfall};
use crate::sizing::host::HostModel;

/// A rule that takes more than this many times as long as the list is no help.
pub(super) const PATIENCE: f64 = 3.0;
/// A list that is not done in less than this share of the rule's time is not worth its many lines.
const WORTH: f64 = 0.99;

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
    /// Why the target is not reached safely; none where it is.
    pub shortfall: Option<Shortfall>,
    /// Whether the budget of steps ran out: this is the best found until then.
    pub stopped: bool,
}

impl Plan {
    /// The rule, unless the list is faster and safe.
    pub fn fastest_rule(&self) -> Option<(Rule, Run)> {
        let rule = self.rule.clone();
        let reaches =
            |run: &Run| self.list.safe(self.limit) && self.list.running() >= run.running();
        let list = rule.as_ref().filter(|(_, run)| reaches(run));
        let list = list.map(|_| self.list.total_s());
        rule.filter(|(_, run)| list.is_none_or(|list| list >= WORTH * run.total_s()))
    }
}

/// A plan to `target` scaling guests (or sets) that keeps every peak under `limit` (default: the load line).
///
/// Fixed guests start first. The list is made on the way: the next batch as soon as it fits under the limit before any of
/// it merges, and at last guest by guest as long as a trial run says that one more is safe. The rule is the quickest of k
/// guests every t with round k and t, larger k preferred.
pub fn plan(model: &HostModel, target: u64, limit: Option<f64>, options: &Options) -> Plan {
    let goal = Goal {
        target,
        limit: limit.unwrap_or_else(|| load_line(model)),
        fresh: false,
        options,
    };
    plan_within(model, goal, Choice::default())
}

/// A [`plan`] with batch size or wait chosen by the reader.
pub fn plan_within(model: &HostModel, goal: Goal, choice: Choice) -> Plan {
    let Goal { target, limit, .. } = goal;
    let planner = Planner::new(model, limit, goal.options);
    let asked = guests_at(model, target);
    let list = planner.list(asked);
    let by_list = if list.safe(limit) { list.running() } else { 0 };
    let further = (by_list < asked)
        .then(|| planner.further(by_list, asked, choice))
        .flatten();
    let running = further.as_ref().map_or(list.running(), |(most, _)| *most);
    let complete = running >= asked && (further.is_some() || list.safe(limit));
    let reached = if complete {
        target
    } else {
        scaling_of(model, running).min(target)
    };
    let guests = guests_at(model, reached).min(running);
    let patience = PATIENCE
        * further
            .as_ref()
            .map_or(&list, |(_, (_, run))| run)
            .total_s();
    let rule = (guests > 0)
        .then(|| planner.rule(guests, choice, patience))
        .flatten()
        .or(further.map(|(_, found)| found));
    let holds = goal.fresh || holds(model, goal, limit);
    let shortfall = (!complete || !holds).then(|| shortfall(&planner, goal, running, complete));
    Plan {
        reached,
        limit,
        rule,
        list,
        shortfall,
        stopped: planner.exhausted(),
    }
}
