//! Why a plan ends before its target, and what would change it.

use schemars::JsonSchema;
use serde::Serialize;

use super::planner::{Planner, guests_at};
use super::profile::Profile;
use crate::lab::{Host, Merging, Mode};
use crate::model::footprint::Age;
use crate::model::{MIB, within};
use crate::sizing::composition::Unit;
use crate::sizing::host::HostModel;
use crate::sizing::memory::Activity;
use crate::sizing::search::{Largest, largest};

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

/// Why the `running` guests at the end of a list are not all of the target, and what would change it.
///
/// Each change is tried: with it alone, the list reaches the target under the limit.
pub(super) fn shortfall(planner: &Planner, target: u64, running: u64) -> Shortfall {
    let Planner { model, limit, .. } = *planner;
    let counts = model.composition.counts(target);
    let newcomer = Profile::all(model)
        .iter()
        .zip(&counts)
        .filter(|(_, count)| **count > 0)
        .map(|(profile, _)| profile.unmerged)
        .fold(0.0, f64::max);
    let steady = model.settled_used(&counts, Age::Fresh, Activity::Idle);
    let needed = steady + newcomer;
    let short = (needed / limit.max(0.01) - model.visible).max(0.0);
    let why = if running == 0 {
        Why::NothingFits
    } else if within(steady, limit * model.visible) {
        Why::NotMergedYet
    } else {
        Why::Settled {
            target,
            unit: model.composition.unit(),
        }
    };
    let cure = Cure {
        planner,
        target,
        guests: guests_at(model, target),
    };
    let memory = cure.memory(short);
    let changes = [
        memory.map(Change::Memory),
        cure.limit(needed / model.visible).map(Change::Limit),
        cure.sharing(newcomer).map(Change::Sharing),
    ];
    Shortfall {
        why,
        missing: memory.unwrap_or(short),
        changes: changes.into_iter().flatten().collect(),
    }
}

/// The search for what lets a list reach a target.
struct Cure<'a> {
    planner: &'a Planner<'a>,
    target: u64,
    guests: u64,
}

impl Cure<'_> {
    /// The model of the host with something changed.
    fn model_of<'h>(&self, host: &'h Host) -> HostModel<'h>
    where
        Self: 'h,
    {
        HostModel::new(self.planner.model.lab, host)
    }

    /// The least memory to add that is enough, in steps of a thirty-second of what the steady state suggests, whole GiB
    /// where it is large `[B]`; none where not even [`MOST_MEMORY`] times the suggestion is.
    fn memory(&self, suggested: f64) -> Option<f64> {
        let step = whole(suggested.max(MIB) / 32.0);
        let enough = |steps: u64| {
            let mut host = self.planner.model.host.clone();
            host.memory.modules.push(steps as f64 * step);
            let model = self.model_of(&host);
            let planner = self.planner.with(&model, self.planner.limit);
            planner.reaches(self.guests)
        };
        let guess = (suggested / step).ceil().max(1.0) as u64;
        let most = MOST_MEMORY * guess;
        match largest(guess, |steps| steps <= most && !enough(steps)) {
            Largest::Bound(short) if short < most => Some((short + 1) as f64 * step),
            _ => None,
        }
    }

    /// The lowest limit in whole percent above today's that is enough, sought from `suggested` on; none up to
    /// [`MOST_LIMIT`].
    fn limit(&self, suggested: f64) -> Option<f64> {
        let Planner { model, limit, .. } = *self.planner;
        let percent = |share: f64| (share * 100.0 + 1e-9).floor() as u64;
        let from = percent(suggested.max(limit)).max(percent(limit) + 1);
        (from..=percent(MOST_LIMIT))
            .map(|limit| limit as f64 / 100.0)
            .find(|limit| self.planner.with(model, *limit).reaches(self.guests))
    }

    /// The fewest pages per wake, doubling from 1000, with which the target settles low enough and is reached; none where
    /// no speed does.
    fn sharing(&self, newcomer: f64) -> Option<f64> {
        let Planner { model, limit, .. } = *self.planner;
        let merging = &model.host.merging;
        let counts = model.composition.counts(self.target);
        let speeds = std::iter::successors(Some(1000.0), |pages| Some(2.0 * pages));
        speeds
            .take_while(|pages| *pages <= FASTEST_WAKE)
            .filter(|pages| merging.mode != Mode::Fixed || *pages > merging.pages_per_wake)
            .find(|pages| {
                let merging = Merging {
                    mode: Mode::Fixed,
                    pages_per_wake: *pages,
                    ..merging.clone()
                };
                let host = Host {
                    merging,
                    ..model.host.clone()
                };
                let other = self.model_of(&host);
                let steady = other.settled_used(&counts, Age::Fresh, Activity::Idle);
                within(steady + newcomer, limit * model.visible)
                    && self.planner.with(&other, limit).reaches(self.guests)
            })
    }
}

/// A size that a person would say: a power of two of MiB, at most 1 GiB `[B]`.
fn whole(bytes: f64) -> f64 {
    (bytes / MIB).log2().floor().clamp(0.0, 10.0).exp2() * MIB
}
