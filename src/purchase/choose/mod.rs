//! Choosing from many hosts: which hold what is needed, what each costs over the years, and which is cheapest.

mod candidate;
mod pay_back;
pub mod replace;

use std::cmp::Ordering;
use std::collections::BTreeMap;

use rayon::prelude::{IntoParallelRefIterator, ParallelIterator};
use serde::Serialize;

use crate::lab::{Host, Lab};
use crate::sizing::answer::Outcome;
use crate::sizing::resource::Resource;
use candidate::candidate;
pub use candidate::passed;
use pay_back::pay_backs;
pub use pay_back::{BreakEven, side_by_side};
use replace::Replacing;

/// What hosts are ranked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Price and energy over the years of the lab.
    Cost,
    /// Price.
    Price,
    /// Power at the wall.
    Watts,
    /// Guests held.
    Guests,
    /// Cost per guest.
    CostPerGuest,
    /// Name.
    Name,
}

impl Sort {
    /// The word on the command line and in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Sort::Cost => "cost",
            Sort::Price => "price",
            Sort::Watts => "watts",
            Sort::Guests => "guests",
            Sort::CostPerGuest => "cost-per-guest",
            Sort::Name => "name",
        }
    }
}

/// What is wanted of a host.
#[derive(Debug, Clone)]
pub struct Wish {
    /// How many of each profile must run; without it the mix of the lab is multiplied as in `fit`.
    pub need: Option<Vec<u64>>,
    /// Most that it may cost to buy `[money]`.
    pub budget: Option<f64>,
    /// Most that it may draw with those guests `[W]`.
    pub max_watts: Option<f64>,
    /// What hosts are ranked by.
    pub sort: Sort,
}

/// Hosts ranked.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct ChoiceAnswer {
    /// How many of each guest must run; null where the mix was multiplied.
    pub need: Option<BTreeMap<String, u64>>,
    /// Most that a host may cost.
    pub budget: Option<f64>,
    /// Most that it may draw.
    pub max_watts: Option<f64>,
    /// What hosts are ranked by.
    pub sort: &'static str,
    /// Years that energy is counted for.
    pub years: f64,
    /// Hosts looked at.
    pub considered: usize,
    /// Hosts left out because of their price, or because they have none.
    pub over_budget: usize,
    /// Hosts left out because of their power, or because it is not known.
    pub over_watts: usize,
    /// Hosts that hold what is needed.
    pub holding: usize,
    /// Name of the cheapest of them over the years; null where none holds it or costs are not known.
    pub cheapest: Option<String>,
    /// The hosts, those that hold it first.
    pub ranking: Vec<Candidate>,
    /// When dearer hosts have paid back.
    pub break_even: Vec<BreakEven>,
    /// What replacing an old host saves, if that was asked.
    pub replacing: Option<Replacing>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// One host.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct Candidate {
    /// Name.
    pub name: String,
    /// Whether it holds what is needed; without a need, whether it holds anything.
    pub holds: bool,
    /// Resources whose limit is passed.
    pub breaks: Vec<String>,
    /// Guests that run on it: those needed, or as many as fit.
    pub guests: u64,
    /// Purchase.
    pub price: Option<f64>,
    /// At the wall with those guests, busy hour `[W]`.
    pub watts: Option<f64>,
    /// Energy of a year, an upper bound, in money.
    pub running_per_year: Option<f64>,
    /// Price and energy over the years; price alone where the lab has no tariff.
    pub total: Option<f64>,
    /// Total per guest.
    pub per_guest: Option<f64>,
    /// The resources whose limit is passed, for their words.
    #[serde(skip)]
    pub breaking: Vec<Resource>,
}

/// Ranks hosts by a wish.
#[must_use]
pub fn choose(lab: &Lab, hosts: &[&Host], wish: &Wish) -> ChoiceAnswer {
    let mut ranking: Vec<Candidate> = hosts
        .par_iter()
        .map(|host| candidate(lab, host, wish.need.as_deref()))
        .collect();
    let within = |value: Option<f64>, most: Option<f64>| {
        most.is_none_or(|most| value.is_some_and(|value| value <= most))
    };
    let considered = ranking.len();
    ranking.retain(|one| within(one.price, wish.budget));
    let affordable = ranking.len();
    ranking.retain(|one| within(one.watts, wish.max_watts));
    let left = ranking.len();
    // Stable, so equals stay in the order of the lab.
    ranking.sort_by(|one, other| rank(wish.sort, one, other));
    let holding = ranking.iter().filter(|one| one.holds).count();
    let cheapest = ranking
        .iter()
        .filter(|one| one.holds && one.total.is_some())
        .min_by(|one, other| known(one.total).total_cmp(&known(other.total)));
    ChoiceAnswer {
        need: wish.need.as_ref().map(|need| by_name(lab, need)),
        budget: wish.budget,
        max_watts: wish.max_watts,
        sort: wish.sort.word(),
        years: lab.years,
        considered,
        over_budget: considered - affordable,
        over_watts: affordable - left,
        holding,
        cheapest: cheapest.map(|one| one.name.clone()),
        break_even: if wish.need.is_some() {
            pay_backs(&ranking)
        } else {
            Vec::new()
        },
        ranking,
        replacing: None,
        outcome: if holding > 0 {
            Outcome::Fits
        } else {
            Outcome::DoesNotFit
        },
    }
}

/// Counts of profiles by name, those that are none left out.
#[must_use]
pub fn by_name(lab: &Lab, counts: &[u64]) -> BTreeMap<String, u64> {
    let pairs = lab.guests.iter().zip(counts).filter(|(_, n)| **n > 0);
    pairs.map(|(guest, n)| (guest.name.clone(), *n)).collect()
}

/// A number to compare by; what is not known comes last.
fn known(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::INFINITY)
}

fn rank(sort: Sort, one: &Candidate, other: &Candidate) -> Ordering {
    let less =
        |value: fn(&Candidate) -> Option<f64>| known(value(one)).total_cmp(&known(value(other)));
    let by_sort = match sort {
        Sort::Cost => less(|host| host.total),
        Sort::Price => less(|host| host.price),
        Sort::Watts => less(|host| host.watts),
        Sort::Guests => other.guests.cmp(&one.guests),
        Sort::CostPerGuest => less(|host| host.per_guest),
        Sort::Name => one.name.cmp(&other.name),
    };
    other
        .holds
        .cmp(&one.holds)
        .then(by_sort)
        .then(less(|host| host.total))
        .then(less(|host| host.price))
}
