//! The host's largest N and what sets it, without the largest N of every other resource.
//!
//! `fit` reports how many each resource would hold by itself. Where thousands of labs are searched only the smallest of
//! these counts is wanted: a resource that is within its limit one guest past the smallest count found so far is done.

use super::count::{find_all, largest_within};
use super::host::HostModel;
use super::resource::Resource;
use super::search::{Largest, MOST_GUESTS};

/// What a search may start from. It changes how long a search takes, never what it finds.
#[derive(Debug, Clone)]
pub struct Hint {
    /// The resources that are considered on the host, those that probably bind first.
    pub order: Vec<Resource>,
    /// The probable N.
    pub guess: u64,
    /// What a guest adds to the load of the first resource, about; 0 where that is not known.
    each: f64,
}

impl Hint {
    /// The hint that the full answer of a host gives for hosts much like it.
    pub fn of(model: &HostModel) -> Hint {
        let found = find_all(model);
        let guess = found.first().map_or(0, |one| one.largest.number());
        let each = found.first().map_or(0.0, |one| {
            let [none, all] = [0, guess].map(|n| near_load(model, one.resource, n));
            (all - none) / guess.max(1) as f64
        });
        Hint {
            order: found.iter().map(|one| one.resource).collect(),
            guess,
            each,
        }
    }

    /// A hint that knows nothing but which resources are considered; for a single search.
    pub fn plain(model: &HostModel) -> Hint {
        Hint {
            order: model.considered(),
            guess: 0,
            each: 0.0,
        }
    }

    /// The N at which a resource of a host is probably full, where its load at the guess says so.
    fn start(&self, model: &HostModel, resource: Resource) -> u64 {
        if self.each <= 0.0 {
            return self.guess;
        }
        let load = near_load(model, resource, self.guess);
        let more = (1.0 - load) / (load * self.each);
        (self.guess as f64 + more.round()).max(0.0) as u64
    }
}

/// About the load of a resource with N guests; 0 where it has none.
fn near_load(model: &HostModel, resource: Resource, n: u64) -> f64 {
    let constraints = resource.constraints(model, &model.composition.counts(n));
    constraints.map_or(0.0, |one| one.near_load())
}

/// The largest N of a host, and the resources that set it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lowest {
    /// The largest N within every limit.
    pub largest: Largest,
    /// Which resources set it, infeasible ones if it is infeasible; none if it is unbounded.
    pub binds: Vec<Resource>,
}

/// The largest N within every limit, the same as the smallest of [`find_all`]'s.
///
/// The hint must be of a host with the same resources considered.
pub fn lowest(model: &HostModel, hint: &Hint) -> Lowest {
    let mut found = Lowest {
        largest: Largest::Unbounded,
        binds: Vec::new(),
    };
    // The guests of one N more than was found, at which the resources that are left are tried.
    let mut one_more = Vec::new();
    for &resource in &hint.order {
        let constraint = |counts: &[u64]| resource.constraints(model, counts);
        let holds = |counts: &[u64]| constraint(counts).is_none_or(|one| one.within());
        let counts = |n| model.composition.counts(n);
        let search = |guess| Lowest {
            largest: largest_within(model, guess, constraint),
            binds: vec![resource],
        };
        let before = found.largest;
        match before {
            Largest::Infeasible => {
                if !holds(&counts(0)) {
                    found.binds.push(resource);
                }
            }
            // The approximate test costs about as much as two exact ones, so one exact test comes first.
            Largest::Bound(_) if holds(&one_more) => {}
            Largest::Bound(n) if holds(&counts(n)) => found.binds.push(resource),
            Largest::Bound(n) => found = search(n.saturating_sub(1)),
            Largest::Unbounded => {
                let own = search(hint.start(model, resource));
                if own.largest != Largest::Unbounded {
                    found = own;
                }
            }
        }
        if let Largest::Bound(n) = found.largest
            && found.largest != before
        {
            one_more = counts((n + 1).min(MOST_GUESTS));
        }
    }
    found
}
