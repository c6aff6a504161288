//! How sure it is that memory holds a target, over the draws of what is uncertain.

use schemars::JsonSchema;
use serde::Serialize;

use super::options::Goal;
use super::planner::load_line;
use crate::lab::{Host, Lab};
use crate::sizing::count::memory_constraints;
use crate::sizing::host::HostModel;
use crate::sizing::memory::MemoryCount;
use crate::sizing::uncertainty::{Draws, each_draw};

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
#[must_use]
pub fn chance(lab: &Lab, host: &Host, goal: Goal, draws: Draws) -> Option<Chance> {
    let count = match goal.fresh {
        true => MemoryCount::Fresh,
        false => MemoryCount::LivedIn,
    };
    let holds = |lab: &Lab| {
        let model = HostModel::new(lab, &lab.hosts[0]);
        let guests = model.composition.counts(goal.target);
        memory_constraints(&model, &guests, count).is_none_or(|one| one.within())
    };
    // A limit above the safe one is the reader's own.
    let is_raised = goal.limit > load_line(&HostModel::new(lab, host));
    let held = each_draw(lab, &host.name, draws, |lab, _| {
        if !is_raised {
            return holds(lab);
        }
        let mut raised = lab.clone();
        raised.policy.memory_keep_free = (1.0 - goal.limit).max(0.0);
        holds(&raised)
    })?;
    let held = held.into_iter().filter(|held| *held).count();
    Some(Chance {
        draws,
        share: held as f64 / draws.count as f64,
    })
}
