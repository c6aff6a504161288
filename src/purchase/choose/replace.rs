//! Replacing an old host by new ones: what it saves a year and when it has paid back.

use serde::Serialize;

use super::{Wish, known};
use crate::fleet::hosts::{Hosts, with_restarted};
use crate::fleet::place::{Order, Rule, counts, ordered, place, used};
use crate::fleet::room::Counts;
use crate::lab::{Host, Lab};
use crate::model::{cost, power};
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
    /// What could stand in its place, least cost over the years first.
    pub by: Vec<Replacement>,
}

/// One or several equal hosts in place of the old one.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct Replacement {
    /// Name of the new host.
    pub name: String,
    /// How many of it.
    pub hosts: u64,
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

/// Most equal hosts that are put in place of one.
const MOST_HOSTS: usize = 32;
/// Candidates that guests are placed on in full; the rest of a catalogue is passed over by a rough estimate.
const LOOKED_AT: usize = 50;
/// Replacements that are told.
const TOLD: usize = 10;

/// What could replace `old` with the guests of `need` (a count for each profile) within the budget and the watts of a
/// wish, which are of all hosts that stand in its place together.
///
/// Guests are placed by first fit on as few equal hosts as that takes; every host is judged by the laws of `fit`.
#[must_use]
pub fn replacing(lab: &Lab, old: &Host, hosts: &[&Host], need: &[u64], wish: &Wish) -> Replacing {
    let model = HostModel::new(lab, old);
    let yearly = |watts: f64| {
        lab.tariff
            .map(|tariff| cost::running(1.0, power::kwh_per_year(watts), tariff))
    };
    let watts = model.mean_watts(need);
    let running = watts.and_then(yearly);
    let mut rough: Vec<(f64, &Host)> = hosts
        .iter()
        .filter(|host| host.name != old.name)
        .map(|host| (about(lab, host, need) * known(host.price), *host))
        .collect();
    rough.sort_by(|one, other| one.0.total_cmp(&other.0));
    let twice = with_restarted(lab);
    let mut by: Vec<Replacement> = rough
        .iter()
        .take(LOOKED_AT)
        .filter_map(|(_, host)| {
            let placed = fewest(&twice, host, need)?;
            let model = HostModel::new(lab, host);
            let running_hosts = placed.iter().filter(|own| own.iter().any(|n| *n > 0));
            let new_watts = running_hosts
                .map(|own| model.mean_watts(own))
                .try_fold(0.0, |sum, watts| Some(sum + watts?));
            let number = used(&placed) as u64;
            let price = host.price.map(|price| price * number as f64);
            let new_running = new_watts.and_then(yearly);
            let saved = running.zip(new_running).map(|(old, new)| old - new);
            Some(Replacement {
                name: host.name.clone(),
                hosts: number,
                price,
                watts: new_watts,
                saved_per_year: saved,
                years: price
                    .zip(saved)
                    .and_then(|(price, saved)| cost::break_even(price, saved)),
                total: price
                    .zip(new_running)
                    .map(|(price, running)| price + lab.years * running),
            })
        })
        .collect();
    let within = |value: Option<f64>, most: Option<f64>| {
        most.is_none_or(|most| value.is_some_and(|value| value <= most))
    };
    by.retain(|one| within(one.price, wish.budget) && within(one.watts, wish.max_watts));
    by.sort_by(|one, other| known(one.total).total_cmp(&known(other.total)));
    by.truncate(TOLD);
    Replacing {
        old: old.name.clone(),
        guests: need.iter().sum(),
        holds: super::passed(&model, need).is_empty(),
        watts,
        running_per_year: running,
        by,
    }
}

/// The guests on as few equal hosts as first fit takes; none where too many are needed or a guest fits nowhere.
fn fewest(twice: &Lab, host: &Host, need: &[u64]) -> Option<Counts> {
    let same = vec![host; MOST_HOSTS];
    let room = Hosts::new(twice, &same);
    let hosts: Vec<usize> = (0..MOST_HOSTS).collect();
    let queue = ordered(&room, need, Order::Largest);
    let places = place(&room, &queue, &hosts, Rule::First);
    places
        .iter()
        .all(Option::is_some)
        .then(|| counts(&room, &queue, &places))
}

/// About how many hosts the guests fill: the largest mean demand over its limit.
fn about(lab: &Lab, host: &Host, need: &[u64]) -> f64 {
    let model = HostModel::new(lab, host);
    let loads = crate::sizing::resource::Resource::all(&model)
        .into_iter()
        .filter_map(|one| one.constraint(&model, need))
        .map(|constraint| {
            let limit = constraint.mean_limit.unwrap_or(constraint.limit);
            if limit > 0.0 {
                constraint.mean() / limit
            } else {
                f64::INFINITY
            }
        });
    loads.fold(0.0, f64::max).ceil().max(1.0)
}
