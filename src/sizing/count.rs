//! How many a host holds, counted in every way.

use super::host::HostModel;
use super::memory::MemoryCount;
use super::resource::{Constraint, Constraints, Resource};
use super::search::{Largest, largest};
use crate::lab::{Host, Lab};
use crate::model::within;

/// The largest N of a resource by itself.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    /// Which resource.
    pub resource: Resource,
    /// Its largest N.
    pub largest: Largest,
}

/// The largest N within a constraint: searched from `guess` by the approximate test first, then settled by the exact one.
pub(super) fn largest_within(
    model: &HostModel,
    guess: u64,
    constraint: impl Fn(&[u64]) -> Option<Constraints>,
) -> Largest {
    let at = |n| constraint(&model.composition.counts(n));
    let near = largest(guess, |n| at(n).is_none_or(|one| one.nearly_within()));
    // The approximate test is rather too strict than too lax, and one guest too many to begin with costs no further test.
    largest(near.number() + 1, |n| at(n).is_none_or(|one| one.within()))
}

/// The largest N of every resource that is considered, in binding order: infeasible ones first, then by N, unbounded last.
pub fn find_all(model: &HostModel) -> Vec<Found> {
    let considered = model.considered().into_iter();
    let mut found: Vec<Found> = considered
        .map(|resource| Found {
            resource,
            largest: largest_within(model, 0, |counts| resource.constraints(model, counts)),
        })
        .collect();
    found.sort_by_key(|one| one.largest);
    found
}

/// The largest N for one of memory's counts.
pub fn memory_count(model: &HostModel, count: MemoryCount) -> Largest {
    largest_within(model, 0, |counts| memory_constraints(model, counts, count))
}

/// What one of memory's counts is judged by.
pub fn memory_constraints(
    model: &HostModel,
    counts: &[u64],
    count: MemoryCount,
) -> Option<Constraints> {
    Constraints::of(model, |model| {
        let (demand, limit) = model.memory_demand(counts, count);
        let risk = model.lab.policy.memory_risk;
        Some(Constraint::random(demand, limit, risk))
    })
}

/// First N whose mean demand passes the cliff while the file-system cache holds `cache` bytes.
pub fn breaks_at(model: &HostModel, cache: f64) -> Option<u64> {
    let holds = |n: u64| {
        let counts = model.composition.counts(n);
        model.periods().all(|model| {
            let (mean, cliff) = model.cliff(&counts, cache);
            within(mean, cliff)
        })
    };
    match largest(0, holds) {
        Largest::Bound(n) => Some(n + 1),
        Largest::Unbounded => None,
        Largest::Infeasible => Some(0),
    }
}

/// The plain sum people know: the largest N whose configured memory fits beside the host's own.
pub fn plain_sum(model: &HostModel) -> Largest {
    let fits = |n: u64| {
        let promised = model.promised(&model.composition.counts(n));
        within(promised, model.beside_base())
    };
    largest(0, fits)
}

/// A host and how many it holds, counted in every way.
pub(super) struct Counted<'a> {
    pub model: HostModel<'a>,
    pub found: Vec<Found>,
    pub fits: Option<u64>,
    /// Resources that set `fits`, or the infeasible ones.
    pub binds: Vec<Resource>,
    pub breaks_at: Option<u64>,
    pub fresh: Largest,
}

impl<'a> Counted<'a> {
    pub fn of(lab: &'a Lab, host: &'a Host) -> Counted<'a> {
        let model = HostModel::new(lab, host);
        let found = find_all(&model);
        let first = found.first().map(|one| one.largest);
        let binds = match first {
            None | Some(Largest::Unbounded) => Vec::new(),
            Some(lowest) => found
                .iter()
                .filter(|one| one.largest == lowest)
                .map(|one| one.resource)
                .collect(),
        };
        Counted {
            fits: first.and_then(Largest::bound),
            binds,
            breaks_at: breaks_at(&model, host.memory.file_cache_floor),
            fresh: memory_count(&model, MemoryCount::Fresh),
            found,
            model,
        }
    }
}
