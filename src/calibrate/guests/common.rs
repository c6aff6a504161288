//! What guests do at the same time: the correlation of their spells, and the periods of the busiest and the quietest time.

use std::collections::BTreeMap;
use std::ops::Range;

use schemars::JsonSchema;
use serde::Serialize;

use super::estimates::{Estimated, How};
use super::watch::{Guest, Kind};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::half_width;
use crate::lab::{OTHERWISE, Period as LabPeriod, is_between};
use crate::model::DAY;
use crate::model::demand::observed::{
    Levels, RANKED, by_rank, correlation, mean_over_guests, shares_by_period,
};

/// Parts that the time is cut into for an interval.
const PARTS: usize = 8;
/// Fewest moments of which a correlation is taken.
const FEWEST: usize = 40;
/// Periods are told from so many days on: fewer show no week (assumption).
const FEWEST_DAYS: f64 = 2.0;

/// A part of the time, and how often guests are busy in it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "PeriodAnswer")]
pub struct Period {
    /// Its name.
    pub name: String,
    /// Its share of the time.
    pub share: f64,
    /// Share of its time that a guest of each kind is busy.
    pub busy: BTreeMap<String, f64>,
    /// Where that lies, from and to.
    pub intervals: BTreeMap<String, [f64; 2]>,
}

/// Whether each guest of a kind was busy (1) or idle (0) at moments at which all of them were seen, a row a guest; and those
/// moments, counted in usual steps.
fn together(kind: &Kind, usual: f64) -> (Vec<Vec<f64>>, Vec<i64>) {
    let place = |at: f64| ((at - kind.span[0]) / usual).round() as i64;
    let row = |guest: &Guest| -> BTreeMap<i64, f64> {
        let steps = guest.steps.iter().flatten().filter(|step| !step.is_boot);
        let busy = |is_busy: bool| if is_busy { 1.0 } else { 0.0 };
        steps
            .map(|step| (place(step.start), busy(step.is_busy)))
            .collect()
    };
    let rows: Vec<BTreeMap<i64, f64>> = kind.guests.iter().map(row).collect();
    let Some(first) = rows.first() else {
        return (Vec::new(), Vec::new());
    };
    let shared = first
        .keys()
        .copied()
        .filter(|at| rows.iter().all(|row| row.contains_key(at)));
    let shared: Vec<i64> = shared.collect();
    let loads = rows
        .iter()
        .map(|row| shared.iter().map(|at| row[at]).collect());
    (loads.collect(), shared)
}

/// r of one kind; none where it is never busy, alone, or seen for too short a time.
fn of_kind(loads: &[Vec<f64>]) -> Option<f64> {
    correlation(loads, levels(loads))
}

/// The correlation of the guests' spells, the mean over the kinds weighted by their pairs of guests.
///
/// Its interval is that of a delete-one-part jackknife over eight parts of the time (B. Efron & C. Stein, "The jackknife
/// estimate of variance", Annals of Statistics 9 (1981) 586–596).
#[must_use]
pub fn correlation_of(kinds: &[Kind], usual: f64) -> Option<Estimated> {
    let all: Vec<Vec<Vec<f64>>> = kinds
        .iter()
        .filter(|kind| kind.spells() > 0 && kind.guests.len() > 1)
        .map(|kind| together(kind, usual).0)
        .filter(|loads| loads.first().is_some_and(|row| row.len() >= FEWEST))
        .collect();
    let value = weighted(&all, <[f64]>::to_vec)?;
    let without = |part: usize| {
        weighted(&all, |row| {
            let (from, to) = (part * row.len() / PARTS, (part + 1) * row.len() / PARTS);
            [&row[..from], &row[to..]].concat()
        })
    };
    let left: Vec<f64> = (0..PARTS).filter_map(without).collect();
    let reach = jackknife(&left);
    Some(Estimated {
        value,
        low: (value - reach).max(0.0),
        high: (value + reach).min(1.0),
        from: Provenance::Readings,
        how: How::Mean(all.iter().map(Vec::len).sum()),
    })
}

