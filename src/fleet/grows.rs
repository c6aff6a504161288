//! When a fleet is full if guests keep coming.

use std::collections::BTreeMap;

use super::answer::{FleetFull, Fullest};
use super::bounds::Bound;
use super::cluster::{Cluster, Counts};
use super::exhaustive::Placement;
use super::fewest::{CHECKS_OF_A_SET, judge};
use super::hosts::{Bounds, Hosts, with_restarted};
use super::reason::{loaded, reason};
use crate::lab::{Host, Lab};
use crate::model::YEAR;
use crate::model::growth::{MONTH, come};
use crate::sizing::named::by_name;

/// How far ahead it is looked `[s]`.
const FARTHEST: f64 = 20.0 * YEAR;
/// A moment this near is found `[s]`.
const NEAR: f64 = 60.0;
/// About so many moments are looked at, each with its part of the checks.
const MOMENTS: u64 = 16;

/// Guests that come to some hosts, any `spare` of which may fail.
pub(super) struct Coming<'a> {
    pub lab: &'a Lab,
    pub hosts: &'a [&'a Host],
    pub spare: usize,
    /// Guests of each profile that are there already, and where.
    pub start: &'a [u64],
    pub placed: Option<&'a Counts>,
    pub bounds: Option<Bounds<'a>>,
}

impl Coming<'_> {
    /// When they find no place; none where none come, or the search was ended.
    ///
    /// All guests are placed anew at each moment. Disks hold what they will have grown by then. Assumption: what has been
    /// written to a disk until then is left out, since guests move.
    pub fn full(self) -> Option<FleetFull> {
        if self.lab.guests.iter().all(|guest| guest.grows <= 0.0) {
            return None;
        }
        let Some(mut inside) = self.placed.cloned() else {
            return Some(self.at(0.0, None));
        };
        let mut last = FARTHEST;
        if let Some(counts) = self.places(FARTHEST)? {
            return Some(FleetFull {
                months: None,
                ..self.at(FARTHEST, Some(counts))
            });
        }
        let mut first = 0.0;
        while last - first > NEAR {
            let middle = 0.5 * (first + last);
            match self.places(middle)? {
                Some(counts) => (first, inside) = (middle, counts),
                None => last = middle,
            }
        }
        Some(self.at(last, Some(inside)))
    }

    /// Guests of each profile after a time.
    fn counts(&self, time: f64) -> Vec<u64> {
        let guests = self.lab.guests.iter().zip(self.start);
        let counts = guests.map(|(guest, start)| start + come(guest.grows, time));
        counts.collect()
    }

    /// The lab after a time, each guest twice.
    fn lab_at(&self, time: f64) -> Lab {
        let mut later = with_restarted(self.lab);
        later.policy.disk_horizon += time;
        later
    }

    /// A placement of the guests that are there after a time, if one is found; nothing where the search was ended.
    fn places(&self, time: f64) -> Option<Option<Counts>> {
        let lab = self.lab_at(time);
        let mut cluster = Hosts::new(&lab, self.hosts);
        if let Some(bounds) = self.bounds {
            let checks = bounds.checks / MOMENTS;
            cluster = cluster.within(&Bounds { checks, ..bounds });
        }
        let (guests, all) = (self.counts(time), (0..self.hosts.len()).collect::<Vec<_>>());
        let bound = Bound::new(&cluster, &all, &guests);
        let mut checks = CHECKS_OF_A_SET;
        let judged = judge(&cluster, &bound, &guests, &all, self.spare, &mut checks);
        match judged {
            Placement::Found(counts) => Some(Some(counts)),
            _ if cluster.exhausted() => None,
            Placement::Impossible | Placement::Unknown => Some(None),
        }
    }

    /// What there is at a moment, beside the guests that were placed until then.
    fn at(&self, time: f64, placed: Option<Counts>) -> FleetFull {
        let lab = self.lab_at(time);
        let cluster = Hosts::new(&lab, self.hosts);
        let guests = self.counts(time);
        let mut reasons = BTreeMap::new();
        let mut fullest: Option<Fullest> = None;
        if let Some(placed) = &placed {
            for (profile, guest) in self.lab.guests.iter().enumerate() {
                let there: u64 = placed.iter().map(|own| own[profile]).sum();
                if guests[profile] > there {
                    let why = reason(&cluster, placed, profile, self.spare);
                    reasons.insert(guest.name.clone(), why);
                }
            }
            for (place, own) in placed.iter().enumerate() {
                for one in loaded(&cluster, place, own) {
                    if fullest.as_ref().is_none_or(|most| one.load > most.load) {
                        fullest = Some(Fullest {
                            host: self.hosts[place].name.clone(),
                            resource: one.named,
                            load: one.load,
                            period: one.period,
                        });
                    }
                }
            }
        }
        FleetFull {
            months: Some(time / MONTH),
            guests: by_name(self.lab, &guests),
            reasons,
            fullest,
        }
    }
}
