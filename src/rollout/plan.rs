//! How to get to a target safely, and how far it goes where that is not possible.

use std::cell::Cell;

use super::lived::holds;
use super::options::Goal;
use super::planner::{Found, Planner, guests_at, scaling_of};
use super::run::Run;
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
    pub rule: Option<Found>,
    /// The next batch as soon as it is safe, to `reached`: its batches are the list.
    pub list: Run,
    /// Why the target is not reached safely; none where it is.
    pub shortfall: Option<Shortfall>,
    /// Whether the budget of steps ran out: this is the best found until then.
    pub stopped: bool,
}

impl Plan {
    /// The rule with its run, unless it need not be followed and the list is faster and safe.
    pub(super) fn rule(&self, must: bool) -> Option<Found> {
        let list = self.list.safe(self.limit).then_some(&self.list);
        let faster = |run: &Run| {
            let list = list.filter(|list| list.running() >= run.running());
            list.is_some_and(|list| list.total_s() < WORTH * run.total_s())
        };
        self.rule.clone().filter(|(_, run)| must || !faster(run))
    }
}

/// A plan to a goal that keeps every peak under its limit, with batch size or wait as far as the reader has chosen them.
///
/// Fixed guests start first. The list is made on the way: the next batch as soon as it fits under the limit before any of
/// it merges, and at last guest by guest as long as a trial run says that one more is safe. The rule is the quickest of k
/// guests every t with round k and t, larger k preferred.
pub fn plan(model: &HostModel, goal: Goal, choice: Choice) -> Plan {
    let Goal { target, limit, .. } = goal;
    let budget = Cell::new(goal.options.most_steps);
    let planner = Planner::new(model, goal, &budget);
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
    let reaching = further.as_ref().map_or(&list, |(_, (_, run))| run);
    let patience = PATIENCE * reaching.total_s();
    let rule = (guests > 0)
        .then(|| planner.rule(guests, choice, patience))
        .flatten()
        .or(further.map(|(_, found)| found));
    let holds = goal.fresh || holds(model, goal, limit);
    let shortfall = (!complete || !holds).then(|| shortfall(&planner, running, complete));
    Plan {
        reached,
        limit,
        rule,
        list,
        shortfall,
        stopped: planner.exhausted(),
    }
}
