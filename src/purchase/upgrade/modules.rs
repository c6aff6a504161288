//! Which memory modules could be bought: matched pairs within the slots, in place of the smallest owned ones.

use std::collections::BTreeMap;

use super::change::{Action, Change, Note};
use super::spread::{spread, spread_to};
use crate::lab::HostMemory;

/// A number of modules of one size `[B]`.
type Batch = (f64, usize);

/// Most sizes for sale that are combined.
const MOST_SIZES: usize = 48;
/// Most baskets that are weighed. A board of up to 100 slots is searched whole with ten sizes for sale.
const MOST_BASKETS: usize = 200_000;
/// Most sums of memory that are offered.
const MOST_SUMS: usize = 200;

/// Purchases of modules that leave the host with more memory.
pub(super) struct Purchases {
    /// The cheapest for each sum, by sum.
    pub offered: Vec<Change>,
    /// How many more sums are within reach that are not offered.
    pub left_out: usize,
}

/// Purchases that leave the host with more memory, the cheapest for each sum, by sum.
///
/// Modules of one or two sizes are bought in pairs (one alone only for a board of one slot, or to match an odd one that
/// is owned), fill free slots first and then replace the smallest owned ones. Afterwards every size is there an even
/// number of times. Without `slots` the board is taken to be full. Where very many sums are within reach, those that
/// cost as much as a larger one are dropped, then the larger ones are taken at growing distances.
pub(super) fn purchases(memory: &HostMemory) -> Purchases {
    let board = Board::new(memory);
    // Sums are positive, so their bits are in the order of their values.
    let mut cheapest: BTreeMap<u64, Plugged> = BTreeMap::new();
    board.each_basket(|basket| {
        let Some((sum, plugged)) = board.plugged(basket) else {
            return;
        };
        let kept = cheapest.entry(sum.to_bits()).or_insert(plugged);
        if (plugged.price, plugged.number) < (kept.price, kept.number) {
            *kept = plugged;
        }
    });
    let reached = cheapest.len();
    let mut sums: Vec<Plugged> = cheapest.into_values().collect();
    if reached > MOST_SUMS {
        let mut least = f64::INFINITY;
        sums.reverse();
        sums.retain(|one| {
            let cheaper = one.price < least;
            least = least.min(one.price);
            cheaper
        });
        sums.reverse();
    }
    let offered = spread(sums.len(), MOST_SUMS).map(|index| board.change(&sums[index]));
    let offered: Vec<Change> = offered.collect();
    Purchases {
        left_out: reached - offered.len(),
        offered,
    }
}

/// What is bought at once: modules of one size, or of two; places of the sizes, and numbers.
type Basket = [(usize, usize); 2];

/// A purchase of modules that can be plugged in.
#[derive(Clone, Copy)]
struct Plugged {
    basket: Basket,
    price: f64,
    /// How many of the smallest owned ones come out.
    out: usize,
    /// How many modules there are afterwards.
    number: usize,
}

/// Modules and slots of a host, and what is for sale.
struct Board {
    /// Sizes of the owned modules, ascending `[B]`.
    owned: Vec<f64>,
    /// What is left where so many of the smallest come out.
    left: Vec<Left>,
    slots: usize,
    slots_known: bool,
    /// Sizes that the board takes `[B]`, ascending, and their prices `[money]`.
    offers: Vec<(f64, f64)>,
}

/// Owned modules without the smallest ones.
#[derive(Clone, Copy)]
struct Left {
    /// Their sum `[B]`.
    sum: f64,
    /// How many sizes are there an odd number of times, and one of them `[B]`.
    odd: (usize, f64),
    /// How many come out until every size is there an even number of times, these ones included.
    paired: usize,
}

impl Board {
    fn new(memory: &HostMemory) -> Board {
        let mut owned = memory.modules.clone();
        owned.sort_by(f64::total_cmp);
        let largest = memory.max_module.unwrap_or(f64::INFINITY);
        let slots = memory.slots.and_then(|slots| usize::try_from(slots).ok());
        let offers = memory.module_prices.iter().copied();
        let offers: Vec<(f64, f64)> = offers.filter(|(size, _)| *size <= largest).collect();
        Board {
            slots: slots.unwrap_or(owned.len()),
            slots_known: memory.slots.is_some(),
            left: left(&owned),
            owned,
            offers: spread(offers.len(), MOST_SIZES)
                .map(|index| offers[index])
                .collect(),
        }
    }

