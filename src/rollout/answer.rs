//! The answer to "how do I get there": one value that every format is written from.

use schemars::JsonSchema;
use serde::Serialize;

use super::lived::{Chance, lived_in};
use super::options::{Goal, Options, Spells, Stagger};
use super::plan::Plan;
use super::planner::{guests_at, scaling_of};
use super::run::{Moment, Run};
use super::schedule::Rule;
use super::shortfall::Shortfall;
use crate::model::within;
use crate::sizing::caution::applying;
use crate::sizing::composition::Unit;
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;
use crate::sizing::search::Largest;

/// What to be careful about in a rollout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RolloutCaution {
    /// Guests are killed.
    Killed,
    /// Memory passes the limit.
    Overcommit,
    /// Swap is in use on the way.
    SwapInUse,
    /// Pages are shared.
    SideChannel,
    /// More guests run than memory holds safely once all have been busy.
    LivedIn {
        /// Whether guests become busy on the way.
        busy_spells: bool,
    },
    /// The answer is an estimate.
    Estimate,
}

/// Answer of `rollout`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "RolloutAnswer")]
pub struct Rollout {
    /// Always `"rollout"`.
    #[schemars(extend("const" = "rollout"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the host.
    pub host: String,
    /// Scaling guests (or sets) asked for.
    pub target: u64,
    /// Scaling guests (or sets) that run at the end.
    pub reached: u64,
    /// Whether all guests that must run and the target are reached, no guest is lost, no peak passes the limit, and memory
    /// holds the target once the guests have been busy, unless they never will be.
    pub safe: bool,
    /// Highest accepted share of visible memory.
    pub limit: f64,
    /// The rule that was followed; null where there is none.
    #[serde(rename = "plan")]
    pub rule: Option<Rule>,
    /// The run.
    #[serde(flatten)]
    pub run: Run,
    /// The plan that the run was taken from, where one was made.
    #[serde(skip)]
    pub plan: Option<Plan>,
    /// Time between the starts of two guests of a batch `[s]`; none where it is each guest's own boot time.
    #[serde(skip)]
    pub gap_s: Option<f64>,
    /// Whether guests became busy on the way.
    #[serde(skip)]
    pub busy_spells: bool,
    /// Time of the day at which it starts `[s]`; left out where guests do not become busy by the clock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_s: Option<f64>,
    /// Whether guests become busy by chance, each as in the period in which it is busiest, because no clock was given.
    #[serde(skip)]
    pub busiest: bool,
    /// Scaling guests (or sets) that memory holds safely once they have been busy; null where it has no bound or holds not
    /// even those that must run.
    pub lived_in: Largest,
    /// Whether the guests will never be busy.
    #[serde(skip)]
    pub fresh: bool,
    /// Guests that must run.
    #[serde(skip)]
    pub fixed: u64,
    /// What target and reached count.
    #[serde(skip)]
    pub unit: Unit,
    /// Why the target is not reached safely, and what would change it; null where it is.
    pub shortfall: Option<Shortfall>,
    /// How sure it is that memory holds the target; null without draws or where every value was given.
    pub chance: Option<Chance>,
    /// Cautions that apply.
    pub cautions: Vec<RolloutCaution>,
}

/// The cautions that apply; `outlived`: guests are fresh, and whether some are busy meanwhile.
fn cautions(run: &Run, limit: f64, outlived: Option<bool>) -> Vec<RolloutCaution> {
    let moment = |is: fn(&Moment) -> bool| run.timeline.iter().any(is);
    let swap_used = moment(|one| one.swap_used > 0.0);
    let merged = moment(|one| one.merged_bytes > 0.0);
    let busy_spells = outlived.unwrap_or_default();
    applying([
        (run.killed > 0, RolloutCaution::Killed),
        (!within(run.peak, limit), RolloutCaution::Overcommit),
        (swap_used, RolloutCaution::SwapInUse),
        (merged, RolloutCaution::SideChannel),
        (outlived.is_some(), RolloutCaution::LivedIn { busy_spells }),
        (true, RolloutCaution::Estimate),
    ])
}

impl Rollout {
    /// A run, by a rule or not, with the plan it comes from, if it comes from one.
    pub fn new(
        model: &HostModel,
        goal: Goal,
        chance: Option<Chance>,
        run: Run,
        rule: Option<Rule>,
        plan: Option<Plan>,
    ) -> Rollout {
        let Goal {
            target,
            limit,
            fresh,
            options,
        } = goal;
        let lived_in = lived_in(model, limit);
        let held = fresh || lived_in >= Largest::Bound(target);
        let complete = run.running() >= guests_at(model, target);
        let (by_chance, at_s) = match options.spells {
            Spells::Sampled { at_s, .. } => (true, at_s),
            Spells::None | Spells::At(_) => (false, None),
        };
        let reached = scaling_of(model, run.running()).min(target);
        let safe = complete && held && run.safe(limit);
        // A rule that reaches the target needs no excuse, whatever the list of its plan came to.
        let fallen_short = plan.as_ref().filter(|_| !safe);
        let busy_spells = !matches!(options.spells, Spells::None);
        let outlived = !fresh && lived_in < Largest::Bound(reached);
        let cautions = cautions(&run, limit, outlived.then_some(busy_spells));
        Rollout {
            report: "rollout",
            version: CONTRACT,
            shortfall: fallen_short.and_then(|plan| plan.shortfall.clone()),
            chance,
            cautions,
            host: model.host.name.clone(),
            target,
            reached,
            safe,
            limit,
            rule,
            run,
            plan,
            gap_s: gap(model, options),
            busy_spells,
            at_s,
            busiest: by_chance && at_s.is_none() && !model.lab.periods.is_empty(),
            lived_in,
            fresh,
            // Without scaling guests N counts sets, and one set is what must run.
            fixed: guests_at(model, u64::from(model.composition.unit() == Unit::Sets)),
            unit: model.composition.unit(),
        }
    }
}

/// Time between the starts of two guests `[s]`, where it is the same for all.
fn gap(model: &HostModel, options: &Options) -> Option<f64> {
    let mut boots = model.lab.guests.iter().map(|guest| guest.boot_time);
    match options.stagger {
        Stagger::Every(gap) => Some(gap),
        Stagger::BootTime => boots
            .next()
            .filter(|first| boots.all(|boot| boot == *first)),
    }
}
