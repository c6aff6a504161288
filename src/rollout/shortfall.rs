//! Why a plan ends before its target, and what would change it.

use schemars::JsonSchema;
use serde::Serialize;

use super::lived::{excess, holds};
use super::options::Goal;
use super::planner::{Planner, guests_at};
use super::profile::Profile;
use super::search::Choice;
use crate::lab::Mode;
use crate::model::footprint::Age;
use crate::model::{MIB, within};
use crate::sizing::composition::Unit;
use crate::sizing::host::HostModel;
use crate::sizing::memory::Activity;
use crate::sizing::search::largest;

/// Share of visible memory that no plan may count on, whatever limit is asked for: the kernel's watermarks.
const MOST_LIMIT: f64 = 0.99;
/// Fastest scanner proposed `[pages per wake]`. Assumption: beyond it the scanner takes most of a core.
const FASTEST_WAKE: f64 = 16_000.0;

/// Most memory tried, in times of what the steady state suggests.
const MOST_MEMORY: u64 = 3;

/// Why a target is not reached safely.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "ShortfallAnswer")]
pub struct Shortfall {
    /// Why, in words.
    pub why: Why,
    /// Memory missing for the target `[B]`: what would be enough if it were added, else where the target settles, with one
    /// more guest that is not merged yet, over the limit.
    pub missing: f64,
    /// What would change it, each by itself and tried, in words.
    pub changes: Vec<Change>,
}

/// Why a target is not reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Not even the first guest fits under the limit.
    NothingFits,
    /// The target would settle above the limit: no order or patience helps.
    Settled {
        /// Scaling guests (or sets).
        target: u64,
        /// What they are.
        unit: Unit,
    },
    /// The target would settle below the limit, but the last guests do not fit before they are merged.
    NotMergedYet,
    /// The target is reached, but its guests hold more once they have been busy.
    LivedIn,
}

/// Something that would let the target be reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// More memory in the host `[B]`.
    Memory(f64),
    /// A higher limit, share of visible memory.
    Limit(f64),
    /// Page sharing with so many pages per wake, in mode `fixed`.
    Sharing(f64),
}

/// Why the `running` guests of a plan are not all of the target (or, where it is `complete`, why they may not stay), and
/// what would change it.
///
/// Each change is tried: with it alone, the target is reached under the limit, and memory holds it.
pub(super) fn shortfall(planner: &Planner, running: u64, complete: bool) -> Shortfall {
    let Planner { model, goal, .. } = *planner;
    let Goal { target, limit, .. } = goal;
    let counts = model.composition.counts(target);
    let newcomer = Profile::all(model)
        .iter()
        .zip(&counts)
        .filter(|(_, count)| **count > 0)
        .map(|(profile, _)| profile.unmerged)
        .fold(0.0, f64::max);
    let steady = model.settled_used(&counts, Age::Fresh, Activity::Idle);
    let needed = steady + newcomer;
    let over = (needed - limit * model.visible).max(excess(model, goal));
    let short = (over / limit.max(0.01)).max(0.0);
    let why = if complete {
        Why::LivedIn
    } else if running == 0 {
        Why::NothingFits
    } else if within(steady, limit * model.visible) {
        Why::NotMergedYet
    } else {
        Why::Settled {
            target,
            unit: model.composition.unit(),
        }
    };
    let memory = planner.more_memory(short);
    let changes = [
        memory.map(Change::Memory),
        planner
            .higher_limit(needed / model.visible)
            .map(Change::Limit),
        planner.faster_scanner(newcomer).map(Change::Sharing),
    ];
    Shortfall {
        why,
        missing: memory.unwrap_or(short),
        changes: changes.into_iter().flatten().collect(),
    }
}

impl Planner<'_> {
    /// Whether a host reaches the target under a limit and holds it: by the list, or by one of the further rules too.
    fn enough(&self, model: &HostModel, limit: f64, by_rules: bool) -> bool {
        let goal = Goal { limit, ..self.goal };
        let planner = Planner {
            model,
            goal,
            ..*self
        };
        let guests = guests_at(model, goal.target);
        let further = || planner.further(guests.saturating_sub(1), guests, Choice::default());
        (goal.fresh || holds(model, goal, limit))
            && (planner.reaches(guests) || (by_rules && further().is_some()))
    }

    /// The least memory to add that is enough, in steps of a thirty-second of what the steady state suggests, whole GiB
    /// where it is large `[B]`; none where not even [`MOST_MEMORY`] times the suggestion is.
    fn more_memory(&self, suggested: f64) -> Option<f64> {
        let (model, limit) = (self.model, self.goal.limit);
        let step = whole(suggested.max(MIB) / 32.0);
        let guess = (suggested / step).ceil().max(1.0) as u64;
        let steps = least(guess, MOST_MEMORY * guess, |steps, by_rules| {
            let mut host = model.host.clone();
            host.memory.modules.push(steps as f64 * step);
            self.enough(&HostModel::new(model.lab, &host), limit, by_rules)
        });
        steps.map(|steps| steps as f64 * step)
    }

    /// The lowest limit in whole percent above today's that is enough; none up to [`MOST_LIMIT`].
    fn higher_limit(&self, suggested: f64) -> Option<f64> {
        let (model, limit) = (self.model, self.goal.limit);
        let percent = |share: f64| (share * 100.0 + 1e-9).floor() as u64;
        let (today, most) = (percent(limit), percent(MOST_LIMIT));
        let lowest = least(percent(suggested).min(most), most, |limit, by_rules| {
            limit > today && self.enough(model, limit as f64 / 100.0, by_rules)
        });
        lowest.map(|percent| percent as f64 / 100.0)
    }

    /// The fewest pages per wake, doubling from 1000, with which the target settles low enough and is reached; none where
    /// no speed does.
    fn faster_scanner(&self, newcomer: f64) -> Option<f64> {
        let (model, limit) = (self.model, self.goal.limit);
        let merging = &model.host.merging;
        let counts = model.composition.counts(self.goal.target);
        let speeds = std::iter::successors(Some(1000.0), |pages| Some(2.0 * pages));
        speeds
            .take_while(|pages| *pages <= FASTEST_WAKE)
            .filter(|pages| merging.mode != Mode::Fixed || *pages > merging.pages_per_wake)
            .find(|pages| {
                let mut host = model.host.clone();
                host.merging.mode = Mode::Fixed;
                host.merging.pages_per_wake = *pages;
                let other = HostModel::new(model.lab, &host);
                let steady = other.settled_used(&counts, Age::Fresh, Activity::Idle);
                within(steady + newcomer, limit * model.visible)
                    && self.enough(&other, limit, false)
            })
    }
}

/// The least number up to `most` that is enough, found with the list and then lowered as far as the further rules are
/// enough (`enough` says whether a number is, and is told whether to try them); none where `most` is not enough.
fn least(guess: u64, most: u64, enough: impl Fn(u64, bool) -> bool) -> Option<u64> {
    let too_little =
        |guess, most, by_rules| largest(guess, |n| n <= most && !enough(n, by_rules)).bound();
    let by_list = too_little(guess, most, false).filter(|n| *n < most)?;
    Some(too_little(by_list, by_list, true).unwrap_or(by_list) + 1)
}

/// A size that a person would say: a power of two of MiB, at most 1 GiB `[B]`.
fn whole(bytes: f64) -> f64 {
    (bytes / MIB).log2().floor().clamp(0.0, 10.0).exp2() * MIB
}
