//! What each guest of a kind showed: settled, before its first spell, at most, and around its spells.

use super::interval::{Portion, middle};
use super::lines::{Moment, Watched};
use super::spells::{Spell, Step, classify, spells, steps, threshold};
use crate::model::DAY;

/// A spell says how much a guest keeps only where it grew by at least this share of its memory (assumption).
const GROWTH: f64 = 0.05;
/// So many idle moments after a spell say what a guest holds then.
const NEAR: usize = 6;
/// Shorter records than so many days are cut into parts instead of days.
const FEW_DAYS: f64 = 3.0;
/// Parts that a short record is cut into.
const PARTS: usize = 8;

/// The guests of one kind, their time classed.
#[derive(Debug)]
pub struct GuestKind<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its guests.
    pub guests: Vec<ClassedGuest<'a>>,
    /// First and last moment of the whole record `[s]`.
    pub span: [f64; 2],
}

/// One guest.
#[derive(Debug)]
pub struct ClassedGuest<'a> {
    /// Its moments.
    pub watched: &'a Watched,
    /// The steps of each run.
    pub steps: Vec<Vec<Step>>,
}

impl<'a> GuestKind<'a> {
    /// The kinds of a record, by name; `usual` is the time between two moments `[s]`.
    pub fn all(guests: &'a [Watched], usual: f64) -> Vec<GuestKind<'a>> {
        let moments = || {
            guests
                .iter()
                .flat_map(Watched::moments)
                .map(|moment| moment.at)
        };
        let span = [
            moments().fold(f64::INFINITY, f64::min),
            moments().fold(0.0, f64::max),
        ];
        let mut names: Vec<&str> = guests.iter().map(|guest| guest.kind.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        let kind = |name| {
            let own = guests.iter().filter(|guest| guest.kind == name);
            GuestKind {
                name,
                guests: classed(own, usual),
                span,
            }
        };
        names.into_iter().map(kind).collect()
    }

    /// How many times guests were busy, boots left out.
    pub fn spells(&self) -> usize {
        let runs = self.guests.iter().flat_map(|guest| &guest.steps);
        runs.map(|steps| spells(steps).len()).sum()
    }

    /// How long the record is `[s]`.
    pub fn seconds(&self) -> f64 {
        self.span[1] - self.span[0]
    }

    /// A number of each guest that has it.
    pub fn each(&self, pick: impl Fn(&ClassedGuest<'a>) -> Option<f64>) -> Vec<f64> {
        self.guests.iter().filter_map(pick).collect()
    }

    /// A part and a whole of each guest in each day, or in each part of a short record; boots are left out.
    pub fn cells(
        &self,
        count: impl Fn(&ClassedGuest, &Step, &[Moment]) -> Option<Portion>,
    ) -> Vec<Vec<Portion>> {
        let length = if self.seconds() >= FEW_DAYS * DAY {
            DAY
        } else {
            (self.seconds() / PARTS as f64).max(f64::MIN_POSITIVE)
        };
        let columns = (self.seconds() / length).ceil().max(1.0) as usize;
        let row = |guest: &ClassedGuest| {
            let mut row = vec![Portion::default(); columns];
            for (run, steps) in guest.watched.runs.iter().zip(&guest.steps) {
                for step in steps.iter().filter(|step| !step.is_boot) {
                    let Some(cell) = count(guest, step, &run.moments) else {
                        continue;
                    };
                    let place = ((step.start - self.span[0]) / length) as usize;
                    let place = place.min(columns - 1);
                    row[place].part += cell.part;
                    row[place].whole += cell.whole;
                }
            }
            row
        };
        self.guests.iter().map(row).collect()
    }
}

/// Guests with their time classed by the rates of all of them.
fn classed<'a>(own: impl Iterator<Item = &'a Watched>, usual: f64) -> Vec<ClassedGuest<'a>> {
    let mut guests: Vec<ClassedGuest> = own
        .map(|watched| {
            let vcpus = watched.vcpus.unwrap_or(1) as f64;
            let runs = watched.runs.iter();
            let steps = runs.map(|run| steps(run, vcpus, usual)).collect();
            ClassedGuest { watched, steps }
        })
        .collect();
    let all = guests.iter().flat_map(|guest| guest.steps.iter().flatten());
    let rates: Vec<f64> = all.filter_map(|step| step.rate).collect();
    let cut = threshold(&rates);
    for guest in &mut guests {
        for (run, steps) in guest.watched.runs.iter().zip(&mut guest.steps) {
            classify(steps, cut, run.from_start);
        }
    }
    guests
}

/// What a moment shows.
pub type Pick = fn(&Moment) -> Option<f64>;

impl ClassedGuest<'_> {
    /// The second half of some idle moments: until then sharing may still be at work.
    fn late_half(run: &[Moment], steps: &[Step], pick: Pick) -> Option<f64> {
        let idle: Vec<usize> = steps
            .iter()
            .filter(|step| !step.is_busy)
            .map(|step| step.end)
            .collect();
        middle(
            idle[idle.len() / 2..]
                .iter()
                .filter_map(|index| pick(&run[*index])),
        )
    }

