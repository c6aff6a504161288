//! What one host holds and costs.

use std::cmp::Ordering;

use serde::Serialize;

use super::criteria::Sort;
use crate::lab::{Host, Lab};
use crate::purchase::money::{energy_per_year, or_infinite};
use crate::sizing::growth::lasts;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, lowest};
use crate::sizing::named::Named;
use crate::sizing::search::Largest;

/// One host.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct Candidate {
    /// Name.
    pub name: String,
    /// Whether it holds what is needed; without a need, whether it holds anything.
    pub holds: bool,
    /// Resources whose limit is passed.
    #[serde(rename = "breaks")]
    pub passed: Vec<Named>,
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
    /// Months until it is full if guests keep coming, null for 20 years or more; left out where none come.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("type" = ["number", "null"]))]
    pub full_in_months: Option<f64>,
    /// The most guests that it holds by the mix; none where a number of guests is needed.
    #[serde(skip)]
    pub most: Option<u64>,
}

/// The most guests that a host holds by the mix of the lab.
fn most(model: &HostModel) -> Largest {
    lowest(model, &Hint::plain(model)).largest
}

/// The guests that a host holds by the mix of the lab.
pub(super) fn held(model: &HostModel) -> Vec<u64> {
    model.composition.counts(most(model).bound().unwrap_or(0))
}

impl Candidate {
    /// What a host holds and costs with the guests that are needed, or as many as fit.
    pub(super) fn new(lab: &Lab, host: &Host, need: Option<&[u64]>) -> Candidate {
        let model = HostModel::new(lab, host);
        let largest = need.is_none().then(|| most(&model));
        let by_mix = largest.and_then(Largest::bound).unwrap_or(0);
        let counts = need.map_or_else(|| model.composition.counts(by_mix), <[u64]>::to_vec);
        let guests: u64 = counts.iter().sum();
        let passed = match largest {
            Some(Largest::Bound(_) | Largest::Unbounded) => Vec::new(),
            Some(Largest::Infeasible) | None => model.passed(&counts),
        };
        let holds_any = need.is_some() || guests > 0 || largest == Some(Largest::Unbounded);
        let holds = passed.is_empty() && holds_any;
        let watts = model.most_watts(&counts);
        let average = model.average_watts(&counts);
        let yearly = average.and_then(|watts| energy_per_year(lab, watts));
        let total = match (host.price, yearly, lab.tariff) {
            (Some(price), Some(yearly), _) => Some(price + lab.years * yearly),
            // Without a tariff energy does not count; with one, a host of unknown power has no known cost.
            (price, _, None) => price,
            _ => None,
        };
        Candidate {
            name: host.name.clone(),
            holds,
            passed: Named::all(&model, &passed),
            guests,
            price: host.price,
            watts,
            running_per_year: yearly,
            total,
            per_guest: total
                .filter(|_| guests > 0 && holds)
                .map(|total| total / guests as f64),
            full_in_months: lasts(&model, need),
            most: largest.and_then(Largest::bound),
        }
    }

    /// Hosts that hold what is needed first, then by the criterion, then by cost and price.
    pub(super) fn rank(&self, other: &Candidate, sort: Sort) -> Ordering {
        let less = |value: fn(&Candidate) -> Option<f64>| {
            or_infinite(value(self)).total_cmp(&or_infinite(value(other)))
        };
        let by_sort = match sort {
            Sort::Cost => less(|host| host.total),
            Sort::Price => less(|host| host.price),
            Sort::Watts => less(|host| host.watts),
            Sort::Guests => other.guests.cmp(&self.guests),
            Sort::CostPerGuest => less(|host| host.per_guest),
            Sort::Name => self.name.cmp(&other.name),
        };
        other
            .holds
            .cmp(&self.holds)
            .then(by_sort)
            .then_with(|| less(|host| host.total))
            .then_with(|| less(|host| host.price))
    }
}