    /// What may be bought at once: one module, or pairs of one size or two, at most as many as there are slots.
    fn each_basket(&self, mut found: impl FnMut(Basket)) {
        let (pairs, sizes) = (self.slots / 2, self.offers.len());
        // With c counts of each size there are at most c²/2 baskets of each two sizes.
        let most = (4 * MOST_BASKETS / (sizes * sizes).max(1)).isqrt().max(2);
        let counts: Vec<usize> = spread_to(pairs, most).collect();
        for size in 0..sizes {
            found([(size, 1), (size, 0)]);
            for &of_this in &counts {
                found([(size, 2 * of_this), (size, 0)]);
                for other in 0..size {
                    let room = counts.iter().take_while(|count| **count <= pairs - of_this);
                    for of_other in room {
                        found([(size, 2 * of_this), (other, 2 * of_other)]);
                    }
                }
            }
        }
    }

    /// The sum of memory afterwards `[B]` and the purchase, if it can be plugged in so that pairs match and there is more.
    fn plugged(&self, basket: Basket) -> Option<(f64, Plugged)> {
        let [(size, number), (_, other)] = basket;
        let count = number + other;
        let least = self.least_out(count);
        let left = self.left.get(least)?;
        let out = match count {
            _ if self.slots <= 1 => least,
            1 => {
                let matched = (1, self.offers[size].0);
                least
                    + self.left[least..]
                        .iter()
                        .position(|left| left.odd == matched)?
            }
            _ => left.paired,
        };
        let of = |(size, number): (usize, usize)| {
            let (bytes, price) = self.offers[size];
            (bytes * number as f64, price * number as f64)
        };
        let [one, two] = basket.map(of);
        let sum = self.left[out].sum + (one.0 + two.0);
        let plugged = Plugged {
            basket,
            price: one.1 + two.1,
            out,
            number: self.owned.len() - out + count,
        };
        (sum > self.left[0].sum).then_some((sum, plugged))
    }

    /// How many owned modules have to make room for so many.
    fn least_out(&self, count: usize) -> usize {
        (self.owned.len() + count).saturating_sub(self.slots)
    }

