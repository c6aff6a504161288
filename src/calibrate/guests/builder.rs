//! Collects the estimates of a kind; memory and vCPUs are read as they are.

use super::estimates::{Estimated, Estimates, Method, Needs, NotMeasured};
use super::interval::median;
use super::watch::GuestKind;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;
use crate::lab::Guest;

/// The estimates of a kind, collected key by key.
pub(super) struct ProfileBuilder<'a> {
    pub kind: &'a GuestKind<'a>,
    pub lab: &'a Guest,
    pub found: Estimates,
    pub not_measured: Vec<NotMeasured>,
}

impl ProfileBuilder<'_> {
    /// Puts a number in.
    pub fn put(&mut self, key: &'static str, found: Interval, from: Provenance, how: Method) {
        let Interval { value, low, high } = found;
        self.found.insert(
            key,
            Estimated {
                value,
                low,
                high,
                from,
                how,
            },
        );
    }

    /// The median of what guests show, or what it needs.
    pub fn median(&mut self, key: &'static str, values: &[f64], needs: Needs) {
        match median(values) {
            Some(found) => self.put(
                key,
                found,
                Provenance::Readings,
                Method::Median(values.len()),
            ),
            None => self.needs(key, needs),
        }
    }

    /// Memory and vCPUs, which are read as they are.
    pub fn given(&mut self) {
        let memory = self.kind.each(|guest| guest.watched.memory);
        let vcpus = self
            .kind
            .each(|guest| guest.watched.vcpus.map(|vcpus| vcpus as f64));
        for (key, values) in [("memory", memory), ("vcpus", vcpus)] {
            if let Some(value) = values.iter().copied().reduce(f64::max) {
                let how = Method::Read(values.len());
                self.put(key, Interval::exact(value), Provenance::Readings, how);
            } else {
                self.needs(key, Needs::Owner);
            }
        }
    }

    /// Records what it takes to measure a key.
    pub fn needs(&mut self, key: &'static str, needs: Needs) {
        self.not_measured.push(NotMeasured { key, needs });
    }
}
