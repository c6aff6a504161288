//! Collects the estimates of a kind; memory and vCPUs are read as they are.

use super::estimates::{Estimated, Estimates, Method, Needs, NotMeasured};
use super::interval::median;
use super::watch::{ClassedGuest, GuestKind};
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
        let estimated = Estimated {
            value,
            low,
            high,
            from,
            how,
        };
        self.found.insert(key, estimated);
    }

    /// Records what it takes to measure a key.
    pub fn needs(&mut self, key: &'static str, needs: Needs) {
        self.not_measured.push(NotMeasured { key, needs });
    }

    /// Puts a number in that the lines alone say, or what it needs.
    pub fn read(&mut self, key: &'static str, found: Option<Interval>, how: Method, needs: Needs) {
        match found {
            Some(found) => self.put(key, found, Provenance::Readings, how),
            None => self.needs(key, needs),
        }
    }

    /// The same of what guests show, the median.
    pub fn median(&mut self, key: &'static str, values: &[f64], needs: Needs) {
        self.read(key, median(values), Method::Median(values.len()), needs);
    }

    /// Memory and vCPUs, which are read as they are.
    pub fn given(&mut self) {
        let memory = |guest: &ClassedGuest| guest.watched.memory;
        let vcpus = |guest: &ClassedGuest| Some(guest.watched.vcpus? as f64);
        for (key, values) in [
            ("memory", self.kind.each(memory)),
            ("vcpus", self.kind.each(vcpus)),
        ] {
            let most = values.iter().copied().reduce(f64::max);
            let how = Method::Read(values.len());
            self.read(key, most.map(Interval::exact), how, Needs::Owner);
        }
    }
}
