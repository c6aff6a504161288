//! What is asked of the readings.

use super::readings::Reading;
use crate::lab::{Guest, Host, Kind, Lab};
use crate::model::footprint::Age;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The lab.
    pub lab: &'a Lab,
    /// Place of the host in it.
    pub host: usize,
    /// Place of the guest in it.
    pub guest: usize,
    /// Whether the guests that were read had been busy.
    pub age: Age,
    /// The readings.
    pub readings: &'a [Reading],
    /// How many of them, the last ones, are left out of the fit.
    pub held_out: usize,
}

impl<'a> Question<'a> {
    /// The host that was read.
    pub fn host(&self) -> &'a Host {
        &self.lab.hosts[self.host]
    }

    /// The guest that was read.
    pub fn guest(&self) -> &'a Guest {
        &self.lab.guests[self.guest]
    }

    /// How many readings are fitted, the first ones.
    pub fn fitted(&self) -> usize {
        self.readings.len().saturating_sub(self.held_out)
    }

    /// Counts of all profiles with `n` guests of the one that was read and nothing else.
    pub fn counts(&self, n: u64) -> Vec<u64> {
        counts(self.lab, self.guest, n)
    }

    /// Counts of all profiles as they ran when a reading was taken.
    pub fn counts_at(&self, reading: &Reading) -> Vec<u64> {
        let mut counts = self.counts(reading.guests);
        for (count, beside) in counts.iter_mut().zip(&reading.beside) {
            *count += beside;
        }
        counts
    }

    /// Whether guests of other kinds are counted in the readings.
    pub fn counts_others(&self) -> bool {
        let mut beside = self.readings.iter().flat_map(|reading| &reading.beside);
        beside.any(|count| *count > 0)
    }

    /// Whether the guests keep nothing of a busy time.
    pub fn is_fresh(&self) -> bool {
        self.age == Age::Fresh || self.guest().busy.most() == 0.0
    }
}

/// Counts of all profiles with `n` guests of one and nothing else.
pub fn counts(lab: &Lab, profile: usize, n: u64) -> Vec<u64> {
    let mut counts = vec![0; lab.guests.len()];
    counts[profile] = n;
    counts
}

/// Whether readings of the host's memory determine anything of a guest.
pub fn can_be_calibrated(guest: &Guest) -> bool {
    guest.kind == Kind::Machine && !guest.huge_pages && !guest.pinned
}
