//! What may be asked of a rollout, and the run that answers it.

use super::answer::Rollout;
use super::lived::Chance;
use super::options::Goal;
use super::plan::{Plan, plan};
use super::planner::guests_at;
use super::schedule::{Rule, Schedule};
use super::search::Choice;
use super::simulate::simulate;
use crate::sizing::host::HostModel;

/// Guests a batch and wait where nothing safe is known and the reader wants to go on anyway. Common practice, no
/// source: ten at a time, a minute apart.
const ANYWAY: Rule = Rule {
    batch: 10,
    wait_s: 60.0,
};

/// Wait for a batch size that no wait makes safe `[s]`: a patient one. Assumption of this project.
const LONGEST_SETTLE: f64 = 4.0 * 3600.0;

/// How guests are started.
#[derive(Debug, Clone)]
pub enum Way {
    /// The fastest that is safe of a rule and a list, or by the best rule with what the reader chose of it.
    Plan(Choice),
    /// By the list: each batch as soon as it is safe.
    List,
    /// By the reader's own rule, safe or not.
    Own(Rule),
    /// To each of these counts in turn.
    Steps(Vec<u64>, f64),
    /// By the best rule, and on past the limit.
    Anyway(Choice),
}

/// Runs what was asked for: a way to start guests, towards a goal.
pub fn rollout(model: &HostModel, goal: Goal, way: &Way, chance: Option<Chance>) -> Rollout {
    let simulated = |schedule: &Schedule| simulate(model, schedule, goal.options);
    let made = |run, rule, plan| Rollout::new(model, goal, chance, run, rule, plan);
    let by_rule = |rule: Rule, plan: Option<Plan>| {
        let all = guests_at(model, goal.target);
        let schedule = Schedule::rule(all, rule.batch, rule.wait_s);
        made(simulated(&schedule), Some(rule), plan)
    };
    match way {
        Way::Own(rule) => by_rule(*rule, None),
        Way::Steps(counts, wait_s) => {
            let counts: Vec<u64> = counts.iter().map(|n| guests_at(model, *n)).collect();
            made(simulated(&Schedule::steps(&counts, *wait_s)), None, None)
        }
        Way::List => {
            let plan = plan(model, goal, Choice::default());
            made(plan.list.clone(), None, Some(plan))
        }
        Way::Anyway(choice) => {
            let plan = plan(model, goal, *choice);
            let found = plan.rule.as_ref().map_or(ANYWAY, |(rule, _)| *rule);
            let wait = Some(found.wait_s).filter(|wait| *wait > 0.0);
            let rule = chosen(*choice, found.batch, wait.unwrap_or(ANYWAY.wait_s));
            by_rule(rule, Some(plan))
        }
        Way::Plan(choice) => {
            let plan = plan(model, goal, *choice);
            let own = *choice != Choice::default();
            match plan.rule(own) {
                Some((rule, run)) => made(run, Some(rule), Some(plan)),
                // What the reader chose is not quietly replaced: it is run as it is, and is not safe.
                None if own => by_rule(chosen(*choice, ANYWAY.batch, LONGEST_SETTLE), Some(plan)),
                None => made(plan.list.clone(), None, Some(plan)),
            }
        }
    }
}

/// What the reader chose, the rest filled in.
fn chosen(choice: Choice, batch: u64, wait_s: f64) -> Rule {
    Rule {
        batch: choice.batch.unwrap_or(batch),
        wait_s: choice.wait_s.unwrap_or(wait_s),
    }
}
