//! What one purchase adds to a host, and which purchases add the most for their money.

mod bench;
mod combine;
mod containers;
mod modules;
mod parts;

use schemars::JsonSchema;
use serde::Serialize;

use crate::lab::Lab;
use crate::sizing::answer::Outcome;
use crate::sizing::composition::Unit;
use crate::sizing::fit::{CONTRACT, find_all};
use crate::sizing::host::HostModel;
use crate::sizing::lowest::Hint;
use crate::sizing::resource::Resource;
use crate::sizing::search::{Largest, MOST_GUESTS};
use bench::{Bench, further_host};

/// Answer of `upgrade`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UpgradeAnswer {
    /// Always `"upgrade"`.
    #[schemars(extend("const" = "upgrade"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Name of the host.
    pub host: String,
    /// What counts count: `guests` or `sets`.
    pub unit: &'static str,
    /// Money that may be spent, if that was said.
    pub budget: Option<f64>,
    /// The host as it is.
    pub now: Now,
    /// What could be bought, most guests for the money first.
    pub options: Vec<Choice>,
    /// The option (counted from 0) with most guests within the budget, without one that with most guests for the money;
    /// null where nothing that has a price gains anything. The guests stay what they are in it: no containers.
    pub best: Option<usize>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// The host as it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Now {
    /// Largest N within every limit.
    pub fits: Option<u64>,
    /// Resources that set it.
    pub binds: Vec<String>,
    /// The same as resources, for their words.
    #[serde(skip)]
    pub binding: Vec<Resource>,
}

/// One purchase, or several at once.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Choice {
    /// What is done.
    pub change: String,
    /// What it costs; null where the lab names no price.
    pub price: Option<f64>,
    /// Largest N afterwards; null as in `fit`.
    pub fits: Option<u64>,
    /// Guests gained; null where nothing runs out any more.
    pub gain: Option<i64>,
    /// Guests gained per 100 of money; null where it costs nothing or has no price.
    pub gain_per_100: Option<f64>,
    /// Resources that run out first afterwards.
    pub binds: Vec<String>,
    /// Owned parts that it replaces.
    pub replaces: Vec<String>,
    /// What to know about it.
    pub note: Option<String>,
    /// Whether the guests run as containers in it, which is no purchase and another question.
    pub containers: bool,
    /// The resources that run out first afterwards, for their words.
    #[serde(skip)]
    pub binding: Vec<Resource>,
    /// Whether the guests that must run still do not fit.
    #[serde(skip)]
    pub largest: Largest,
}

/// Most further hosts of the kind that are looked at within a budget; without one it is one.
const MOST_HOSTS: u64 = 8;

/// What could be bought for a host of the lab (by its place), and what each purchase adds.
///
/// Prices are the lab's own. Without a budget single purchases are listed; with one also combinations that it allows and
/// that no cheaper purchase equals. A larger budget only ever adds options.
#[must_use]
pub fn upgrade(lab: &Lab, host: usize, budget: Option<f64>) -> UpgradeAnswer {
    let base = lab.alone(host);
    let model = HostModel::new(&base, &base.hosts[0]);
    let found = find_all(&model);
    let bench = Bench {
        lab: &base,
        hint: Hint::from_found(&found),
        alone: further_host(&base),
    };
    let now = bench.search(&[]);
    let affordable = |choice: &Choice| {
        choice
            .price
            .is_none_or(|price| budget.is_none_or(|budget| price <= budget))
    };
    let kinds = parts::kinds(&base, budget.map_or(1, |_| MOST_HOSTS));
    let mut options: Vec<Choice> = kinds
        .iter()
        .flatten()
        .map(|part| bench.choice(std::slice::from_ref(part), &now))
        .collect();
    let mut contained = containers::rows(&base, &now, &kinds, budget, &options);
    options.retain(affordable);
    contained.retain(affordable);
    if let Some(budget) = budget {
        let combined = combine::all(&bench, &now, &kinds, budget);
        options.extend(combine::unbeaten(combined, &options, now.largest));
    }
    options.extend(contained);
    // Stable, so equals stay in the order of kinds: modules, disks, link, hosts.
    options.sort_by(by_worth);
    // What has no price cannot be told from one that is too high.
    let gains = |choice: &Choice| {
        choice.price.is_some() && !choice.containers && rank(choice.largest) > rank(now.largest)
    };
    let mut gaining = (0..options.len()).filter(|index| gains(&options[*index]));
    let best = match budget {
        Some(_) => gaining.max_by(|one, other| by_count(&options[*one], &options[*other])),
        None => gaining.next(),
    };
    let outcome = match (now.largest, best.map(|index| options[index].largest)) {
        (Largest::Infeasible, Some(Largest::Infeasible) | None) => Outcome::DoesNotFit,
        _ => Outcome::Fits,
    };
    UpgradeAnswer {
        report: "upgrade",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: base.hosts[0].name.clone(),
        unit: match model.composition.unit() {
            Unit::Guests => "guests",
            Unit::Sets => "sets",
        },
        budget,
        now: Now {
            fits: bound(now.largest),
            binds: names(&model, &now.binding),
            binding: now.binding,
        },
        options,
        best,
        outcome,
    }
}

/// A count to compare by: broken below all, unbounded above all.
fn rank(largest: Largest) -> i64 {
    match largest {
        Largest::Infeasible => -1,
        Largest::Bound(n) => i64::try_from(n).unwrap_or(i64::MAX),
        Largest::Unbounded => MOST_GUESTS as i64 + 1,
    }
}

fn bound(largest: Largest) -> Option<u64> {
    match largest {
        Largest::Bound(n) => Some(n),
        Largest::Infeasible | Largest::Unbounded => None,
    }
}

fn names(model: &HostModel, binding: &[Resource]) -> Vec<String> {
    binding.iter().map(|one| one.name(model)).collect()
}

/// Most guests for the money first: free gains, then by gain per money, gains without a price, and what gains nothing.
fn by_worth(one: &Choice, other: &Choice) -> std::cmp::Ordering {
    let class = |choice: &Choice| match (choice.gain, choice.price) {
        (Some(gain), _) if gain <= 0 => 3,
        (_, Some(0.0)) => 0,
        (_, Some(_)) => 1,
        (_, None) => 2,
    };
    let worth = |choice: &Choice| choice.gain_per_100.unwrap_or(0.0);
    let price = |choice: &Choice| choice.price.unwrap_or(f64::INFINITY);
    class(one)
        .cmp(&class(other))
        .then(worth(other).total_cmp(&worth(one)))
        .then(rank(other.largest).cmp(&rank(one.largest)))
        .then(price(one).total_cmp(&price(other)))
}

/// More guests is more, then the lower price, then the earlier of two.
fn by_count(one: &Choice, other: &Choice) -> std::cmp::Ordering {
    let price = |choice: &Choice| choice.price.unwrap_or(f64::INFINITY);
    rank(one.largest)
        .cmp(&rank(other.largest))
        .then(price(other).total_cmp(&price(one)))
        .then(std::cmp::Ordering::Greater)
}