    /// Settled and idle: the middle of the second half of the last run.
    pub fn settled(&self, pick: Pick) -> Option<f64> {
        let (run, steps) = self.watched.runs.iter().zip(&self.steps).next_back()?;
        ClassedGuest::late_half(&run.moments, steps, pick)
    }

    /// The steps of a run up to the first spell.
    fn before_spells(steps: &[Step]) -> &[Step] {
        let first = spells(steps)
            .first()
            .map_or(steps.len(), |spell| spell.start);
        &steps[..first]
    }

    /// Settled before it was ever busy: the second half of the time from a boot that was seen to the first spell.
    pub fn settled_fresh(&self, pick: Pick) -> Option<f64> {
        let runs = self.watched.runs.iter().zip(&self.steps);
        let seen = runs.filter(|(run, _)| run.from_start);
        let mut found = seen.filter_map(|(run, steps)| {
            ClassedGuest::late_half(&run.moments, ClassedGuest::before_spells(steps), pick)
        });
        found.next_back()
    }

    /// The most that it had touched before it was ever busy `[B]`, after a boot that was seen.
    pub fn fresh(&self) -> Option<f64> {
        let runs = self.watched.runs.iter().zip(&self.steps);
        let seen = runs.filter(|(run, _)| run.from_start);
        let highest = seen.filter_map(|(run, steps)| {
            let until = ClassedGuest::before_spells(steps)
                .last()
                .map_or(0, |step| step.end);
            let moments = run.moments[..=until].iter();
            moments.filter_map(Moment::touched).reduce(f64::max)
        });
        highest.reduce(f64::max)
    }

    /// The most that it ever touched `[B]`; none where it was never busy.
    pub fn highest(&self) -> Option<f64> {
        let busy = self.steps.iter().any(|steps| !spells(steps).is_empty());
        let touched = self.watched.moments().filter_map(Moment::touched);
        touched.reduce(f64::max).filter(|_| busy)
    }

    /// What it kept of what it touched in each spell: `(after − t0)/(highest − t0)`, t0 what it held before the first spell
    /// after a boot that was seen. (What it held right before a later spell is what it kept of the one before.)
    pub fn keeps(&self) -> Vec<f64> {
        let runs = self.watched.runs.iter().zip(&self.steps);
        let seen = runs.filter(|(run, _)| run.from_start);
        seen.flat_map(|(run, steps)| {
            let fresh = ClassedGuest::late_half(
                &run.moments,
                ClassedGuest::before_spells(steps),
                Moment::touched,
            );
            let spells = spells(steps);
            let kept = |spell: &Spell| self.kept(&run.moments, steps, spell, fresh?);
            spells.iter().filter_map(kept).collect::<Vec<f64>>()
        })
        .collect()
    }

    /// The same of one spell; none where the guest did not grow.
    fn kept(&self, run: &[Moment], steps: &[Step], spell: &Spell, fresh: f64) -> Option<f64> {
        let after = steps[spell.end..].iter().take_while(|step| !step.is_busy);
        let after = middle(after.take(NEAR).filter_map(|step| run[step.end].touched()))?;
        let inside = steps[spell.clone()].iter();
        let highest = inside
            .filter_map(|step| run[step.end].touched())
            .reduce(f64::max)?;
        let growth = highest - fresh;
        let least = GROWTH * self.watched.memory.unwrap_or(highest);
        (growth >= least).then(|| ((after - fresh) / growth).clamp(0.0, 1.0))
    }
}
