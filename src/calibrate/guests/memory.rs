//! What guests of a kind hold: idle, at most, and after a spell.

use super::builder::ProfileBuilder;
use super::estimates::{Method, Needs};
use super::interval::{mean, median};
use super::lines::Moment;
use super::watch::ClassedGuest;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;

/// With at least so many guests the median says what one holds; with fewer the smallest does, because a merged page is
/// charged to one of its holders.
///
/// # Source
/// Measured for this project: within 0.5 % with 6 guests, 11 % too high with 3.
const ENOUGH: usize = 4;
/// How much too high the smallest of a few may be (measured for this project, with 3).
const TOO_HIGH: f64 = 1.15;
impl ProfileBuilder<'_> {
    /// What guests hold.
    pub fn memory(&mut self) {
        let kind = self.kind;
        let never_busy = kind.spells() == 0;
        self.held();
        self.median(
            "overhead",
            &kind.each(|guest| guest.settled(|moment| moment.process)),
            Needs::Owner,
        );
        let mut fresh = kind.each(ClassedGuest::fresh);
        if fresh.is_empty() && never_busy {
            // A guest that is never busy settles at what it touched.
            fresh = kind.each(|guest| guest.settled(Moment::touched));
        }
        let readable = !kind.each(|guest| guest.settled(Moment::touched)).is_empty();
        if readable || !self.found.contains_key("unique") {
            let needs = if readable { Needs::Start } else { Needs::Owner };
            self.median("touched", &fresh, needs);
        } else {
            self.by_rest(never_busy);
        }
        if never_busy {
            return;
        }
        let needs = if readable { Needs::Spell } else { Needs::Owner };
        if readable {
            self.median("touched_busy", &kind.each(ClassedGuest::highest), needs);
        }
        self.keeps(needs);
    }

    /// What one settled guest holds, its process with it.
    fn held(&mut self) {
        let kind = self.kind;
        let held = kind.each(|guest| guest.settled(|moment| moment.held));
        if let Some(found) = median(&held) {
            let smallest = held.iter().copied().fold(f64::INFINITY, f64::min);
            let few = Interval {
                value: smallest,
                low: smallest / TOO_HIGH,
                high: smallest,
            };
            let (found, how) = match held.len() {
                ENOUGH.. => (found, Method::Median(held.len())),
                few_guests => (few, Method::Smallest(few_guests)),
            };
            self.put("unique", found, Provenance::Readings, how);
        }
    }

    /// What guests keep of what they touched in a spell.
    fn keeps(&mut self, needs: Needs) {
        let kind = self.kind;
        let keeps: Vec<Vec<f64>> = kind.guests.iter().map(ClassedGuest::keeps).collect();
        let count = keeps.iter().map(Vec::len).sum();
        // Spells of one guest are alike, so guests count once each; of a single guest its spells do.
        let seen: Vec<&Vec<f64>> = keeps.iter().filter(|spells| !spells.is_empty()).collect();
        let means: Vec<f64> = match seen.as_slice() {
            [alone] => (*alone).clone(),
            many => many
                .iter()
                .filter_map(|spells| mean(spells))
                .map(|one| one.value)
                .collect(),
        };
        match mean(&means) {
            Some(found) => {
                let (low, high) = if count == 1 {
                    (0.0, 1.0)
                } else {
                    (found.low, found.high.min(1.0))
                };
                let found = Interval { low, high, ..found };
                self.put("keeps", found, Provenance::Readings, Method::Spells(count));
            }
            None => self.needs("keeps", needs),
        }
    }

    /// Where only what a guest holds in all can be read: `held = o + ti − c − s − common_busy` with the rest from the lab.
    fn by_rest(&mut self, never_busy: bool) {
        let (Some(unique), lab) = (self.found.get("unique").copied(), self.lab) else {
            return;
        };
        let shared = lab.common + lab.repeats;
        let touched = |held: f64| {
            let idle = held - lab.overhead + shared;
            if never_busy {
                return idle;
            }
            let kept = idle + lab.common_busy - lab.touched;
            lab.touched + kept / lab.keeps.max(0.01)
        };
        let [value, low, high] =
            [unique.value, unique.low, unique.high].map(|held| touched(held).max(shared));
        let key = if never_busy {
            "touched"
        } else {
            "touched_busy"
        };
        let guests = self.kind.guests.len();
        self.put(
            key,
            Interval { value, low, high },
            Provenance::Both,
            Method::Rest(guests),
        );
        self.needs("overhead", Needs::Owner);
    }
}
