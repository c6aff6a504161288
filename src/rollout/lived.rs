//! What memory holds once guests have been busy, and how sure that is over the draws of what is uncertain.

use schemars::JsonSchema;
use serde::Serialize;

use super::options::Goal;
use super::planner::load_line;
use crate::lab::{Host, Lab};
use crate::model::footprint::Age;
use crate::model::within;
use crate::sizing::count::{memory_constraints, memory_count};
use crate::sizing::host::HostModel;
use crate::sizing::memory::{Activity, MemoryCount};
use crate::sizing::search::Largest;
use crate::sizing::uncertainty::{Draws, each_draw};

/// Scaling guests (or sets) that memory holds once they have been busy, under the safe limit, or under a higher one that
/// the reader accepts.
pub(super) fn lived_in(model: &HostModel, limit: f64) -> Largest {
    under(model, limit, |model| {
        memory_count(model, MemoryCount::LivedIn)
    })
}

/// Whether memory holds a goal's target under a limit once its guests have been busy, or settled where they never will be.
pub(super) fn holds(model: &HostModel, goal: Goal, limit: f64) -> bool {
    let guests = model.composition.counts(goal.target);
    if goal.fresh {
        let used = model.settled_used(&guests, Age::Fresh, Activity::Idle);
        return within(used, limit * model.visible);
    }
    under(model, limit, |model| {
        memory_constraints(model, &guests, MemoryCount::LivedIn).is_none_or(|one| one.within())
    })
}

/// Memory that a goal's target passes the safe limit by once its guests have been busy, at the accepted risk `[B]`.
pub(super) fn excess(model: &HostModel, goal: Goal) -> f64 {
    let guests = model.composition.counts(goal.target);
    let constraints = memory_constraints(model, &guests, MemoryCount::LivedIn);
    let worst = constraints.filter(|_| !goal.fresh);
    worst.map_or(0.0, |constraints| {
        let (_, worst) = constraints.worst();
        (worst.at_risk() - worst.limit).max(0.0)
    })
}

/// What a host says with more of its memory in use than the safe limit allows, where a limit is higher.
fn under<T>(model: &HostModel, limit: f64, ask: impl FnOnce(&HostModel) -> T) -> T {
    if limit <= load_line(model) {
        return ask(model);
    }
    let mut lab = model.lab.clone();
    lab.policy.memory_keep_free = (1.0 - limit).max(0.0);
    ask(&HostModel::new(&lab, model.host))
}

/// In how many of the draws memory holds a target.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Chance {
    /// The draws.
    #[serde(flatten)]
    pub draws: Draws,
    /// Share of them in which memory holds the target once the guests have been busy, unless they never will be.
    pub share: f64,
}

/// The chance of a target; none where every value that it depends on was given.
pub fn chance(lab: &Lab, host: &Host, goal: Goal, draws: Draws) -> Option<Chance> {
    // A limit above the safe one is the reader's own.
    let is_raised = goal.limit > load_line(&HostModel::new(lab, host));
    let held = each_draw(lab, &host.name, draws, |lab, _| {
        let model = HostModel::new(lab, &lab.hosts[0]);
        let own = (!is_raised).then(|| load_line(&model));
        holds(&model, goal, own.unwrap_or(goal.limit))
    })?;
    let held = held.into_iter().filter(|held| *held).count();
    Some(Chance {
        draws,
        share: held as f64 / draws.count as f64,
    })
}
