//! When a host is full if guests keep coming.

use schemars::JsonSchema;
use serde::Serialize;

use super::count::Found;
use super::curve::LoadCurve;
use super::host::HostModel;
use super::named::Named;
use super::resource::{Loaded, Resource};
use crate::lab::Guest;
use crate::model::growth::{MONTH, come, time_there};
use crate::model::{YEAR, within};

/// How far ahead it is looked `[s]`.
pub const FARTHEST: f64 = 20.0 * YEAR;
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

/// Load of each resource over time if guests keep coming: the numbers behind a picture.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Timeline {
    /// Months from now at each point.
    pub months: Vec<f64>,
    /// Guests at each point.
    pub guests: Vec<u64>,
    /// Load of each resource that is considered, in binding order.
    pub loads: Vec<LoadCurve>,
}

/// Guests that come to a host.
struct Coming<'a> {
    model: &'a HostModel<'a>,
    /// Guests of each profile that are there already.
    start: Vec<u64>,
    /// When no more come `[s]`.
    until: f64,
}

/// A count of a resource, and after how many months it passes its limit.
pub(super) type Dated = (Found, Option<f64>);

/// When the first resource passes its limit, and after how many months each does, in the order of those found; nothing
/// where no guests come.
pub(super) fn growth(model: &HostModel, found: &[Found]) -> (Option<FullIn>, Vec<Dated>) {
    let coming = Coming::to(model, None);
    let date = |one: &Found| Some(coming.as_ref()?.passes_at(one.resource)? / MONTH);
    let dated: Vec<Dated> = found.iter().map(|one| (*one, date(one))).collect();
    let dates = dated.iter();
    let first = dates
        .filter_map(|(one, months)| Some((one.resource, (*months)?)))
        .min_by(|one, other| one.1.total_cmp(&other.1));
    let months = first.map(|(_, months)| months);
    let time = months.map_or(FARTHEST, |months| months * MONTH);
    let ahead = months.filter(|months| *months > 0.0);
    let full_in = coming.map(|coming| FullIn {
        months,
        resource: first.map(|(resource, _)| Named::of(model, resource)),
        guests: coming.counts(time).iter().sum(),
        price_per_month: ahead.and_then(|months| Some(model.host.price? / months)),
    });
    (full_in, dated)
}

/// Months until the first resource passes its limit if guests keep coming to those that are needed, or that must run;
/// infinite where none does within 20 years, none where no guests come.
pub fn lasts(model: &HostModel, need: Option<&[u64]>) -> Option<f64> {
    Some(Coming::to(model, need)?.first() / MONTH)
}

/// The same with further hosts of the kind, each of which takes the guests that come once the one before it is full; what
/// the guests of the first still add to its disks ends it too.
pub fn lasts_with(model: &HostModel, further: u64) -> Option<f64> {
    let mut coming = Coming::to(model, None)?;
    let first = coming.first();
    if further == 0 || first <= 0.0 || first.is_infinite() {
        return Some(first / MONTH);
    }
    let empty = vec![0; coming.start.len()];
    let each = Coming::to(model, Some(&empty))?.first();
    coming.until = first - NEAR;
    Some(coming.first().min(first + further as f64 * each) / MONTH)
}

/// Guests of each profile that are there after some months, and the load of a resource then; none where none come.
pub fn after(model: &HostModel, resource: Resource, months: f64) -> Option<(Vec<u64>, f64)> {
    let coming = Coming::to(model, None)?;
    let time = months * MONTH;
    Some((coming.counts(time), coming.loaded(resource, time).load))
}

/// Points of a timeline.
const POINTS: u32 = 120;
/// A date this many times as far as the first is left off.
const FAR: f64 = 4.0;
/// Room after the last date, as a share.
const MARGIN: f64 = 0.15;

/// Loads up to a little after the last near date of a resource; none where no guests come.
pub(super) fn timeline(model: &HostModel, dated: &[Dated]) -> Option<Timeline> {
    let coming = Coming::to(model, None)?;
    let dates = dated.iter().filter_map(|(_, months)| *months);
    let ahead = || dates.clone().filter(|months| *months > 0.0);
    let first = ahead().fold(FARTHEST / MONTH, f64::min);
    // Dates far behind the first are named and not drawn, so that the nearer ones stay distinguishable.
    let near = ahead().filter(|months| *months <= FAR * first);
    let end = near.fold(first, f64::max) * (1.0 + MARGIN);
    let end = end.min(FARTHEST / MONTH);
    let mut months: Vec<f64> = (0..=POINTS)
        .map(|point| end * f64::from(point) / f64::from(POINTS))
        .chain(ahead().filter(|months| *months <= end))
        .collect();
    months.sort_by(f64::total_cmp);
    months.dedup();
    let loads = dated.iter().map(|(one, date)| {
        let loaded = |months: f64| coming.loaded(one.resource, months * MONTH);
        let load = months.iter().map(|months| loaded(*months).load);
        let until = date.filter(|months| *months <= end).unwrap_or(end);
        LoadCurve {
            name: one.resource.name(model),
            load: load
                .map(|load| Some(load).filter(|load| load.is_finite()))
                .collect(),
            resource: one.resource,
            period: loaded(until).period,
        }
    });
    Some(Timeline {
        loads: loads.collect(),
        guests: months
            .iter()
            .map(|months| coming.counts(months * MONTH).iter().sum())
            .collect(),
        months,
    })
}

