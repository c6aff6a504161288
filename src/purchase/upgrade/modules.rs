//! Which memory modules could be bought: matched pairs within the slots, in place of the smallest owned ones.

use std::collections::BTreeMap;

use super::change::{Action, Change, Note};
use crate::lab::HostMemory;

/// A number of modules of one size `[B]`.
type Batch = (f64, usize);

/// Purchases that leave the host with more memory, the cheapest for each amount, by amount.
///
/// Modules of one or two sizes are bought in pairs (one alone only for a board of one slot, or to match an odd one that
/// is owned), fill free slots first and then replace the smallest owned ones. Afterwards every size is there an even
/// number of times. Without `slots` the board is taken to be full.
pub(super) fn purchases(memory: &HostMemory) -> Vec<Change> {
    let board = Board::new(memory);
    // Sums are positive, so their bits are in the order of their values.
    let mut cheapest: BTreeMap<u64, Plugged> = BTreeMap::new();
    board.each_basket(|bought, price| {
        let Some((sum, plugged)) = board.plugged(bought, price) else {
            return;
        };
        let rank = |one: &Plugged| (one.change.price, one.number);
        let kept = cheapest.get(&sum.to_bits());
        if kept.is_none_or(|kept| rank(&plugged) < rank(kept)) {
            cheapest.insert(sum.to_bits(), plugged);
        }
    });
    let plugged = cheapest.into_values();
    plugged.map(|plugged| plugged.change).collect()
}

/// A purchase of modules, and how many there are afterwards.
struct Plugged {
    change: Change,
    number: usize,
}

/// Modules and slots of a host, and what is for sale.
struct Board {
    /// Sizes of the owned modules, ascending `[B]`.
    owned: Vec<f64>,
    slots: usize,
    slots_known: bool,
    /// Sizes that the board takes `[B]`, ascending, and their prices `[money]`.
    offers: Vec<(f64, f64)>,
}

impl Board {
    fn new(memory: &HostMemory) -> Board {
        let mut owned = memory.modules.clone();
        owned.sort_by(f64::total_cmp);
        let largest = memory.max_module.unwrap_or(f64::INFINITY);
        let slots = memory.slots.and_then(|slots| usize::try_from(slots).ok());
        let offers = memory.module_prices.iter().copied();
        Board {
            slots: slots.unwrap_or(owned.len()),
            slots_known: memory.slots.is_some(),
            owned,
            offers: offers.filter(|(size, _)| *size <= largest).collect(),
        }
    }

    /// Everything that may be bought at once, with its price: one module, or pairs of one size or two, at most as many
    /// as there are slots.
    fn each_basket(&self, mut found: impl FnMut(&[Batch], f64)) {
        let pairs = self.slots / 2;
        for (index, &(size, price)) in self.offers.iter().enumerate() {
            found(&[(size, 1)], price);
            for of_this in (1..=pairs).map(|pairs| 2 * pairs) {
                let cost = price * of_this as f64;
                found(&[(size, of_this)], cost);
                for &(other, other_price) in &self.offers[..index] {
                    for of_other in (1..=pairs - of_this / 2).map(|pairs| 2 * pairs) {
                        found(
                            &[(size, of_this), (other, of_other)],
                            cost + other_price * of_other as f64,
                        );
                    }
                }
            }
        }
    }

    /// The purchase and the memory afterwards `[B]`, if it can be plugged in so that pairs match and there is more.
    fn plugged(&self, bought: &[Batch], price: f64) -> Option<(f64, Plugged)> {
        let count: usize = bought.iter().map(|(_, number)| number).sum();
        let least = (self.owned.len() + count).saturating_sub(self.slots);
        let mut outs = least..=self.owned.len();
        let out = outs.find(|out| self.slots <= 1 || paired(&self.owned[*out..], bought))?;
        let (replaced, kept) = self.owned.split_at(out);
        let new = bought.iter().map(|(size, number)| size * *number as f64);
        let sum = kept.iter().sum::<f64>() + new.sum::<f64>();
        let action = Action::Modules {
            bought: bought.to_vec(),
            replaced: batches(replaced),
            reason: (out > 0).then(|| self.reason(least)),
        };
        let change = Change {
            action,
            price: Some(price),
        };
        let number = kept.len() + count;
        (sum > self.owned.iter().sum()).then_some((sum, Plugged { change, number }))
    }

    /// Why modules are taken out where the slots need `least` of them out.
    fn reason(&self, least: usize) -> Note {
        match self.slots_known {
            _ if least == 0 => Note::UnpairedModule,
            false => Note::SlotsUnknown,
            true if self.owned.len() >= self.slots => Note::AllSlotsTaken,
            true => Note::TooFewSlotsFree,
        }
    }
}

