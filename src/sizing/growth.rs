//! When a host is full if guests keep coming.

use schemars::JsonSchema;
use serde::Serialize;

use super::count::Found;
use super::host::HostModel;
use super::named::Named;
use super::resource::Resource;
use crate::model::growth::{MONTH, come, time_there};
use crate::model::{YEAR, within};

/// How far ahead it is looked `[s]`.
const FARTHEST: f64 = 20.0 * YEAR;
/// A moment this near is found `[s]`.
const NEAR: f64 = 1.0;

/// When the first resource passes its limit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FullIn {
    /// Months from now; null where none does within 20 years.
    pub months: Option<f64>,
    /// Which resource it is.
    pub resource: Option<Named>,
    /// Guests then, or in 20 years.
    pub guests: u64,
    /// Price of the host over these months; null where either is not known.
    pub price_per_month: Option<f64>,
}

/// When the first resource passes its limit, and after how many months each does, in the order of those found; nothing
/// where no guests come.
pub(super) fn growth(model: &HostModel, found: &[Found]) -> (Option<FullIn>, Vec<Option<f64>>) {
    if model.lab.guests.iter().all(|guest| guest.grows <= 0.0) {
        return (None, vec![None; found.len()]);
    }
    let resources = found.iter().map(|one| one.resource);
    let months: Vec<Option<f64>> = resources
        .clone()
        .map(|resource| Some(passes_at(model, resource)? / MONTH))
        .collect();
    let first = resources
        .zip(&months)
        .filter_map(|(resource, months)| Some((resource, (*months)?)))
        .min_by(|one, other| one.1.total_cmp(&other.1));
    let time = first.map_or(FARTHEST, |(_, months)| months * MONTH);
    let full_in = FullIn {
        months: first.map(|(_, months)| months),
        resource: first.and_then(|(resource, _)| Named::all(model, &[resource]).pop()),
        guests: counts(model, time).iter().sum(),
        price_per_month: first
            .filter(|(_, months)| *months > 0.0)
            .and_then(|(_, months)| Some(model.host.price? / months)),
    };
    (Some(full_in), months)
}

/// Guests of each profile after a time: those that must run, and those that have come.
fn counts(model: &HostModel, time: f64) -> Vec<u64> {
    let guests = model.lab.guests.iter();
    guests
        .map(|guest| guest.number.count() + come(guest.grows, time))
        .collect()
}

/// The first moment at which a resource is past its limit `[s]`; it stays so, so that halving finds it.
fn passes_at(model: &HostModel, resource: Resource) -> Option<f64> {
    if !is_within(model, resource, 0.0) {
        return Some(0.0);
    }
    if is_within(model, resource, FARTHEST) {
        return None;
    }
    let (mut inside, mut past) = (0.0, FARTHEST);
    while past - inside > NEAR {
        let middle = 0.5 * (inside + past);
        if is_within(model, resource, middle) {
            inside = middle;
        } else {
            past = middle;
        }
    }
    Some(past)
}

/// Whether a resource is within its limit after a time.
fn is_within(model: &HostModel, resource: Resource, time: f64) -> bool {
    let counts = counts(model, time);
    match resource {
        Resource::DiskSpace(pool) => {
            let horizon = model.lab.policy.disk_horizon + time;
            let limit = model.limit(resource, &counts).unwrap_or(f64::INFINITY);
            within(model.space_used(pool, &counts, horizon), limit)
        }
        Resource::DiskWrites(pool) => {
            let Some(left) = model.writes_left(pool) else {
                return true;
            };
            // What is left then has to last for the rest of the service life, at the rate then.
            let factors = model.write_factors(pool).product();
            let left = left - factors * written_until(model, pool, time);
            let rest = (model.lab.policy.service_life - time).max(0.0);
            let needed = factors * model.written(pool, &counts) * rest;
            left >= 0.0 && within(needed, left)
        }
        _ => {
            let constraints = resource.constraints(model, &counts);
            constraints.is_none_or(|constraints| constraints.within())
        }
    }
}

/// What guests and host write to a pool until a time `[B]`.
fn written_until(model: &HostModel, pool: usize, time: f64) -> f64 {
    let now = model.written(pool, &counts(model, 0.0)) * time;
    let guests = model.lab.guests.iter();
    let own = guests.filter(|guest| model.pool_of(guest) == pool);
    let come = own.map(|guest| guest.written * time_there(guest.grows, time));
    now + come.sum::<f64>()
}
