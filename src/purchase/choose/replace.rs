//! Replacing an old host by new ones: what it saves a year and when it has paid back.

use serde::Serialize;

use super::candidate::held;
use super::criteria::Criteria;
use super::multiple::{Multiple, fewest_spread};
use crate::fleet::hosts::with_restarted;
use crate::lab::{Host, Lab};
use crate::model::cost;
use crate::purchase::money::{energy_per_year, is_within, or_infinite};
use crate::sizing::host::HostModel;

/// What replacing a host saves.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct Replacing {
    /// Name of the old host.
    pub old: String,
    /// Guests that are to run.
    pub guests: u64,
    /// Whether the old host holds them.
    pub holds: bool,
    /// At the wall with them `[W]`.
    pub watts: Option<f64>,
    /// Energy of a year in money.
    pub running_per_year: Option<f64>,
    /// What could replace it, least cost over the years first.
    pub by: Vec<Replacement>,
}

/// One or several equal hosts in place of the old one.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct Replacement {
    /// Name of the new host.
    pub name: String,
    /// How many of it.
    pub hosts: u64,
    /// Guests that run on when one of them fails, the worst one: those of the others, and those that start again there.
    pub after_failure: u64,
    /// Their price.
    pub price: Option<f64>,
    /// At the wall, all together `[W]`.
    pub watts: Option<f64>,
    /// Saved a year; negative where they cost more to run.
    pub saved_per_year: Option<f64>,
    /// When that has paid back their price `[years]`; null for never, or where price or power is not known.
    pub years: Option<f64>,
    /// Price and energy over the years of the lab.
    pub total: Option<f64>,
}

/// Most candidates that guests are placed on; of a larger catalogue those that a rough estimate puts first.
const MOST_PLACED: usize = 50;
/// Most replacements in the answer.
const MOST_LISTED: usize = 10;

/// What could replace `old` with the guests that are needed, or those that it holds, within the budget and the power
/// of the criteria; both are of all replacing hosts together.
///
/// Guests are placed on as few equal hosts as first fit takes, spread over them; every host is judged by the laws of `fit`.
pub fn replacing(lab: &Lab, old: &Host, hosts: &[&Host], criteria: &Criteria) -> Replacing {
    let model = HostModel::new(lab, old);
    let need = criteria.need.clone().unwrap_or_else(|| held(&model));
    let watts = model.most_watts(&need);
    let average = model.average_watts(&need);
    let running = average.and_then(|watts| energy_per_year(lab, watts));
    let others = hosts.iter().filter(|host| host.name != old.name);
    let mut by_cost: Vec<(f64, &Host)> = others
        .map(|host| (about(lab, host, &need) * or_infinite(host.price), *host))
        .collect();
    by_cost.sort_by(|one, other| one.0.total_cmp(&other.0));
    let twice = with_restarted(lab);
    let mut by: Vec<Replacement> = by_cost
        .iter()
        .take(MOST_PLACED)
        .filter_map(|(_, host)| {
            let several = fewest_spread(lab, &twice, host, &need)?;
            Some(replacement(several, running))
        })
        .filter(|one| is_within(one.price, criteria.budget))
        .filter(|one| is_within(one.watts, criteria.max_watts))
        .collect();
    by.sort_by(|one, other| or_infinite(one.total).total_cmp(&or_infinite(other.total)));
    by.truncate(MOST_LISTED);
    Replacing {
        old: old.name.clone(),
        guests: need.iter().sum(),
        holds: model.passed(&need).is_empty(),
        watts,
        running_per_year: running,
        by,
    }
}

/// Equal hosts in place of one whose energy costs `old_running` a year.
fn replacement(several: Multiple, old_running: Option<f64>) -> Replacement {
    let saved = old_running.zip(several.running_per_year);
    let saved = saved.map(|(old, new)| old - new);
    let prices = several.price.zip(saved);
    Replacement {
        name: several.name,
        hosts: several.hosts,
        after_failure: several.after_failure,
        price: several.price,
        watts: several.watts,
        saved_per_year: saved,
        years: prices.and_then(|(price, saved)| cost::break_even(price, saved)),
        total: several.total,
    }
}

/// About how many hosts the guests fill: the largest mean demand over its limit.
fn about(lab: &Lab, host: &Host, need: &[u64]) -> f64 {
    let model = HostModel::new(lab, host);
    let constraints = model.considered().into_iter();
    let constraints = constraints.filter_map(|one| one.constraints(&model, need));
    let fullest = constraints.map(|one| one.mean_load()).fold(0.0, f64::max);
    fullest.ceil().max(1.0)
}
