//! Several purchases at once, within a budget.

use super::answer::Choice;
use super::change::{Change, Changes};
use super::evaluate::{Evaluator, Work};
use crate::sizing::search::Largest;

/// Most combinations that are searched; past it the kinds with the most options are thinned. It does not depend on the
/// budget, so that a larger budget never gives less.
const MOST: usize = 20_000;
/// Most resources looked at in all combinations together.
const MOST_LOOKS: usize = 2_000_000;

/// All combinations of two kinds or more within the budget, as far as they are few enough; none without a budget.
pub(super) fn combinations(work: &Work, evaluator: &Evaluator) -> Vec<Choice> {
    let Some(budget) = work.budget else {
        return Vec::new();
    };
    let priced = work.kinds.iter().map(|offers| -> Vec<&Change> {
        let priced = offers.iter().filter(|offer| offer.price.is_some());
        priced.collect()
    });
    let mut priced: Vec<Vec<&Change>> = priced.filter(|offers| !offers.is_empty()).collect();
    let resources = evaluator.hint.order.len().max(1);
    thin(&mut priced, MOST.min(MOST_LOOKS / resources));
    let several = sets(&priced).into_iter().filter(|set| set.len() > 1);
    let several = several
        .map(|set| Changes(set.into_iter().cloned().collect()))
        .filter(|changes| changes.price().is_some_and(|price| price <= budget));
    work.choices(evaluator, several.map(|changes| changes.0).collect())
}

/// Those of the choices, cheapest first, that hold more than `floor` and than anything that costs no more.
pub(super) fn unmatched(
    mut choices: Vec<Choice>,
    others: &[Choice],
    floor: Largest,
) -> Vec<Choice> {
    choices.sort_by(Choice::by_price);
    let mut kept: Vec<Choice> = Vec::new();
    for choice in choices {
        let mut cheaper = others.iter().chain(&kept);
        if choice.largest > floor && !cheaper.any(|one| choice.is_matched_by(one)) {
            kept.push(choice);
        }
    }
    kept
}

/// Drops every second option of the longest kind until there are at most so many combinations.
fn thin(kinds: &mut [Vec<&Change>], most: usize) {
    let size = |kinds: &[Vec<&Change>]| {
        kinds.iter().fold(1_usize, |product, offers| {
            product.saturating_mul(offers.len() + 1)
        })
    };
    while size(kinds) > most {
        let Some(longest) = kinds.iter_mut().max_by_key(|offers| offers.len()) else {
            return;
        };
        *longest = longest.iter().copied().skip(1).step_by(2).collect();
    }
}

/// All sets of at most one change of each kind.
fn sets<'c>(kinds: &[Vec<&'c Change>]) -> Vec<Vec<&'c Change>> {
    let Some((offers, rest)) = kinds.split_first() else {
        return vec![Vec::new()];
    };
    let rest = sets(rest);
    let mut all = rest.clone();
    for offer in offers {
        all.extend(rest.iter().map(|others| [&[*offer], &others[..]].concat()));
    }
    all
}
