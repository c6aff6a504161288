//! How sure it is that memory holds a target, over the draws of what is uncertain.

use schemars::JsonSchema;
use serde::Serialize;

use super::lived::holds;
use super::options::Goal;
use super::planner::load_line;
use crate::lab::{Host, Lab};
use crate::sizing::host::HostModel;
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
pub fn chance(lab: &Lab, host: &Host, goal: Goal, draws: Draws) -> Option<Chance> {
    // A limit above the safe one is the reader's own.
    let is_raised = goal.limit > load_line(&HostModel::new(lab, host));
    let held = each_draw(lab, &host.name, draws, |lab, _| {
        let model = HostModel::new(lab, &lab.hosts[0]);
        let limit = if is_raised {
            goal.limit
        } else {
            load_line(&model)
        };
        holds(&model, goal, limit)
    })?;
    let held = held.into_iter().filter(|held| *held).count();
    Some(Chance {
        draws,
        share: held as f64 / draws.count as f64,
    })
}
