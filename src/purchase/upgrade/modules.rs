//! Which memory modules could be bought: matched pairs within the slots, in place of the smallest owned ones.

use crate::lab::HostMemory;

/// A purchase of modules and what it leads to.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Purchase {
    /// Bought: size `[B]` and number, larger sizes first.
    pub bought: Vec<(f64, usize)>,
    /// Owned modules that have to come out `[B]`.
    pub replaced: Vec<f64>,
    /// All modules afterwards `[B]`.
    pub modules: Vec<f64>,
    /// Price of what is bought `[money]`.
    pub price: f64,
    /// Why modules come out; none do where it is `None`.
    pub why: Option<ComesOut>,
}

/// Why owned modules come out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ComesOut {
    /// Every slot is taken.
    AllTaken,
    /// Fewer slots are free than are needed.
    TooFewFree,
    /// Nobody said how many slots there are.
    SlotsUnknown,
    /// There are slots for all, but no match for an odd one.
    NoMatch,
}

/// Purchases that leave the host with more memory, the cheapest for each amount, by amount.
///
/// Modules of one or two sizes are bought in pairs (one alone only for a board of one slot, or to match an odd one that
/// is owned), fill free slots first and then replace the smallest owned ones. Afterwards every size is there an even
/// number of times. Without `slots` the board is taken to be full.
pub(super) fn purchases(memory: &HostMemory) -> Vec<Purchase> {
    let slots = memory
        .slots
        .and_then(|slots| usize::try_from(slots).ok())
        .unwrap_or(memory.modules.len());
    let largest = memory.max_module.unwrap_or(f64::INFINITY);
    let offers: Vec<(f64, f64)> = memory
        .module_prices
        .iter()
        .copied()
        .filter(|(size, _)| *size <= largest)
        .collect();
    let mut best: Vec<Purchase> = Vec::new();
    for basket in baskets(&offers, slots) {
        let Some(purchase) = plugged(memory, slots, &basket) else {
            continue;
        };
        let sum = |one: &Purchase| one.modules.iter().sum::<f64>();
        match best.iter_mut().find(|kept| sum(kept) == sum(&purchase)) {
            Some(kept) => {
                let cost = |one: &Purchase| (one.price, one.modules.len());
                if cost(&purchase) < cost(kept) {
                    *kept = purchase;
                }
            }
            None => best.push(purchase),
        }
    }
    let sum = |one: &Purchase| one.modules.iter().sum::<f64>();
    best.sort_by(|one, other| sum(one).total_cmp(&sum(other)));
    best
}

/// What may be bought at once: (size, price, number) of one or two sizes, at most as many as there are slots.
fn baskets(offers: &[(f64, f64)], slots: usize) -> Vec<Vec<(f64, f64, usize)>> {
    let mut all = Vec::new();
    for (index, &(size, price)) in offers.iter().enumerate() {
        all.push(vec![(size, price, 1)]);
        for pairs in 1..=slots / 2 {
            all.push(vec![(size, price, 2 * pairs)]);
            for &(other, other_price) in &offers[..index] {
                for more in 1..=(slots / 2 - pairs) {
                    all.push(vec![
                        (size, price, 2 * pairs),
                        (other, other_price, 2 * more),
                    ]);
                }
            }
        }
    }
    all
}

/// The purchase of a basket, if it can be plugged in so that pairs match and there is more memory afterwards.
fn plugged(memory: &HostMemory, slots: usize, basket: &[(f64, f64, usize)]) -> Option<Purchase> {
    let mut owned = memory.modules.clone();
    owned.sort_by(f64::total_cmp);
    let count: usize = basket.iter().map(|(_, _, number)| number).sum();
    let least = (owned.len() + count).saturating_sub(slots);
    for out in least..=owned.len() {
        let mut modules: Vec<f64> = owned[out..].to_vec();
        for (size, _, number) in basket {
            modules.extend(std::iter::repeat_n(*size, *number));
        }
        if slots > 1 && !paired(&modules) {
            continue;
        }
        let more = modules.iter().sum::<f64>() > memory.modules.iter().sum::<f64>();
        return (more && count <= slots).then(|| Purchase {
            bought: basket
                .iter()
                .map(|(size, _, number)| (*size, *number))
                .collect(),
            replaced: owned[..out].to_vec(),
            modules,
            price: basket
                .iter()
                .map(|(_, price, number)| price * *number as f64)
                .sum(),
            why: (out > 0).then_some(match memory.slots {
                _ if least == 0 => ComesOut::NoMatch,
                None => ComesOut::SlotsUnknown,
                Some(_) if owned.len() >= slots => ComesOut::AllTaken,
                Some(_) => ComesOut::TooFewFree,
            }),
        });
    }
    None
}

/// Whether every size is there an even number of times.
fn paired(modules: &[f64]) -> bool {
    modules
        .iter()
        .all(|size| modules.iter().filter(|other| *other == size).count() % 2 == 0)
}

#[cfg(test)]
mod tests {
    use super::{ComesOut, Purchase, purchases};
    use crate::inventory::load_text;
    use crate::model::GIB;

    fn of(keys: &str) -> Vec<Purchase> {
        let text = format!(
            "[[host]]\nname = \"h\"\ncpu.groups = [{{ cores = 4 }}]\n[host.memory]\n{keys}\n\
             [[guest]]\nname = \"g\"\nmemory = \"1 GiB\"\n"
        );
        purchases(
            &load_text("lab.toml", &text, &[])
                .expect("a valid lab")
                .hosts[0]
                .memory,
        )
    }

    fn sums(keys: &str) -> Vec<(f64, f64, usize)> {
        of(keys)
            .iter()
            .map(|one| {
                let sum = one.modules.iter().sum::<f64>() / GIB;
                (sum, one.price, one.replaced.len())
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
    fn why_modules_come_out_is_known() {
        let whys = |keys: &str| -> Vec<Option<ComesOut>> {
            let found = of(&format!("{keys}\n{PRICES}"));
            found.iter().map(|one| one.why).collect()
        };
        use ComesOut::{AllTaken, NoMatch, SlotsUnknown, TooFewFree};
        // To 64 and 96 GiB.
        let two = "modules = [\"16 GiB\", \"16 GiB\"]";
        assert_eq!(whys(&format!("{two}\nslots = 2")), [Some(AllTaken); 2]);
        assert_eq!(whys(two), [Some(SlotsUnknown); 2]);
        // Two free ones take what leads to 64, 96 and 128 GiB; 192 GiB are 4 × 48.
        let four = whys(&format!("{two}\nslots = 4"));
        assert_eq!(four.first(), Some(&None));
        assert_eq!(four.last(), Some(&Some(TooFewFree)));
        // 2 × 48 GiB would find room beside the odd one.
        let odd = of(&format!("modules = [\"32 GiB\"]\nslots = 3\n{PRICES}"));
        let largest = odd.last().map(|one| (one.replaced.len(), one.why));
        assert_eq!(largest, Some((1, Some(NoMatch))));
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
            of(&format!(
                "modules = [\"48 GiB\", \"48 GiB\"]\nslots = 2\n{PRICES}"
            ))
            .is_empty()
        );
    }
}
