//! What guests of a kind hold: idle, at most, and after a spell.

use super::builder::ProfileBuilder;
use super::estimates::{Estimated, Method, Needs};
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
        let overhead = kind.each(|guest| guest.settled(|moment| moment.process));
        self.median("overhead", &overhead, Needs::Owner);
        let settled = kind.each(|guest| guest.settled(Moment::touched));
        let readable = !settled.is_empty();
        let if_readable = |needs| if readable { needs } else { Needs::Owner };
        let mut fresh = kind.each(ClassedGuest::fresh);
        if fresh.is_empty() && never_busy {
            // A guest that is never busy settles at what it touched.
            fresh = settled;
        }
        match self.found.get("unique").copied() {
            Some(unique) if !readable => self.by_rest(unique, never_busy),
            _ => self.median("touched", &fresh, if_readable(Needs::Start)),
        }
        if never_busy {
            return;
        }
        let needs = if_readable(Needs::Spell);
        if readable {
            self.median("touched_busy", &kind.each(ClassedGuest::highest), needs);
        }
        self.keeps(needs);
    }

    /// What one settled guest holds, its process with it.
    fn held(&mut self) {
        let held = self.kind.each(|guest| guest.settled(|moment| moment.held));
        let Some(mut found) = median(&held) else {
            return;
        };
        let mut how = Method::Median(held.len());
        if held.len() < ENOUGH {
            let smallest = held.iter().copied().fold(f64::INFINITY, f64::min);
            found = Interval::exact(smallest);
            found.low = smallest / TOO_HIGH;
            how = Method::Smallest(held.len());
        }
        self.put("unique", found, Provenance::Readings, how);
    }

    /// What guests keep of what they touched in a spell.
    fn keeps(&mut self, needs: Needs) {
        let guests = self.kind.guests.iter().map(ClassedGuest::keeps);
        let mut seen: Vec<Vec<f64>> = guests.filter(|spells| !spells.is_empty()).collect();
        let count = seen.iter().map(Vec::len).sum();
        // Spells of one guest are alike, so guests count once each; of a single guest its spells do.
        let values = match seen.as_mut_slice() {
            [alone] => std::mem::take(alone),
            many => {
                let means = many.iter().filter_map(|spells| mean(spells));
                means.map(|one| one.value).collect()
            }
        };
        let found = mean(&values).map(|found| match count {
            1 => Interval {
                low: 0.0,
                high: 1.0,
                ..found
            },
            _ => Interval {
                high: found.high.min(1.0),
                ..found
            },
        });
        self.read("keeps", found, Method::Spells(count), needs);
    }

    /// Where only what a guest holds in all can be read: `held = o + ti − c − s − common_busy` with the rest from the lab.
    fn by_rest(&mut self, unique: Estimated, never_busy: bool) {
        let lab = self.lab;
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
        let found = Interval { value, low, high };
        let how = Method::Rest(self.kind.guests.len());
        self.put(key, found, Provenance::Both, how);
        self.needs("overhead", Needs::Owner);
    }
}
