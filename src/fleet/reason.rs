//! How full hosts are, and why a guest finds no place.

use super::answer::Reason;
use super::cluster::Counts;
use super::hosts::Hosts;
use crate::sizing::named::Named;

/// What a resource of a host is loaded with.
pub(super) struct Loaded {
    pub named: Named,
    /// Share of its limit, in the period in which it is highest.
    pub load: f64,
    /// That period, where the lab has any.
    pub period: Option<String>,
}

/// What the resources of a host are loaded with that holds these guests.
pub(super) fn loaded(cluster: &Hosts, host: usize, own: &[u64]) -> Vec<Loaded> {
    let (model, counts) = (cluster.model(host), cluster.counts(own, &[]));
    let all = Named::all(model, cluster.considered(host)).into_iter();
    let loaded = all.filter_map(|named| {
        let constraints = named.resource.constraints(model, &counts)?;
        let (period, constraint) = constraints.worst();
        let period = model.in_period(period).period_name();
        Some(Loaded {
            load: constraint.load(constraint.at_risk()),
            period: period.map(str::to_owned),
            named,
        })
    });
    loaded.collect()
}

/// Why a guest is left over.
pub(super) fn reason(cluster: &Hosts, counts: &Counts, profile: usize, spare: usize) -> Reason {
    let mut limits: Vec<Named> = Vec::new();
    for (host, own) in counts.iter().enumerate() {
        let mut more = own.clone();
        more[profile] += 1;
        let model = cluster.model(host);
        let passed = model.passed(&cluster.counts(&more, &[]));
        let Some(first) = passed.first() else {
            return Reason::NotAfterFailures(spare);
        };
        for named in Named::all(model, &[*first]) {
            if !limits.iter().any(|seen| seen.name == named.name) {
                limits.push(named);
            }
        }
    }
    Reason::PassesLimits(limits)
}
