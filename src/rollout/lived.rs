//! What memory holds once guests have been busy.

use super::options::Goal;
use super::planner::load_line;
use crate::model::footprint::Age;
use crate::model::within;
use crate::sizing::count::{memory_constraints, memory_count};
use crate::sizing::host::HostModel;
use crate::sizing::memory::{Activity, MemoryCount};
use crate::sizing::search::Largest;

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
