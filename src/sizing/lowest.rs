//! The host's largest N and what sets it, without the largest N of every other resource.
//!
//! `fit` reports how many each resource would hold by itself. Where thousands of labs are searched only the smallest of
//! these counts is wanted: a resource that is within its limit one guest past the smallest count found so far is done.

use super::count::{Found, find_all};
use super::host::HostModel;
use super::resource::Resource;
use super::search::{Largest, MOST_GUESTS, largest};

/// What a search may start from: the resources in the order in which they probably bind, and the probable N.
///
/// It changes how long a search takes, never what it finds.
#[derive(Debug, Clone)]
pub struct Hint {
    order: Vec<Resource>,
    guess: u64,
}

impl Hint {
    /// The hint that the full answer of a host gives for hosts much like it.
    #[must_use]
    pub fn of(model: &HostModel) -> Hint {
        Hint::from_found(&find_all(model))
    }

    /// A hint that knows nothing but which resources are considered; for a single search.
    #[must_use]
    pub fn plain(model: &HostModel) -> Hint {
        Hint {
            order: model.considered(),
            guess: 0,
        }
    }

    /// The hint of an answer in binding order.
    #[must_use]
    pub fn from_found(found: &[Found]) -> Hint {
        let guess = match found.first().map(|one| one.largest) {
            Some(Largest::Bound(n)) => n,
            Some(Largest::Unbounded) => MOST_GUESTS,
            Some(Largest::Infeasible) | None => 0,
        };
        Hint {
            order: found.iter().map(|one| one.resource).collect(),
            guess,
        }
    }

    /// The resources that are considered on the host, those that probably bind first.
    #[must_use]
    pub fn order(&self) -> &[Resource] {
        &self.order
    }
}

/// The largest N of a host, and the resources that set it (as places in the hint's order).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lowest {
    /// The largest N within every limit.
    pub largest: Largest,
    /// Which resources set it, broken ones if it is broken; none if it is unbounded.
    pub binds: Vec<usize>,
}

impl Lowest {
    /// The resources that set it; the hint is the one that was searched with.
    #[must_use]
    pub fn binding(&self, hint: &Hint) -> Vec<Resource> {
        self.binds.iter().map(|place| hint.order[*place]).collect()
    }
}

/// The largest N within every limit, the same as the smallest of [`find_all`]'s.
///
/// The hint must be of a host with the same resources considered.
#[must_use]
pub fn lowest(model: &HostModel, hint: &Hint) -> Lowest {
    let mut found = Lowest {
        largest: Largest::Unbounded,
        binds: Vec::new(),
    };
    for (place, resource) in hint.order.iter().enumerate() {
        let holds = |n| holds(model, *resource, n);
        match found.largest {
            Largest::Infeasible => {
                if !holds(0) {
                    found.binds.push(place);
                }
            }
            // The guide costs about as much as two exact looks, so one look comes first.
            Largest::Bound(n) if holds((n + 1).min(MOST_GUESTS)) => {}
            Largest::Bound(n) if holds(n) => found.binds.push(place),
            Largest::Bound(n) => found = search(model, *resource, place, n.saturating_sub(1)),
            Largest::Unbounded => {
                let own = search(model, *resource, place, hint.guess);
                if own.largest != Largest::Unbounded {
                    found = own;
                }
            }
        }
    }
    found
}

/// The largest N of one resource: by the cheap guide first, then settled by the exact law.
fn search(model: &HostModel, resource: Resource, place: usize, guess: u64) -> Lowest {
    let near = largest(guess, |n| {
        constraint_at(model, resource, n).is_none_or(|constraint| constraint.nearly_within())
    });
    let near = match near {
        Largest::Bound(n) => n,
        Largest::Unbounded => MOST_GUESTS,
        Largest::Infeasible => 0,
    };
    Lowest {
        largest: largest(near, |n| holds(model, resource, n)),
        binds: vec![place],
    }
}

fn constraint_at(
    model: &HostModel,
    resource: Resource,
    n: u64,
) -> Option<super::resource::Constraint> {
    resource.constraint(model, &model.composition.counts(n))
}

fn holds(model: &HostModel, resource: Resource, n: u64) -> bool {
    constraint_at(model, resource, n).is_none_or(|constraint| constraint.within())
}
