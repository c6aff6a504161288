//! What a host holds with changes made.

use std::cell::Cell;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

use super::answer::Choice;
use super::change::{Action, Change, Changes, Notes, changed};
use super::offers::without_fixed;
use crate::lab::{Host, Lab};
use crate::sizing::composition::Unit;
use crate::sizing::growth::lasts_with;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, Lowest, lowest};
use crate::sizing::named::Named;
use crate::sizing::search::{Largest, MOST_GUESTS};

/// A host with the guests of a lab, ready to be searched with changes made.
pub(super) struct Evaluator<'l> {
    pub model: HostModel<'l>,
    pub hint: Hint,
    /// What a further host of the kind holds, where the guests that must run are on the first.
    further: Lowest,
    /// What has been done to the guests of the lab already.
    before: Option<Change>,
}

/// What may be bought, and how far its evaluation has come, which ends where `interrupted` becomes true.
pub(super) struct Work<'i> {
    /// What can be bought of each kind.
    pub kinds: Vec<Vec<Change>>,
    pub budget: Option<f64>,
    /// What is held without any purchase.
    pub now: Lowest,
    pub interrupted: &'i AtomicBool,
    pub done: Cell<usize>,
    pub of: Cell<usize>,
}

impl Work<'_> {
    /// The option to make each of these changes, in their order; of an interrupted run those that it came to.
    pub fn choices(&self, evaluator: &Evaluator, changes: Vec<Vec<Change>>) -> Vec<Choice> {
        self.of.set(self.of.get() + changes.len());
        let each = changes.into_iter();
        let each = each.take_while(|_| !self.interrupted.load(Relaxed));
        let choices: Vec<Choice> = each.map(|one| evaluator.choice(one, &self.now)).collect();
        self.done.set(self.done.get() + choices.len());
        choices
    }

    /// Each change by itself.
    pub fn singles(&self, evaluator: &Evaluator) -> Vec<Choice> {
        let each = self.kinds.iter().flatten();
        self.choices(evaluator, each.map(|change| vec![change.clone()]).collect())
    }
}

impl<'l> Evaluator<'l> {
    /// For a host of the lab; `before` is what was done to make this lab of the one that was asked about.
    pub fn new(lab: &'l Lab, host: &'l Host, hint: Hint, before: Option<Change>) -> Evaluator<'l> {
        let scaling = without_fixed(lab);
        Evaluator {
            further: lowest(&HostModel::new(&scaling, host), &hint),
            model: HostModel::new(lab, host),
            hint,
            before,
        }
    }

    /// What the host holds with these changes made.
    pub fn held(&self, changes: &[Change]) -> Lowest {
        let host = changed(self.model.host, changes);
        let first = lowest(&HostModel::new(self.model.lab, &host), &self.hint);
        let hosts: u64 = changes.iter().map(Change::hosts).sum();
        match (first.largest, self.further.largest) {
            (Largest::Bound(n), Largest::Bound(each)) if hosts > 0 => Lowest {
                largest: Largest::Bound(n + hosts * each),
                binds: match each {
                    0 => first.binds,
                    _ => self.further.binds.clone(),
                },
            },
            _ => first,
        }
    }

    /// The option to make these changes; `now` is what is held without any.
    pub fn choice(&self, changes: Vec<Change>, now: &Lowest) -> Choice {
        let held = self.held(&changes);
        let changes = Changes(self.before.iter().cloned().chain(changes).collect());
        let price = changes.price();
        let gain = self.gain(held.largest, now.largest);
        Choice {
            price,
            fits: held.largest.bound(),
            gain,
            gain_per_100: gain
                .zip(price.filter(|price| *price > 0.0))
                .map(|(gain, price)| gain as f64 * 100.0 / price),
            binds: Named::all(&self.model, &held.binds),
            replaces: changes.0.iter().flat_map(Change::replaced).collect(),
            note: Notes(changes.0.iter().filter_map(Change::note).collect()),
            containers: changes.0.iter().any(|one| one.action == Action::Containers),
            change: changes,
            largest: held.largest,
            drawn: None,
            full_in_months: None,
        }
    }

    /// Guests gained; none where nothing runs out any more.
    pub fn gain(&self, after: Largest, before: Largest) -> Option<i64> {
        let count = |largest: Largest| match largest {
            Largest::Infeasible => 0,
            Largest::Bound(n) => i64::try_from(n).unwrap_or(i64::MAX),
            Largest::Unbounded => MOST_GUESTS as i64 + 1,
        };
        let composition = &self.model.composition;
        match (after, before) {
            (Largest::Unbounded, Largest::Unbounded) => Some(0),
            (Largest::Unbounded, _) => None,
            // The guests that must run and did not fit are gained too.
            (Largest::Bound(n), Largest::Infeasible) if composition.unit() == Unit::Guests => {
                i64::try_from(n + composition.fixed_guests()).ok()
            }
            _ => Some(count(after) - count(before)),
        }
    }
}

/// Months until the host is full with these changes made, if guests keep coming.
pub(super) fn full_in(lab: &Lab, host: &Host, changes: &[Change]) -> Option<f64> {
    let host = changed(host, changes);
    let further = changes.iter().map(Change::hosts).sum();
    lasts_with(&HostModel::new(lab, &host), further)
}