/// Whether every size is there an even number of times among owned and bought modules.
fn paired(owned: &[f64], bought: &[Batch]) -> bool {
    let own = batches(owned);
    let of = |all: &[Batch], size: f64| -> usize {
        let same = all.iter().filter(|(other, _)| *other == size);
        same.map(|(_, number)| number).sum()
    };
    let mut sizes = own.iter().chain(bought).map(|(size, _)| *size);
    sizes.all(|size| (of(&own, size) + of(bought, size)).is_multiple_of(2))
}

/// Sizes that are next to each other, each with its number.
fn batches(sizes: &[f64]) -> Vec<Batch> {
    let runs = sizes.chunk_by(|one, next| one == next);
    runs.map(|run| (run[0], run.len())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::change::{Action, Change, Note, changed};
    use super::purchases;
    use crate::inventory::load_text;
    use crate::lab::Host;
    use crate::model::GIB;

    fn host(keys: &str) -> Host {
        let text = format!(
            "[[host]]\nname = \"h\"\ncpu.groups = [{{ cores = 4 }}]\n[host.memory]\n{keys}\n\
             [[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
        );
        let mut lab = load_text("lab.toml", &text, &[]).expect("a valid lab");
        lab.hosts.remove(0)
    }

    /// Modules that a change takes out, and why.
    fn out(change: &Change) -> (usize, Option<Note>) {
        match &change.action {
            Action::Modules {
                replaced, reason, ..
            } => (replaced.iter().map(|(_, number)| number).sum(), *reason),
            other => panic!("{other:?}"),
        }
    }

    /// Memory afterwards in GiB, the price, and modules taken out, of each purchase.
    fn sums(keys: &str) -> Vec<(f64, f64, usize)> {
        let host = host(keys);
        let sum = |change: &Change| {
            let changed = changed(&host, std::slice::from_ref(change));
            changed.memory.modules.iter().sum::<f64>() / GIB
        };
        let all = purchases(&host.memory);
        let rows = all.iter();
        rows.map(|one| {
            (
                sum(one),
                one.price.expect("modules have prices"),
                out(one).0,
            )
        })
        .collect()
    }

    const PRICES: &str = "module_prices = { \"16 GiB\" = 40, \"32 GiB\" = 75, \"48 GiB\" = 120 }";

    #[test]
    fn free_slots_are_filled_first_and_the_smallest_replaced_then() {
        let found = sums(&format!(
            "modules = [\"16 GiB\", \"16 GiB\"]\nslots = 4\nmax_module = \"32 GiB\"\n{PRICES}"
        ));
        // 4 × 16; 2 × 16 + 2 × 32; 4 × 32.
        assert_eq!(
            found,
            [(64.0, 80.0, 0), (96.0, 150.0, 0), (128.0, 300.0, 2)]
        );
    }

    #[test]
    fn an_odd_module_is_matched_by_one_more() {
        let found = sums(&format!("modules = [\"32 GiB\"]\nslots = 2\n{PRICES}"));
        assert_eq!(found, [(64.0, 75.0, 0), (96.0, 240.0, 1)]);
    }

    #[test]
    fn the_reason_for_taking_modules_out_is_given() {
        let reasons = |keys: &str| -> Vec<Option<Note>> {
            let host = host(&format!("{keys}\n{PRICES}"));
            let all = purchases(&host.memory);
            all.iter().map(|one| out(one).1).collect()
        };
        use Note::{AllSlotsTaken, SlotsUnknown, TooFewSlotsFree, UnpairedModule};
        // To 64 and 96 GiB.
        let two = "modules = [\"16 GiB\", \"16 GiB\"]";
        assert_eq!(
            reasons(&format!("{two}\nslots = 2")),
            [Some(AllSlotsTaken); 2]
        );
        assert_eq!(reasons(two), [Some(SlotsUnknown); 2]);
        // Two free ones take what leads to 64, 96 and 128 GiB; 192 GiB are 4 × 48.
        let four = reasons(&format!("{two}\nslots = 4"));
        assert_eq!(four.first(), Some(&None));
        assert_eq!(four.last(), Some(&Some(TooFewSlotsFree)));
        // 2 × 48 GiB would find room beside the odd one.
        let odd = host(&format!("modules = [\"32 GiB\"]\nslots = 3\n{PRICES}"));
        let largest = purchases(&odd.memory).last().map(out);
        assert_eq!(largest, Some((1, Some(UnpairedModule))));
    }

    #[test]
    fn one_slot_takes_one_module() {
        let found = sums(&format!("modules = [\"16 GiB\"]\nslots = 1\n{PRICES}"));
        assert_eq!(found, [(32.0, 75.0, 1), (48.0, 120.0, 1)]);
    }

    #[test]
    fn a_board_without_slots_given_is_full_and_one_at_its_largest_stays() {
        let found = sums(&format!("modules = [\"16 GiB\", \"16 GiB\"]\n{PRICES}"));
        assert_eq!(found, [(64.0, 150.0, 2), (96.0, 240.0, 2)]);
        assert!(
            sums(&format!(
                "modules = [\"48 GiB\", \"48 GiB\"]\nslots = 2\n{PRICES}"
            ))
            .is_empty()
        );
    }
}
