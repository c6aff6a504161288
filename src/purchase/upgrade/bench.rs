//! What a host holds with a purchase.

use super::parts::{Part, with_parts};
use super::{Choice, bound, names, rank};
use crate::lab::{Guest, Lab, Number};
use crate::sizing::composition::Unit;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, lowest};
use crate::sizing::resource::Resource;
use crate::sizing::search::Largest;

/// What a host holds after a purchase.
#[derive(Debug, Clone)]
pub(super) struct Held {
    pub largest: Largest,
    pub binding: Vec<Resource>,
}

/// What all searches share.
pub(super) struct Bench<'l> {
    pub lab: &'l Lab,
    pub hint: Hint,
    /// What a further host of the kind holds, where the guests that must run are on the first.
    pub alone: Held,
}

/// What a further host of the kind holds by itself: scaling guests only, or whole sets.
pub(super) fn further_host(lab: &Lab) -> Held {
    let mut more = lab.clone();
    let scales = |guest: &Guest| matches!(guest.number, Number::Share(_));
    if more.guests.iter().any(scales) {
        // Kept in place, so that footprints and names stay those of the lab.
        for guest in more.guests.iter_mut().filter(|guest| !scales(guest)) {
            guest.number = Number::Fixed(0);
        }
    }
    let model = HostModel::new(&more, &more.hosts[0]);
    let hint = Hint::of(&model);
    let found = lowest(&model, &hint);
    Held {
        largest: found.largest,
        binding: found
            .binds
            .iter()
            .map(|place| hint.order()[*place])
            .collect(),
    }
}

impl Bench<'_> {
    /// What the host holds with these parts bought.
    pub fn search(&self, parts: &[Part]) -> Held {
        let lab = with_parts(self.lab, parts);
        let found = lowest(&HostModel::new(&lab, &lab.hosts[0]), &self.hint);
        let binding: Vec<Resource> = found
            .binds
            .iter()
            .map(|place| self.hint.order()[*place])
            .collect();
        let hosts: u64 = parts.iter().map(Part::hosts).sum();
        match (found.largest, self.alone.largest) {
            (Largest::Bound(first), Largest::Bound(each)) if hosts > 0 => Held {
                largest: Largest::Bound(first + hosts * each),
                binding: if each > 0 {
                    self.alone.binding.clone()
                } else {
                    binding
                },
            },
            (largest, _) => Held { largest, binding },
        }
    }

    /// A row for these parts.
    pub fn choice(&self, parts: &[Part], now: &Held) -> Choice {
        let held = self.search(parts);
        let words: Vec<String> = parts.iter().map(Part::words).collect();
        let price = parts
            .iter()
            .map(Part::price)
            .try_fold(0.0, |sum, price| Some(sum + price?));
        let replaces = parts.iter().flat_map(Part::replaces).collect();
        let notes: Vec<&str> = parts.iter().filter_map(Part::note).collect();
        self.row(
            words.join(", "),
            price,
            held,
            now,
            replaces,
            notes.join(" "),
        )
    }

    fn row(
        &self,
        change: String,
        price: Option<f64>,
        held: Held,
        now: &Held,
        replaces: Vec<String>,
        note: String,
    ) -> Choice {
        let model = HostModel::new(self.lab, &self.lab.hosts[0]);
        let gain = match (held.largest, now.largest) {
            (Largest::Unbounded, Largest::Unbounded) => Some(0),
            (Largest::Unbounded, _) => None,
            // The guests that must run and did not fit are gained too.
            (Largest::Bound(n), Largest::Infeasible) => {
                let fixed = match model.composition.unit() {
                    Unit::Guests => model.composition.fixed_guests(),
                    Unit::Sets => 0,
                };
                i64::try_from(n + fixed).ok()
            }
            (after, before) => Some(rank(after).max(0) - rank(before).max(0)),
        };
        let per_100 = gain
            .zip(price.filter(|price| *price > 0.0))
            .map(|(gain, price)| gain as f64 * 100.0 / price);
        Choice {
            change,
            price,
            fits: bound(held.largest),
            gain,
            gain_per_100: per_100,
            binds: names(&model, &held.binding),
            replaces,
            note: (!note.is_empty()).then_some(note),
            containers: false,
            binding: held.binding,
            largest: held.largest,
        }
    }
}
