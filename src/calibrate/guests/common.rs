//! What guests do at the same time: the correlation of their spells, and the periods of the busiest and the quietest time.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::estimates::{Estimated, How};
use super::watch::{Guest, Kind};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::fit::half_width;
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
    pub name: &'static str,
    /// Its share of the time.
    pub share: f64,
    /// Share of its time that a guest of each kind is busy.
    pub busy: BTreeMap<String, f64>,
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
    let count = left.len() as f64;
    let mean = left.iter().sum::<f64>() / count.max(1.0);
    let squares: f64 = left.iter().map(|one| (one - mean).powi(2)).sum();
    let reach = half_width(PARTS - 1) * (squares * (count - 1.0).max(0.0) / count.max(1.0)).sqrt();
    Some(Estimated {
        value,
        low: (value - reach).max(0.0),
        high: (value + reach).min(1.0),
        from: Provenance::Readings,
        how: How::Mean(all.iter().map(Vec::len).sum()),
    })
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

/// The quietest, the usual and the busiest part of the time by the load of all guests; none from less than two days.
#[must_use]
pub fn periods(kinds: &[Kind], usual: f64) -> Vec<Period> {
    let busy: Vec<&Kind> = kinds.iter().filter(|kind| kind.spells() > 0).collect();
    let seconds = busy.first().map_or(0.0, |kind| kind.seconds());
    let seen = at_same_moments(&busy, usual);
    let moments = seen
        .first()
        .and_then(|loads| loads.first())
        .map_or(0, Vec::len);
    if seconds < FEWEST_DAYS * DAY || moments < FEWEST {
        return Vec::new();
    }
    let mut total = vec![0.0; moments];
    for (kind, loads) in busy.iter().zip(&seen) {
        let vcpus = kind
            .guests
            .iter()
            .filter_map(|guest| guest.watched.vcpus)
            .max();
        let weight = (vcpus.unwrap_or(1) * loads.len() as u64) as f64;
        let means = mean_over_guests(loads);
        total
            .iter_mut()
            .zip(means)
            .for_each(|(sum, mean)| *sum += weight * mean);
    }
    let ranked = by_rank(&total, &RANKED.map(|(_, share)| share));
    let shares = busy.iter().zip(&seen).map(|(kind, loads)| {
        let shares = shares_by_period(loads, levels(loads), &ranked, RANKED.len());
        (kind.name, shares)
    });
    let shares: Vec<(&str, Vec<f64>)> = shares.collect();
    let period = |(index, (name, share)): (usize, (&'static str, f64))| Period {
        name,
        share,
        busy: shares
            .iter()
            .map(|(kind, shares)| ((*kind).to_owned(), shares[index]))
            .collect(),
    };
    RANKED.into_iter().enumerate().map(period).collect()
}

/// Whether the guests of some kinds were busy at the moments at which all of them were seen.
fn at_same_moments(kinds: &[&Kind], usual: f64) -> Vec<Vec<Vec<f64>>> {
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
    seen.iter().map(kept).collect()
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
