//! When guests of a kind are busy, and what they use then.

use super::builder::ProfileBuilder;
use super::estimates::{Method, Needs};
use super::interval::{Portion, ratio};
use super::lines::Moment;
use super::spells::Step;
use super::watch::{ClassedGuest, GuestKind};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;
use crate::model::DAY;

/// Shortest busy spell that would have been seen, in steps: shorter ones are joined to what is around them.
const SHORTEST_SPELL: f64 = 2.0;

/// Share of the time that guests of a kind are busy.
pub(super) fn busy_share(kind: &GuestKind) -> Option<Interval> {
    let busy = kind.cells(|_, step, _| {
        Some(Portion {
            part: if step.is_busy { step.seconds } else { 0.0 },
            whole: step.seconds,
        })
    });
    ratio(&busy)
}

impl ProfileBuilder<'_> {
    /// When guests are busy, and their loads.
    pub fn time(&mut self) {
        let kind = self.kind;
        let guests = kind.guests.len();
        let has_rates = kind
            .guests
            .iter()
            .flat_map(|guest| guest.steps.iter().flatten())
            .any(|step| step.rate.is_some());
        if !has_rates {
            for key in ["busy", "idle_load", "busy_load"] {
                self.needs(key, Needs::Dispatches);
            }
            return;
        }
        self.busy();
        for (key, wanted) in [("idle_load", false), ("busy_load", true)] {
            let load = |_: &ClassedGuest, step: &Step, _: &[Moment]| {
                let load = step.load.filter(|_| step.is_busy == wanted)?;
                Some(Portion {
                    part: load * step.seconds,
                    whole: step.seconds,
                })
            };
            match ratio(&kind.cells(load)) {
                Some(found) => {
                    let found = found.map(|load| load.min(1.0));
                    self.put(key, found, Provenance::Readings, Method::Mean(guests));
                }
                None if wanted && kind.spells() == 0 => {}
                None => self.needs(key, Needs::Spell),
            }
        }
    }

    /// Share of the time that guests are busy.
    fn busy(&mut self) {
        let kind = self.kind;
        let (guests, spells) = (kind.guests.len(), kind.spells());
        if let Some(found) = busy_share(kind) {
            let steps: usize = kind
                .guests
                .iter()
                .flat_map(|guest| &guest.steps)
                .map(Vec::len)
                .sum();
            let (high, how) = match spells {
                // Had spells come so often, one would have been seen nineteen times of twenty.
                0 => (
                    3.0 * SHORTEST_SPELL / steps.max(1) as f64,
                    Method::NeverBusy(guests),
                ),
                _ => (found.high, Method::Time(guests, spells)),
            };
            let found = Interval {
                high: high.min(1.0),
                ..found
            };
            self.put("busy", found, Provenance::Readings, how);
        }
    }

    /// What guests write, and send and receive.
    pub fn traffic(&mut self) {
        let kind = self.kind;
        let guests = kind.guests.len();
        let moved = |step: &Step, run: &[Moment], pick: fn(&Moment) -> Option<f64>| {
            Some(Portion {
                part: step.moved(run, pick)?,
                whole: step.seconds,
            })
        };
        let written = ratio(&kind.cells(|_, step, run| moved(step, run, |moment| moment.written)));
        match written {
            Some(found) if kind.seconds() >= DAY => {
                self.put("written", found, Provenance::Readings, Method::Mean(guests));
            }
            Some(_) => self.needs("written", Needs::Day),
            None => self.needs("written", Needs::Owner),
        }
        for (key, wanted) in [("net_idle", false), ("net_busy", true)] {
            let way = |pick: fn(&Moment) -> Option<f64>| {
                let cells = kind.cells(|_, step, run| {
                    moved(step, run, pick).filter(|_| step.is_busy == wanted)
                });
                ratio(&cells)
            };
            let ways = [way(|moment| moment.net[0]), way(|moment| moment.net[1])];
            let busier = ways
                .into_iter()
                .flatten()
                .max_by(|one, other| one.value.total_cmp(&other.value));
            match busier {
                Some(found) => {
                    let bits = found.map(|bytes| bytes * 8.0);
                    self.put(key, bits, Provenance::Readings, Method::Mean(guests));
                }
                None if wanted && kind.spells() == 0 => {}
                None => self.needs(key, Needs::Interface),
            }
        }
    }
}
