//! Why a plan ends before its target, and what would change it.

use super::profile::Profile;
use super::steady::settled;
use crate::inventory::lab::{Host, Merging, Mode};
use crate::model::within;
use crate::sizing::host::HostModel;

/// Share of visible memory that no plan may count on, whatever limit is asked for: the kernel's watermarks.
const MOST_LIMIT: f64 = 0.99;
/// Fastest scanner proposed `[pages per wake]`. Assumption: beyond it the scanner takes most of a core.
const FASTEST_WAKE: f64 = 16_000.0;

/// How far it goes, why no further, and what would change it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    /// Why.
    pub why: Why,
    /// Memory missing for the target: where it settles, and one more guest that is not merged yet, over the limit `[B]`.
    pub missing: f64,
    /// What would change it, by the steady state; each by itself.
    pub changes: Vec<Change>,
}

/// Why a target is not reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Not even the first guest fits under the limit.
    NothingFits,
    /// The target would settle above the limit: no order or patience helps.
    Settled,
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

/// Why the guests under way at the end of a list are not all that were asked for.
pub(super) fn shortfall(model: &HostModel, target: u64, running: u64, limit: f64) -> Shortfall {
    let counts = model.composition.counts(target);
    let newcomer = Profile::all(model)
        .iter()
        .zip(&counts)
        .filter(|(_, count)| **count > 0)
        .map(|(profile, _)| profile.unmerged())
        .fold(0.0, f64::max);
    let steady = settled(model, &counts);
    let needed = steady + newcomer;
    let missing = (needed - limit * model.visible).max(0.0);
    let why = if running == 0 {
        Why::NothingFits
    } else if within(steady, limit * model.visible) {
        Why::NotMergedYet
    } else {
        Why::Settled
    };
    let mut changes = vec![Change::Memory(missing / limit.max(0.01))];
    let higher = needed / model.visible;
    if higher > limit && higher <= MOST_LIMIT {
        changes.push(Change::Limit(higher));
    }
    changes.extend(sharing_that_helps(model, &counts, newcomer, limit).map(Change::Sharing));
    Shortfall {
        why,
        missing,
        changes,
    }
}

/// The fewest pages per wake, doubling from 1000, with which the target would settle low enough; none where no speed
/// does.
fn sharing_that_helps(model: &HostModel, counts: &[u64], newcomer: f64, limit: f64) -> Option<f64> {
    let merging = &model.host.merging;
    let mut pages = 1000.0;
    while pages <= FASTEST_WAKE {
        let faster = merging.mode != Mode::Fixed || pages > merging.pages_per_wake;
        let host = Host {
            merging: Merging {
                mode: Mode::Fixed,
                pages_per_wake: pages,
                ..merging.clone()
            },
            ..model.host.clone()
        };
        let other = HostModel::new(model.lab, &host);
        if faster && within(settled(&other, counts) + newcomer, limit * model.visible) {
            return Some(pages);
        }
        pages *= 2.0;
    }
    None
}
