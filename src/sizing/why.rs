//! Why a resource runs out first, and what would move it: the answer again with one thing changed at a time.

use schemars::JsonSchema;
use serde::Serialize;

use super::count::Counted;
use super::host::HostModel;
use super::lowest::{Hint, lowest};
use super::resource::Resource;
use crate::lab::{Host, Lab};
use change::{Change, changes};

pub mod change;

/// Why a host holds no more.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Why {
    /// The resource that is explained: the first of those that run out first.
    pub resource: String,
    /// Its demand at the accepted risk with one more (guest or set); null where it has no bound, or nothing fits.
    pub at_next: Option<f64>,
    /// Share of its mean demand that each guest profile takes, the largest first.
    pub shares: Vec<Share>,
    /// Changes, the one that moves most first.
    pub changes: Vec<Moved>,
}

/// What a guest profile takes of a resource.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Share {
    /// Guest profile.
    pub guest: String,
    /// Share of the mean demand that would be gone without it.
    pub share: f64,
    /// Mean demand that one guest fewer of it would free, in the unit of the resource.
    pub frees: f64,
}

/// The answer with one thing changed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Moved {
    /// What is changed, in words after "with".
    pub change: Change,
    /// Largest N then; null where a resource is infeasible or all are unbounded.
    pub fits: Option<u64>,
    /// What runs out first then.
    pub binds: Vec<String>,
}

impl Moved {
    /// What a change moves.
    fn by(change: Change, lab: &Lab, host: &Host) -> Moved {
        let (lab, host) = change.made(lab, host);
        let model = HostModel::new(&lab, &host);
        let found = lowest(&model, &Hint::plain(&model));
        Moved {
            fits: found.largest.bound(),
            binds: found.binds.iter().map(|one| one.name(&model)).collect(),
            change,
        }
    }
}

/// Why the first binding resource of a host runs out; none where nothing does.
pub(super) fn why(counted: &Counted) -> Option<Why> {
    let first = *counted.binds.first()?;
    let model = &counted.model;
    let n = counted.fits.unwrap_or(0);
    let next = model.composition.counts(n + 1);
    let at_next = first
        .constraints(model, &next)
        .map(|constraints| constraints.worst().1.at_risk())
        .filter(|demand| demand.is_finite() && counted.fits.is_some());
    let mut changes: Vec<Moved> = changes(model.lab, model.host, first)
        .into_iter()
        .map(|change| Moved::by(change, model.lab, model.host))
        .collect();
    changes.sort_by_key(|moved| std::cmp::Reverse(moved.fits));
    Some(Why {
        resource: first.name(model),
        at_next,
        shares: shares(model, first, &model.composition.counts(n)),
        changes,
    })
}

/// What would be gone of the mean demand without each profile, as a share of all of it.
fn shares(model: &HostModel, resource: Resource, counts: &[u64]) -> Vec<Share> {
    let period = resource.constraints(model, counts).map(|one| one.worst().0);
    let model = model.in_period(period.unwrap_or(0));
    let mean = |counts: &[u64]| Some(resource.constraint(model, counts)?.mean());
    let Some(all) = mean(counts).filter(|all| *all > 0.0 && all.is_finite()) else {
        return Vec::new();
    };
    let mut shares: Vec<Share> = model
        .lab
        .guests
        .iter()
        .enumerate()
        .filter(|(profile, _)| counts[*profile] > 0)
        .filter_map(|(profile, guest)| {
            let mut without = counts.to_vec();
            without[profile] = 0;
            let share = 1.0 - mean(&without)? / all;
            let mut fewer = counts.to_vec();
            fewer[profile] -= 1;
            let frees = all - mean(&fewer)?;
            share.is_finite().then(|| Share {
                guest: guest.name.clone(),
                share,
                frees,
            })
        })
        .collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share));
    shares
}
