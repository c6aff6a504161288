//! What each guest of a kind showed: settled, before its first spell, at most, and around its spells.

use super::interval::{Portion, middle, ratio};
use super::lines::{Moment, Run, Watched};
use super::spells::{Spell, Step, classify, spells, steps, threshold};
use crate::calibrate::fit::Interval;
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
    /// The same from start to start, classed.
    pub runs: Vec<ClassedRun<'a>>,
}

/// A guest from one start to the next.
#[derive(Debug)]
pub struct ClassedRun<'a> {
    /// Its moments.
    pub run: &'a Run,
    /// The steps between them.
    pub steps: Vec<Step>,
}

impl<'a> GuestKind<'a> {
    /// The kinds of a record, by name; `usual` is the time between two moments `[s]`.
    pub fn all(guests: &'a [Watched], usual: f64) -> Vec<GuestKind<'a>> {
        let moments = guests.iter().flat_map(Watched::moments);
        let span = moments.fold([f64::INFINITY, 0.0], |[first, last], moment| {
            [first.min(moment.at), last.max(moment.at)]
        });
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

    /// All steps of its guests.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        let runs = self.guests.iter().flat_map(|guest| &guest.runs);
        runs.flat_map(|run| &run.steps)
    }

    /// How many times guests were busy, boots left out.
    pub fn spells(&self) -> usize {
        let runs = self.guests.iter().flat_map(|guest| &guest.runs);
        runs.map(|run| spells(&run.steps).len()).sum()
    }

    /// How long the record is `[s]`.
    pub fn seconds(&self) -> f64 {
        self.span[1] - self.span[0]
    }

    /// A number of each guest that has it.
    pub fn each(&self, pick: impl Fn(&ClassedGuest<'a>) -> Option<f64>) -> Vec<f64> {
        self.guests.iter().filter_map(pick).collect()
    }

    /// Σ of a part of each step over Σ of the time of those that have one; boots are left out. Its interval is by guests and
    /// days, or parts of a short record.
    pub fn over_time(&self, part: impl Fn(&Step, &[Moment]) -> Option<f64>) -> Option<Interval> {
        let length = if self.seconds() >= FEW_DAYS * DAY {
            DAY
        } else {
            (self.seconds() / PARTS as f64).max(f64::MIN_POSITIVE)
        };
        let columns = (self.seconds() / length).ceil().max(1.0) as usize;
        let row = |guest: &ClassedGuest| {
            let mut row = vec![Portion::default(); columns];
            for ClassedRun { run, steps } in &guest.runs {
                for step in steps.iter().filter(|step| !step.is_boot) {
                    if let Some(part) = part(step, &run.moments) {
                        let place = ((step.start - self.span[0]) / length) as usize;
                        let cell = &mut row[place.min(columns - 1)];
                        cell.part += part;
                        cell.whole += step.seconds;
                    }
                }
            }
            row
        };
        ratio(&self.guests.iter().map(row).collect::<Vec<_>>())
    }
}

/// Guests with their time classed by the rates of all of them.
fn classed<'a>(own: impl Iterator<Item = &'a Watched>, usual: f64) -> Vec<ClassedGuest<'a>> {
    let guest = |watched: &'a Watched| {
        let vcpus = watched.vcpus.unwrap_or(1) as f64;
        let runs = watched.runs.iter().map(|run| ClassedRun {
            run,
            steps: steps(run, vcpus, usual),
        });
        ClassedGuest {
            watched,
            runs: runs.collect(),
        }
    };
    let mut guests: Vec<ClassedGuest> = own.map(guest).collect();
    let runs = guests.iter().flat_map(|guest| &guest.runs);
    let rates = runs.flat_map(|run| run.steps.iter().filter_map(|step| step.rate));
    let cut = threshold(&rates.collect::<Vec<f64>>());
    for run in guests.iter_mut().flat_map(|guest| &mut guest.runs) {
        classify(&mut run.steps, cut, run.run.from_start);
    }
    guests
}

