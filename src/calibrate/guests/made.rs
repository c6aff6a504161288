//! Estimates of a kind in the making, and what is read as it is.

use super::estimates::{Estimated, Estimates, How, Needs, Untold};
use super::interval::median;
use super::watch::Kind;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;
use crate::lab::Guest;

/// Estimates in the making.
pub(super) struct Made<'a> {
    pub kind: &'a Kind<'a>,
    pub lab: &'a Guest,
    pub found: Estimates,
    pub untold: Vec<Untold>,
}

impl Made<'_> {
    /// Puts a number in.
    pub fn put(&mut self, key: &'static str, found: Interval, from: Provenance, how: How) {
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
            Some(found) => self.put(key, found, Provenance::Readings, How::Median(values.len())),
            None => self.untold.push(Untold { key, needs }),
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
                let exact = Interval {
                    value,
                    low: value,
                    high: value,
                };
                self.put(key, exact, Provenance::Readings, How::Read(values.len()));
            } else {
                self.needs(key, Needs::Owner);
            }
        }
    }

    /// Says what would tell a key.
    pub fn needs(&mut self, key: &'static str, needs: Needs) {
        self.untold.push(Untold { key, needs });
    }
}
