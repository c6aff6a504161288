//! What guests of a kind share with one another and with themselves.

use super::builder::ProfileBuilder;
use super::estimates::{Method, Needs};
use super::interval::median;
use super::lines::Moment;
use super::watch::{ClassedGuest, Pick};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::Interval;
use crate::calibrate::memory::common_share;

/// What a guest shared before its first spell; a kind that is never busy is always before it.
struct BeforeSpells {
    never_busy: bool,
    /// Share of what is merged that is common, by the lab; none where pages say it.
    common: Option<f64>,
}

impl BeforeSpells {
    fn of(&self, guest: &ClassedGuest, pick: Pick) -> Option<f64> {
        if self.never_busy {
            guest.settled(pick)
        } else {
            guest.settled_fresh(pick)
        }
    }

    fn common(&self, guest: &ClassedGuest) -> Option<f64> {
        match self.common {
            Some(share) => Some(share * self.of(guest, |moment| moment.merged)?),
            None => self.of(guest, |moment| moment.common),
        }
    }

    /// What is merged and not common. Empty parts of huge pages are among it: splitting gives them back.
    fn repeats(&self, guest: &ClassedGuest) -> Option<f64> {
        let merged = self.of(guest, |moment| moment.merged)?;
        let empty = guest.fresh().zip(self.of(guest, Moment::touched));
        let empty = empty.map_or(0.0, |(fresh, settled)| (fresh - settled).max(0.0));
        Some((merged - self.common(guest)?).max(0.0) + empty)
    }

    /// What came to be shared after it.
    fn later(&self, guest: &ClassedGuest) -> Option<f64> {
        let pick: Pick = match self.common {
            Some(_) => |moment| moment.merged,
            None => |moment| moment.common,
        };
        Some((guest.settled(pick)? - self.of(guest, pick)?).max(0.0))
    }
}

impl ProfileBuilder<'_> {
    /// What guests share.
    pub fn shared(&mut self) {
        let kind = self.kind;
        let mut before = BeforeSpells {
            never_busy: kind.spells() == 0,
            common: None,
        };
        let pages = !kind.each(|guest| before.common(guest)).is_empty();
        let mut how: fn(usize) -> Method = Method::Median;
        if !pages {
            before.common = Some(common_share(self.lab));
            how = Method::Split;
        }
        let merged = kind.each(|guest| guest.settled(|moment| moment.merged));
        let needs = match merged.as_slice() {
            [] => Needs::Owner,
            _ => Needs::Start,
        };
        for (key, values) in [
            ("common", kind.each(|guest| before.common(guest))),
            ("repeats", kind.each(|guest| before.repeats(guest))),
        ] {
            let found = median(&values);
            let found = found.map(|found| if pages { found } else { widened(found) });
            self.read(key, found, how(values.len()), needs);
        }
        if !pages && !merged.is_empty() {
            self.needs("common", Needs::Root);
        }
        if !before.never_busy {
            self.median(
                "common_busy",
                &kind.each(|guest| before.later(guest)),
                needs,
            );
        }
        for (key, one) in &mut self.found {
            if !pages && ["common", "repeats", "common_busy"].contains(key) {
                one.from = Provenance::Both;
            }
        }
    }
}

/// A part whose share of what is merged is the lab's guess: that may be off by as much as the shares that were measured, 40 to
/// 90 % common of what is merged.
fn widened(found: Interval) -> Interval {
    Interval {
        low: found.low * 0.6,
        high: found.high * 1.4,
        ..found
    }
}