impl<'a> Coming<'a> {
    /// Guests that come to those that are needed, or that must run; none where none come.
    fn to(model: &'a HostModel<'a>, need: Option<&[u64]>) -> Option<Coming<'a>> {
        let guests = &model.lab.guests;
        let must_run = || guests.iter().map(|guest| guest.count).collect();
        guests
            .iter()
            .any(|guest| guest.grows > 0.0)
            .then(|| Coming {
                model,
                start: need.map_or_else(must_run, <[u64]>::to_vec),
                until: f64::INFINITY,
            })
    }

    /// Guests of each profile after a time: those that were there, and those that have come.
    fn counts(&self, time: f64) -> Vec<u64> {
        let guests = self.model.lab.guests.iter().zip(&self.start);
        guests
            .map(|(guest, start)| start + come(guest.grows, time.min(self.until)))
            .collect()
    }

    /// The first moment at which any resource is past its limit `[s]`; infinite where none is within 20 years.
    fn first(&self) -> f64 {
        let considered = self.model.considered().into_iter();
        let times = considered.filter_map(|resource| self.passes_at(resource));
        times.fold(f64::INFINITY, f64::min)
    }

    /// The first moment at which a resource is past its limit `[s]`; it stays so, so that halving finds it.
    fn passes_at(&self, resource: Resource) -> Option<f64> {
        if !self.is_within(resource, 0.0) {
            return Some(0.0);
        }
        if self.is_within(resource, FARTHEST) {
            return None;
        }
        let (mut inside, mut past) = (0.0, FARTHEST);
        while past - inside > NEAR {
            let middle = 0.5 * (inside + past);
            if self.is_within(resource, middle) {
                inside = middle;
            } else {
                past = middle;
            }
        }
        Some(past)
    }

    /// Whether a resource is within its limit after a time.
    fn is_within(&self, resource: Resource, time: f64) -> bool {
        if let Some((demand, limit)) = self.accumulated(resource, time) {
            return within(demand, limit);
        }
        let constraints = resource.constraints(self.model, &self.counts(time));
        constraints.is_none_or(|constraints| constraints.within())
    }

    /// The load of a resource after a time, and the period in which it is that.
    fn loaded(&self, resource: Resource, time: f64) -> Loaded {
        let there = || resource.loaded(self.model, &self.counts(time));
        let added_up = self.accumulated(resource, time);
        let added_up = added_up.map(|(demand, limit)| Loaded::of(demand / limit));
        added_up.or_else(there).unwrap_or(Loaded::of(0.0))
    }

    /// Demand and limit of what adds up over time: space, and the bytes written until then with those that the guests of then
    /// write in the rest of the service life.
    fn accumulated(&self, resource: Resource, time: f64) -> Option<(f64, f64)> {
        let (model, policy) = (self.model, &self.model.lab.policy);
        let counts = self.counts(time);
        match resource {
            Resource::DiskSpace(pool) => {
                let used = model.space_used(pool, &counts, policy.disk_horizon + time);
                let limit = model.limit(resource, &counts);
                Some((used, limit.unwrap_or(f64::INFINITY)))
            }
            Resource::DiskWrites(pool) => {
                let rest = (policy.service_life - time).max(0.0);
                let written = self.written_until(pool, time) + model.written(pool, &counts) * rest;
                let left = model.writes_left(pool).unwrap_or(f64::INFINITY);
                Some((model.write_factors(pool).product() * written, left))
            }
            _ => None,
        }
    }

    /// What guests and host write to a pool until a time `[B]`.
    fn written_until(&self, pool: usize, time: f64) -> f64 {
        let now = self.model.written(pool, &self.counts(0.0)) * time;
        let guests = self.model.lab.guests.iter();
        let own = guests.filter(|guest| self.model.pool_of(guest) == pool);
        let there = |guest: &Guest| {
            let until = time.min(self.until);
            time_there(guest.grows, until) + come(guest.grows, until) as f64 * (time - until)
        };
        let come = own.map(|guest| guest.written * there(guest));
        now + come.sum::<f64>()
    }
}
