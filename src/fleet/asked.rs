//! What is asked of several hosts, how full they are, and why a guest finds no place.

use std::collections::BTreeMap;

use super::answer::Reason;
use super::cluster::{Counts, together};
use super::hosts::Hosts;
use crate::lab::{Host, Lab};
use crate::sizing::named::Named;
use crate::sizing::resource::Loaded;

/// What is asked of several hosts.
pub(super) struct Asked<'a> {
    pub lab: &'a Lab,
    pub hosts: &'a [&'a Host],
    pub cluster: &'a Hosts<'a>,
    /// All hosts.
    pub all: &'a [usize],
    /// How many of them may fail.
    pub spare: usize,
}

/// What the resources of a host are loaded with that holds these guests.
pub(super) fn loaded(cluster: &Hosts, host: usize, own: &[u64]) -> Vec<(Named, Loaded)> {
    let (model, counts) = (cluster.model(host), cluster.counts(own, &[]));
    let all = Named::all(model, cluster.considered(host)).into_iter();
    let loaded = all.filter_map(|named| {
        let loaded = named.resource.loaded(model, &counts)?;
        Some((named, loaded))
    });
    loaded.collect()
}

impl Asked<'_> {
    /// How many of these guests are not placed, and why, by guest, on hosts as they are in `cluster`.
    pub fn left(
        &self,
        cluster: &Hosts,
        guests: &[u64],
        counts: &Counts,
    ) -> (Vec<u64>, BTreeMap<String, Reason>) {
        let placed = together(cluster, counts);
        let left = guests
            .iter()
            .zip(placed)
            .map(|(all, there)| all.saturating_sub(there));
        let left: Vec<u64> = left.collect();
        let unplaced = self.lab.guests.iter().enumerate();
        let unplaced = unplaced.filter(|(profile, _)| left[*profile] > 0);
        let reasons = unplaced.map(|(profile, guest)| {
            let reason = self.reason(cluster, counts, profile);
            (guest.name.clone(), reason)
        });
        let reasons = reasons.collect();
        (left, reasons)
    }

    /// Why a guest is left over.
    fn reason(&self, cluster: &Hosts, counts: &Counts, profile: usize) -> Reason {
        let mut limits: Vec<Named> = Vec::new();
        for (host, own) in counts.iter().enumerate() {
            let mut more = own.clone();
            more[profile] += 1;
            let model = cluster.model(host);
            let passed = model.passed(&cluster.counts(&more, &[]));
            let Some(first) = passed.first() else {
                return Reason::NotAfterFailures(self.spare);
            };
            let named = Named::of(model, *first);
            if !limits.iter().any(|seen| seen.name == named.name) {
                limits.push(named);
            }
        }
        Reason::PassesLimits(limits)
    }
}
