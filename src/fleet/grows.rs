//! When a fleet is full if guests keep coming.

use super::answer::{FleetFull, Fullest};
use super::asked::{Asked, loaded};
use super::bounds::Bound;
use super::cluster::{Cluster, Counts};
use super::exhaustive::Placement;
use super::fewest::{CHECKS_OF_A_SET, judge};
use super::hosts::{Bounds, Hosts, with_restarted};
use crate::lab::Lab;
use crate::model::growth::{MONTH, come};
use crate::sizing::growth::FARTHEST;
use crate::sizing::named::by_name;
use crate::sizing::resource::Loaded;

/// A moment this near is found `[s]`.
const NEAR: f64 = 60.0;
/// About so many moments are looked at, each with its part of the checks.
const MOMENTS: u64 = 16;

/// Guests that come to some hosts, any `spare` of which may fail.
pub(super) struct Coming<'a> {
    pub asked: &'a Asked<'a>,
    /// Guests of each profile that are there already.
    pub start: &'a [u64],
}

impl Coming<'_> {
    /// When they find no place beside those that are placed; none where none come, or the search was ended.
    ///
    /// All guests are placed anew at each moment. Disks hold what they will have grown by then. Assumption: what has been
    /// written to a disk until then is left out, since guests move.
    pub fn full(&self, placed: Option<&Counts>) -> Option<FleetFull> {
        if self.asked.lab.guests.iter().all(|guest| guest.grows <= 0.0) {
            return None;
        }
        let Some(mut inside) = placed.cloned() else {
            return Some(self.at(0.0, None));
        };
        let (mut first, mut last) = (0.0, FARTHEST);
        let mut moment = FARTHEST;
        while last - first > NEAR {
            match self.places(moment) {
                Placement::Found(counts) if moment == FARTHEST => {
                    return Some(FleetFull {
                        months: None,
                        ..self.at(FARTHEST, Some(&counts))
                    });
                }
                Placement::Found(counts) => (first, inside) = (moment, counts),
                Placement::Impossible => last = moment,
                Placement::Unknown => return None,
            }
            moment = 0.5 * (first + last);
        }
        Some(self.at(last, Some(&inside)))
    }

    /// Guests of each profile after a time.
    fn counts(&self, time: f64) -> Vec<u64> {
        let guests = self.asked.lab.guests.iter().zip(self.start);
        let counts = guests.map(|(guest, start)| start + come(guest.grows, time));
        counts.collect()
    }

    /// The lab after a time, each guest twice.
    fn lab_at(&self, time: f64) -> Lab {
        let mut later = with_restarted(self.asked.lab);
        later.policy.disk_horizon += time;
        later
    }

    /// A placement of the guests that are there after a time; impossible where none is found, unknown where the search was
    /// ended.
    fn places(&self, time: f64) -> Placement {
        let Asked { all, spare, .. } = *self.asked;
        let (lab, guests) = (self.lab_at(time), self.counts(time));
        let bounds = self.asked.cluster.bounds;
        let cluster = Hosts::new(&lab, self.asked.hosts).within(Bounds {
            checks: bounds.checks / MOMENTS,
            ..bounds
        });
        let bound = Bound::new(&cluster, all, &guests);
        let mut checks = CHECKS_OF_A_SET;
        match judge(&cluster, &bound, &guests, all, spare, &mut checks) {
            Placement::Found(counts) => Placement::Found(counts),
            _ if cluster.exhausted() => Placement::Unknown,
            Placement::Impossible | Placement::Unknown => Placement::Impossible,
        }
    }

    /// What there is at a moment, beside the guests that were placed until then.
    fn at(&self, time: f64, placed: Option<&Counts>) -> FleetFull {
        let lab = self.lab_at(time);
        let cluster = Hosts::new(&lab, self.asked.hosts);
        let guests = self.counts(time);
        let reasons = placed.map(|placed| self.asked.left(&cluster, &guests, placed).1);
        let hosts = placed.into_iter().flatten().enumerate();
        let loads = hosts.flat_map(|(place, own)| {
            let all = loaded(&cluster, place, own).into_iter();
            all.map(move |(resource, Loaded { load, period })| Fullest {
                host: self.asked.hosts[place].name.clone(),
                resource,
                load,
                period,
            })
        });
        FleetFull {
            months: Some(time / MONTH),
            guests: by_name(self.asked.lab, &guests),
            reasons: reasons.unwrap_or_default(),
            fullest: loads.reduce(|most, one| if one.load > most.load { one } else { most }),
        }
    }
}
