//! When guests of a kind are busy, and what they use then.

use super::builder::ProfileBuilder;
use super::estimates::{Method, Needs};
use super::lines::Moment;
use super::watch::GuestKind;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;
use crate::model::DAY;

/// Shortest busy spell that would have been seen, in steps: shorter ones are joined to what is around them.
const SHORTEST_SPELL: f64 = 2.0;
/// The two states of a guest: whether it is busy.
const STATES: [bool; 2] = [false, true];

/// Share of the time that guests of a kind are busy.
pub(super) fn busy_share(kind: &GuestKind) -> Option<Interval> {
    kind.over_time(|step, _| Some(if step.is_busy { step.seconds } else { 0.0 }))
}

impl ProfileBuilder<'_> {
    /// When guests are busy, and their loads.
    pub fn time(&mut self) {
        let kind = self.kind;
        let loads = ["idle_load", "busy_load"];
        if kind.steps().all(|step| step.rate.is_none()) {
            let keys = ["busy"].into_iter().chain(loads);
            return keys.for_each(|key| self.needs(key, Needs::Dispatches));
        }
        self.busy();
        for (key, state) in loads.into_iter().zip(STATES) {
            let load = kind.over_time(|step, _| {
                let load = step.load.filter(|_| step.is_busy == state)?;
                Some(load * step.seconds)
            });
            let load = load.map(|found| found.map(|load| load.min(1.0)));
            self.in_state(key, state, load, Needs::Spell);
        }
    }

    /// What guests use while they are busy or idle; kinds that are never busy have none of the first.
    fn in_state(&mut self, key: &'static str, busy: bool, found: Option<Interval>, needs: Needs) {
        if found.is_some() || !busy || self.kind.spells() > 0 {
            self.read(key, found, Method::Mean(self.kind.guests.len()), needs);
        }
    }

    /// Share of the time that guests are busy.
    fn busy(&mut self) {
        let kind = self.kind;
        let guests = kind.guests.len();
        let Some(mut found) = busy_share(kind) else {
            return;
        };
        let how = match kind.spells() {
            0 => {
                // Had spells come so often, one would have been seen nineteen times of twenty.
                found.high = 3.0 * SHORTEST_SPELL / kind.steps().count().max(1) as f64;
                Method::NeverBusy(guests)
            }
            spells => Method::Time(guests, spells),
        };
        found.high = found.high.min(1.0);
        self.put("busy", found, Provenance::Readings, how);
    }

    /// What guests write, and send and receive.
    pub fn traffic(&mut self) {
        let kind = self.kind;
        let written = kind.over_time(|step, run| step.moved(run, |moment| moment.written));
        let needs = written.map_or(Needs::Owner, |_| Needs::Day);
        let written = written.filter(|_| kind.seconds() >= DAY);
        let how = Method::Mean(kind.guests.len());
        self.read("written", written, how, needs);
        let ways: [fn(&Moment) -> Option<f64>; 2] =
            [|moment| moment.net[0], |moment| moment.net[1]];
        for (key, state) in ["net_idle", "net_busy"].into_iter().zip(STATES) {
            let way = |way| {
                kind.over_time(|step, run| step.moved(run, way).filter(|_| step.is_busy == state))
            };
            let ways = ways.into_iter().filter_map(way);
            let busier = ways.max_by(|one, other| one.value.total_cmp(&other.value));
            let bits = busier.map(|found| found.map(|bytes| bytes * 8.0));
            self.in_state(key, state, bits, Needs::Interface);
        }
    }
}
