//! Several purchases at once, within a budget.

use super::bench::{Bench, Held};
use super::parts::Part;
use super::{Choice, rank};
use crate::sizing::search::Largest;

/// Most combinations that are searched; past it the kinds with the most options are thinned. It does not depend on the
/// budget, so that a larger budget never gives less.
const MOST: usize = 20_000;

/// All combinations of two kinds or more within the budget, as far as they are few enough.
pub(super) fn all(bench: &Bench, now: &Held, kinds: &[Vec<Part>], budget: f64) -> Vec<Choice> {
    let mut priced: Vec<Vec<&Part>> = kinds
        .iter()
        .map(|parts| parts.iter().filter(|part| part.price().is_some()).collect())
        .collect();
    priced.retain(|parts: &Vec<&Part>| !parts.is_empty());
    thin(&mut priced);
    let mut combined = Vec::new();
    walk(&priced, &mut Vec::new(), 0.0, budget, &mut |parts| {
        combined.push(bench.choice(parts, now));
    });
    combined
}

/// Those of the choices, cheapest first, that hold more than `floor` and than anything that costs no more.
pub(super) fn unbeaten(mut choices: Vec<Choice>, others: &[Choice], floor: Largest) -> Vec<Choice> {
    let price = |choice: &Choice| choice.price.unwrap_or(f64::INFINITY);
    choices.sort_by(|one, other| {
        price(one)
            .total_cmp(&price(other))
            .then(rank(other.largest).cmp(&rank(one.largest)))
    });
    let mut kept: Vec<Choice> = Vec::new();
    for choice in choices {
        let beaten = others.iter().chain(&kept).any(|other| {
            price(other) <= price(&choice) && rank(other.largest) >= rank(choice.largest)
        });
        if !beaten && rank(choice.largest) > rank(floor) {
            kept.push(choice);
        }
    }
    kept
}

/// Drops every second option of the longest kind until the combinations are few enough.
fn thin(kinds: &mut [Vec<&Part>]) {
    let size = |kinds: &[Vec<&Part>]| {
        kinds.iter().fold(1_usize, |product, parts| {
            product.saturating_mul(parts.len() + 1)
        })
    };
    while size(kinds) > MOST {
        let Some(longest) = kinds.iter_mut().max_by_key(|parts| parts.len()) else {
            return;
        };
        let mut index = 0;
        longest.retain(|_| {
            index += 1;
            index % 2 == 0
        });
    }
}

/// All choices of at most one part of each kind, two parts or more, within the budget.
fn walk(
    kinds: &[Vec<&Part>],
    chosen: &mut Vec<Part>,
    spent: f64,
    budget: f64,
    found: &mut impl FnMut(&[Part]),
) {
    let Some((parts, rest)) = kinds.split_first() else {
        if chosen.len() > 1 {
            found(chosen);
        }
        return;
    };
    walk(rest, chosen, spent, budget, found);
    for part in parts {
        let price = part.price().unwrap_or(f64::INFINITY);
        if spent + price > budget {
            continue;
        }
        chosen.push((*part).clone());
        walk(rest, chosen, spent + price, budget, found);
        chosen.pop();
    }
}