/// What a moment shows.
pub type Pick = fn(&Moment) -> Option<f64>;

impl ClassedRun<'_> {
    /// What the moments at the ends of some steps show.
    fn shown<'b>(&'b self, steps: &'b [Step], pick: Pick) -> impl Iterator<Item = f64> + 'b {
        let ends = steps.iter().map(|step| &self.run.moments[step.end]);
        ends.filter_map(pick)
    }

    /// The second half of its idle moments up to a step: until then sharing may still be at work.
    fn late_half(&self, until: usize, pick: Pick) -> Option<f64> {
        let steps = self.steps[..until].iter();
        let idle: Vec<Step> = steps.filter(|step| !step.is_busy).copied().collect();
        middle(self.shown(&idle[idle.len() / 2..], pick))
    }

    /// The steps before the first spell.
    fn before_spells(&self) -> usize {
        let spells = spells(&self.steps);
        spells.first().map_or(self.steps.len(), |spell| spell.start)
    }

    /// What was kept of what was touched in a spell; none where the guest did not grow.
    fn kept(&self, spell: &Spell, fresh: f64, memory: Option<f64>) -> Option<f64> {
        let after = &self.steps[spell.end..];
        let idle = after.iter().take_while(|step| !step.is_busy).count();
        let after = middle(self.shown(&after[..idle.min(NEAR)], Moment::touched))?;
        let inside = self.shown(&self.steps[spell.clone()], Moment::touched);
        let highest = inside.reduce(f64::max)?;
        let growth = highest - fresh;
        let least = GROWTH * memory.unwrap_or(highest);
        (growth >= least).then(|| ((after - fresh) / growth).clamp(0.0, 1.0))
    }
}

impl<'a> ClassedGuest<'a> {
    /// Settled and idle: the middle of the second half of the last run.
    pub fn settled(&self, pick: Pick) -> Option<f64> {
        let last = self.runs.last()?;
        last.late_half(last.steps.len(), pick)
    }

    /// The runs whose boot was seen.
    fn booted_runs(&self) -> impl DoubleEndedIterator<Item = &ClassedRun<'a>> {
        self.runs.iter().filter(|run| run.run.from_start)
    }

    /// Settled before it was ever busy: the second half of the time from a boot that was seen to the first spell.
    pub fn settled_fresh(&self, pick: Pick) -> Option<f64> {
        let fresh = |run: &ClassedRun| run.late_half(run.before_spells(), pick);
        self.booted_runs().filter_map(fresh).next_back()
    }

    /// The most that it had touched before it was ever busy `[B]`, after a boot that was seen.
    pub fn fresh(&self) -> Option<f64> {
        let highest = |run: &ClassedRun| {
            let last = run.steps[..run.before_spells()].last();
            let until = last.map_or(0, |step| step.end);
            let moments = run.run.moments[..=until].iter();
            moments.filter_map(Moment::touched).reduce(f64::max)
        };
        self.booted_runs().filter_map(highest).reduce(f64::max)
    }

    /// The most that it ever touched `[B]`; none where it was never busy.
    pub fn highest(&self) -> Option<f64> {
        let busy = self.runs.iter().any(|run| !spells(&run.steps).is_empty());
        let touched = self.watched.moments().filter_map(Moment::touched);
        touched.reduce(f64::max).filter(|_| busy)
    }

    /// What it kept of what it touched in each spell: `(after − t0)/(highest − t0)`, t0 what it held before the first spell
    /// after a boot that was seen. (What it held right before a later spell is what it kept of the one before.)
    pub fn keeps(&self) -> Vec<f64> {
        let mut kept = Vec::new();
        for run in self.booted_runs() {
            let Some(fresh) = run.late_half(run.before_spells(), Moment::touched) else {
                continue;
            };
            let spells = spells(&run.steps);
            let own = spells.iter();
            kept.extend(own.filter_map(|spell| run.kept(spell, fresh, self.watched.memory)));
        }
        kept
    }
}