    /// The purchase as a change.
    fn change(&self, plugged: &Plugged) -> Change {
        let Plugged {
            basket, price, out, ..
        } = *plugged;
        let bought = basket.into_iter().filter(|(_, number)| *number > 0);
        let bought: Vec<Batch> = bought
            .map(|(size, number)| (self.offers[size].0, number))
            .collect();
        let count = bought.iter().map(|(_, number)| number).sum();
        let action = Action::Modules {
            bought,
            replaced: batches(&self.owned[..out]),
            reason: (out > 0).then(|| self.reason(self.least_out(count))),
        };
        Change {
            action,
            price: Some(price),
        }
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

/// What is left of owned modules, sorted by size, where 0, 1, 2 … of them come out.
fn left(owned: &[f64]) -> Vec<Left> {
    let mut last = Left {
        sum: 0.0,
        odd: (0, 0.0),
        paired: owned.len(),
    };
    let mut all = vec![last];
    // An odd number of a larger size that all smaller ones leave as it is.
    let (mut below, mut size) = ((0, 0.0), f64::NAN);
    let mut number: usize = 0;
    for (index, &next) in owned.iter().enumerate().rev() {
        if next != size {
            (below, size, number) = (last.odd, next, 0);
        }
        number += 1;
        last.sum += next;
        last.odd = match number.is_multiple_of(2) {
            true => below,
            false => (below.0 + 1, next),
        };
        if last.odd.0 == 0 {
            last.paired = index;
        }
        all.push(last);
    }
    all.reverse();
    all
}

/// Sizes that are next to each other, each with its number.
fn batches(sizes: &[f64]) -> Vec<Batch> {
    let runs = sizes.chunk_by(|one, next| one == next);
    runs.map(|run| (run[0], run.len())).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::collection::vec;
    use proptest::prelude::{prop_assert_eq, proptest};

    use super::super::change::{Action, Change, Note, changed};
    use super::{MOST_SUMS, purchases};
    use crate::inventory::load_text;
    use crate::lab::{Host, HostMemory, with_given};
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
        let all = purchases(&host.memory).offered;
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
            let all = purchases(&host.memory).offered;
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
        let largest = purchases(&odd.memory).offered.last().map(out);
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

    #[test]
    fn a_board_of_a_million_slots_offers_few_sums_the_small_ones_whole() {
        let host = host(&format!(
            "modules = [\"16 GiB\", \"16 GiB\"]\nslots = 1000000\n{PRICES}"
        ));
        let found = purchases(&host.memory);
        assert_eq!(found.offered.len(), MOST_SUMS);
        assert!(found.left_out > 10_000, "{}", found.left_out);
        let prices = found.offered.iter().map(|one| one.price);
        assert!(prices.is_sorted_by(|one, next| one < next));
        let few = sums(&format!(
            "modules = [\"16 GiB\", \"16 GiB\"]\nslots = 60\n{PRICES}"
        ));
        let many = sums(&format!(
            "modules = [\"16 GiB\", \"16 GiB\"]\nslots = 600\n{PRICES}"
        ));
        assert_eq!(few[..20], many[..20]);
    }

    /// The cheapest price of each sum afterwards, by trying every purchase.
    fn by_brute_force(owned: &[f64], slots: usize, offers: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut owned = owned.to_vec();
        owned.sort_by(f64::total_cmp);
        let pairs = || (0..=slots / 2).map(|pairs| 2 * pairs);
        let mut baskets: Vec<Vec<(f64, f64)>> = offers.iter().map(|offer| vec![*offer]).collect();
        for (index, one) in offers.iter().enumerate() {
            for (first, second) in pairs().flat_map(|one| pairs().map(move |two| (one, two))) {
                for other in &offers[..index.max(1)] {
                    let basket = [vec![*one; first], vec![*other; second]].concat();
                    baskets.push(basket);
                }
            }
        }
        let even = |all: &[f64]| {
            let times = |size: &f64| all.iter().filter(|one| *one == size).count();
            all.iter().all(|size| times(size).is_multiple_of(2))
        };
        let mut best: BTreeMap<u64, f64> = BTreeMap::new();
        for basket in baskets.into_iter().filter(|basket| !basket.is_empty()) {
            let bought: Vec<f64> = basket.iter().map(|(size, _)| *size).collect();
            let after = |out: &usize| [&owned[*out..], &bought[..]].concat();
            let fits = |out: &usize| after(out).len() <= slots && (slots <= 1 || even(&after(out)));
            let Some(out) = (0..=owned.len()).find(fits) else {
                continue;
            };
            let sum: f64 = after(&out).iter().sum();
            let price: f64 = basket.iter().map(|(_, price)| price).sum();
            let kept = best.entry(sum.to_bits()).or_insert(price);
            *kept = kept.min(price);
        }
        best.into_iter()
            .map(|(sum, price)| (f64::from_bits(sum), price))
            .filter(|(sum, _)| *sum > owned.iter().sum())
            .collect()
    }

    proptest! {
        #[test]
        fn purchases_are_the_cheapest_for_each_sum_by_brute_force(
            owned in vec(1u8..5, 1..6),
            slots in 0usize..9,
            prices in vec(1u8..9, 1..4),
        ) {
            let owned: Vec<f64> = owned.iter().map(|size| f64::from(*size) * 8.0 * GIB).collect();
            let offers: Vec<(f64, f64)> = prices
                .iter()
                .enumerate()
                .map(|(index, price)| ((index + 1) as f64 * 8.0 * GIB, f64::from(*price)))
                .collect();
            let slots = owned.len() + slots;
            let memory = HostMemory {
                slots: Some(slots as u64),
                module_prices: offers.clone(),
                modules: owned.clone(),
                ..with_given(&[])
            };
            let total: f64 = owned.iter().sum();
            let found = purchases(&memory).offered;
            let found = found.iter().map(|one| {
                let Action::Modules { bought, replaced, .. } = &one.action else {
                    panic!("{one:?}")
                };
                let bytes = |all: &[(f64, usize)]| all.iter().map(|(size, n)| size * *n as f64).sum::<f64>();
                let sum = total - bytes(replaced) + bytes(bought);
                (sum, one.price.expect("a price"))
            });
            prop_assert_eq!(found.collect::<Vec<_>>(), by_brute_force(&owned, slots, &offers));
        }
    }
}