/// Half of an interval from what is found without each part.
fn jackknife(left: &[f64]) -> f64 {
    let count = left.len() as f64;
    let mean = left.iter().sum::<f64>() / count.max(1.0);
    let squares: f64 = left.iter().map(|one| (one - mean).powi(2)).sum();
    half_width(PARTS - 1) * (squares * (count - 1.0).max(0.0) / count.max(1.0)).sqrt()
}

fn weighted(kinds: &[Vec<Vec<f64>>], cut: impl Fn(&[f64]) -> Vec<f64>) -> Option<f64> {
    let (mut sum, mut weights) = (0.0, 0.0);
    for loads in kinds {
        let loads: Vec<Vec<f64>> = loads.iter().map(|row| cut(row)).collect();
        if let Some(found) = of_kind(&loads) {
            let pairs = (loads.len() * (loads.len() - 1)) as f64;
            sum += pairs * found;
            weights += pairs;
        }
    }
    (weights > 0.0).then(|| sum / weights)
}

/// The parts of the time that guests are busy in with other chances: the lab's, where it has any, by the clock; else the
/// quietest, the usual and the busiest by the load of all guests. None of lines of too short a time, and of a lab's periods of
/// which one has no hours.
///
/// The clock is that of the lines, universal time. Intervals are those of [`correlation_of`].
#[must_use]
pub fn periods(kinds: &[Kind], usual: f64, lab: &[LabPeriod]) -> Vec<Period> {
    let busy: Vec<&Kind> = kinds.iter().filter(|kind| kind.spells() > 0).collect();
    let [start, end] = busy.first().map_or([0.0; 2], |kind| kind.span);
    let (seen, places) = at_same_moments(&busy, usual);
    let fewest_days = if lab.is_empty() { FEWEST_DAYS } else { 1.0 };
    if end - start < fewest_days * DAY || places.len() < FEWEST {
        return Vec::new();
    }
    let clock = places.iter().map(|place| {
        let seconds = (start + *place as f64 * usual).rem_euclid(DAY);
        by_clock(lab, (seconds / 60.0) as u32)
    });
    let clock: Option<Vec<usize>> = clock.collect();
    if clock.is_none() && !lab.is_empty() {
        return Vec::new();
    }
    let weights: Vec<f64> = busy.iter().map(|kind| weight(kind)).collect();
    let names = match lab {
        [] => RANKED
            .map(|(name, share)| (name.to_owned(), share))
            .to_vec(),
        lab => lab
            .iter()
            .map(|one| (one.name.clone(), one.share))
            .collect(),
    };
    let given = clock.filter(|_| !lab.is_empty());
    let shares = |cut: &dyn Fn(Range<usize>) -> Vec<usize>| {
        let kept = cut(0..places.len());
        let of = |row: &Vec<f64>| kept.iter().map(|place| row[*place]).collect();
        let loads = seen.iter().map(|kind| kind.iter().map(of).collect());
        let given = given.as_ref();
        let given = given.map(|all| kept.iter().map(|place| all[*place]).collect());
        busy_shares(&loads.collect::<Vec<_>>(), &weights, given, names.len())
    };
    let whole = shares(&Iterator::collect);
    let without = |part: usize| {
        shares(&|all| {
            let (from, to) = (part * all.end / PARTS, (part + 1) * all.end / PARTS);
            all.filter(|place| !(from..to).contains(place)).collect()
        })
    };
    let left: Vec<Vec<Vec<f64>>> = (0..PARTS).map(without).collect();
    let period = |(index, (name, share)): (usize, (String, f64))| Period {
        name,
        share,
        busy: named(&busy, |kind| whole[kind][index]),
        intervals: named(&busy, |kind| {
            let value = whole[kind][index];
            let each: Vec<f64> = left.iter().map(|shares| shares[kind][index]).collect();
            let reach = jackknife(&each);
            [(value - reach).max(0.0), (value + reach).min(1.0)]
        }),
    };
    names.into_iter().enumerate().map(period).collect()
}

/// The period of a minute of the day; none where one that comes before has no hours.
fn by_clock(lab: &[LabPeriod], minute: u32) -> Option<usize> {
    for (place, period) in lab.iter().enumerate() {
        if period.name == OTHERWISE || is_between(minute, period.clock()?) {
            return Some(place);
        }
    }
    None
}

/// What a kind counts in the load of all guests.
fn weight(kind: &Kind) -> f64 {
    let vcpus = kind
        .guests
        .iter()
        .filter_map(|guest| guest.watched.vcpus)
        .max();
    (vcpus.unwrap_or(1) * kind.guests.len() as u64) as f64
}

/// Share of busy guests of each kind in each period; periods that are not given are by rank.
fn busy_shares(
    seen: &[Vec<Vec<f64>>],
    weights: &[f64],
    given: Option<Vec<usize>>,
    count: usize,
) -> Vec<Vec<f64>> {
    let means: Vec<Vec<f64>> = seen.iter().map(|loads| mean_over_guests(loads)).collect();
    if let Some(periods) = given {
        // The clock chose no moment by its load, so there is no noise of the sample to take out.
        let of = |mean: &Vec<f64>| by_period(mean, &periods, count);
        return means.iter().map(of).collect();
    }
    let moments = means.first().map_or(0, Vec::len);
    let total = |moment: usize| -> f64 {
        let kinds = means.iter().zip(weights);
        kinds.map(|(mean, weight)| weight * mean[moment]).sum()
    };
    let total: Vec<f64> = (0..moments).map(total).collect();
    let periods = by_rank(&total, &RANKED.map(|(_, share)| share));
    let shares = seen.iter();
    shares
        .map(|loads| shares_by_period(loads, levels(loads), &periods, count))
        .collect()
}

/// The mean of what is seen in each period; of one without a moment that of all.
fn by_period(values: &[f64], periods: &[usize], count: usize) -> Vec<f64> {
    let mean = |wanted: Option<usize>| {
        let inside = values.iter().zip(periods);
        let inside = inside.filter(|(_, period)| wanted.is_none_or(|wanted| wanted == **period));
        mean_of(inside.map(|(value, _)| *value))
    };
    let all = mean(None).unwrap_or(0.0);
    (0..count)
        .map(|period| mean(Some(period)).unwrap_or(all))
        .collect()
}

fn mean_of(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), one| (sum + one, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// A value of each kind by its name.
fn named<T>(kinds: &[&Kind], value: impl Fn(usize) -> T) -> BTreeMap<String, T> {
    let kinds = kinds.iter().enumerate();
    kinds
        .map(|(index, kind)| (kind.name.to_owned(), value(index)))
        .collect()
}

/// Whether the guests of some kinds were busy at the moments at which all of them were seen, and those moments.
fn at_same_moments(kinds: &[&Kind], usual: f64) -> (Vec<Vec<Vec<f64>>>, Vec<i64>) {
    let seen: Vec<(Vec<Vec<f64>>, Vec<i64>)> =
        kinds.iter().map(|kind| together(kind, usual)).collect();
    let all = seen.iter().map(|(_, at)| at.clone());
    let shared = all.reduce(|mut shared, other| {
        shared.retain(|at| other.binary_search(at).is_ok());
        shared
    });
    let shared = shared.unwrap_or_default();
    let kept = |(loads, at): &(Vec<Vec<f64>>, Vec<i64>)| {
        let places = shared
            .iter()
            .filter_map(|wanted| at.binary_search(wanted).ok());
        let places: Vec<usize> = places.collect();
        let row = |row: &Vec<f64>| places.iter().map(|place| row[*place]).collect();
        loads.iter().map(row).collect()
    };
    (seen.iter().map(kept).collect(), shared)
}

/// Busy is 1 and idle is 0; the share of busy moments.
fn levels(loads: &[Vec<f64>]) -> Levels {
    let all = || loads.iter().flatten();
    Levels {
        idle: 0.0,
        busy: 1.0,
        share: all().sum::<f64>() / all().count().max(1) as f64,
    }
}
