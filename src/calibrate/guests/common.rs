//! What guests do at the same time: the correlation of their spells, and the periods of the busiest and the quietest time.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::estimates::{Estimated, Method};
use super::moments::{Rows, Timeline, rows};
use super::watch::{ClassedGuest, GuestKind};
use crate::calibrate::estimates::Provenance;
use crate::lab::{OTHERWISE, Period, is_within};
use crate::model::DAY;
use crate::model::demand::estimated::{
    Estimate, Periods, Resampling, Seen, estimate, interval, resampled,
};
use crate::model::demand::observed::RANKED;

/// Parts that a record of fewer days is cut into for an interval.
const PARTS: usize = 8;
/// Fewest moments of which a correlation is taken.
const FEWEST: usize = 40;
/// Periods are estimated from so many days on: fewer show no week (assumption).
const FEWEST_DAYS: f64 = 2.0;
/// How often guests and days are drawn again for an interval.
const DRAWS: u64 = 200;
/// Seed of these draws.
const SEED: u64 = 1;

/// A part of the time, and how often guests are busy in it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PeriodAnswer {
    /// Its name.
    pub name: String,
    /// Its share of the time.
    pub share: f64,
    /// Share of its time that a guest of each kind is busy.
    pub busy: BTreeMap<String, f64>,
    /// Where that lies, from and to.
    pub intervals: BTreeMap<String, [f64; 2]>,
}

/// When guests of some kinds were busy (1) or idle (0), at the moments at which all of them were seen.
struct JointActivity {
    /// A row of each guest, kind by kind.
    loads: Vec<Rows>,
    /// vCPUs of a guest of each kind.
    vcpus: Vec<f64>,
    /// Those moments, counted in usual steps from the start of the record.
    moments: Vec<usize>,
    /// Days of the record.
    days: f64,
}

impl JointActivity {
    fn of(kinds: &[&GuestKind], usual: f64) -> JointActivity {
        let [start, end] = kinds.first().map_or([0.0; 2], |kind| kind.span);
        let clock = Timeline {
            start,
            every: usual,
            moments: ((end - start) / usual).round() as usize,
            boots: false,
        };
        let of_kind = |kind: &&GuestKind| {
            let guests: Vec<&ClassedGuest> = kind.guests.iter().collect();
            rows(&guests, clock, |step, _| Some(f64::from(step.is_busy)))
        };
        let mut loads: Vec<Rows> = kinds.iter().map(of_kind).collect();
        let seen = |moment: &usize| loads.iter().flatten().all(|row| !row[*moment].is_nan());
        let moments: Vec<usize> = (0..clock.moments).filter(seen).collect();
        for row in loads.iter_mut().flatten() {
            *row = moments.iter().map(|moment| row[*moment]).collect();
        }
        JointActivity {
            loads,
            vcpus: kinds.iter().map(|kind| vcpus(kind)).collect(),
            days: (end - start) / DAY,
            moments,
        }
    }

    /// The estimates, and those of guests and days, or parts of a short record, drawn again.
    fn estimates(&self, periods: Periods) -> (Vec<Estimate>, Vec<Vec<Estimate>>) {
        let resampling = Resampling {
            times: DRAWS,
            seed: SEED,
            moments_a_day: self.moments.len() / (self.days as usize).max(PARTS),
        };
        let each = self.vcpus.iter().zip(&self.loads);
        let seen = each.map(|(vcpus, guests)| Seen {
            vcpus: *vcpus,
            guests,
        });
        let seen: Vec<Seen> = seen.collect();
        let found = estimate(&seen, periods);
        (found, resampled(&seen, periods, resampling))
    }
}

/// vCPUs of the largest guest of a kind.
fn vcpus(kind: &GuestKind) -> f64 {
    let all = kind.guests.iter();
    let largest = all.filter_map(|guest| guest.watched.vcpus).max();
    largest.unwrap_or(1) as f64
}

/// The correlation of the guests' spells, the mean over the kinds weighted by their pairs of guests; its interval is that of
/// [`resampled`]. None of kinds that are never busy, alone, or seen for too short a time.
pub fn correlation_of(kinds: &[GuestKind], usual: f64) -> Option<Estimated> {
    let mut found = Vec::new();
    for kind in kinds {
        let guests = kind.guests.len();
        if kind.spells() == 0 || guests < 2 {
            continue;
        }
        let joint = JointActivity::of(&[kind], usual);
        if joint.moments.len() >= FEWEST {
            // Correlation is that without periods: all of the time is one.
            let one_period = vec![0; joint.moments.len()];
            let (value, draws) = joint.estimates(Periods::Given(&one_period, 1));
            let all = std::iter::once(&value).chain(&draws);
            let all: Vec<Option<f64>> = all.map(|kinds| kinds[0].correlation).collect();
            found.push((guests, all));
        }
    }
    let mean = |at: usize| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (guests, all) in &found {
            let pairs = (guests * (guests - 1)) as f64;
            if let Some(correlation) = all[at] {
                (sum, weights) = (sum + pairs * correlation, weights + pairs);
            }
        }
        (weights > 0.0).then(|| sum / weights)
    };
    let value = mean(0)?;
    let [low, high] = around(value, (1..=DRAWS as usize).filter_map(mean));
    Some(Estimated {
        value,
        low,
        high,
        from: Provenance::Readings,
        how: Method::Mean(found.iter().map(|(guests, _)| guests).sum()),
    })
}

/// The interval of a value by its draws; it holds the value.
fn around(value: f64, draws: impl Iterator<Item = f64>) -> [f64; 2] {
    let [low, high] = interval(draws).unwrap_or([value; 2]);
    [low.min(value), high.max(value)]
}

/// The parts of the time that guests are busy in with other chances: the lab's, where it has any, by the clock; else the
/// quietest, the usual and the busiest by the load of all guests. None of lines of too short a time, and of a lab's periods of
/// which one has no hours.
///
/// The clock is that of the lines, universal time. Intervals are those of [`resampled`].
pub fn periods(kinds: &[GuestKind], usual: f64, lab: &[Period]) -> Vec<PeriodAnswer> {
    let busy: Vec<&GuestKind> = kinds.iter().filter(|kind| kind.spells() > 0).collect();
    let joint = JointActivity::of(&busy, usual);
    let fewest_days = if lab.is_empty() { FEWEST_DAYS } else { 1.0 };
    if joint.days < fewest_days || joint.moments.len() < FEWEST {
        return Vec::new();
    }
    let clock = joint.moments.iter().map(|moment| {
        let seconds = (busy[0].span[0] + *moment as f64 * usual).rem_euclid(DAY);
        by_clock(lab, (seconds / 60.0) as u32)
    });
    let given: Vec<usize>;
    let mut names = RANKED.to_vec();
    let mut periods = Periods::Ranked;
    if !lab.is_empty() {
        let Some(known) = clock.collect() else {
            return Vec::new();
        };
        given = known;
        names = lab.iter().map(|one| (&*one.name, one.share)).collect();
        periods = Periods::Given(&given, lab.len());
    }
    let (found, draws) = joint.estimates(periods);
    let period = |(index, (name, share)): (usize, (&str, f64))| {
        let mut answer = PeriodAnswer {
            name: name.to_owned(),
            share,
            busy: BTreeMap::new(),
            intervals: BTreeMap::new(),
        };
        for (kind, known) in busy.iter().enumerate() {
            let share = found[kind].shares[index];
            let each = draws.iter().map(|draw| draw[kind].shares[index]);
            let name = known.name.to_owned();
            answer.busy.insert(name.clone(), share);
            answer.intervals.insert(name, around(share, each));
        }
        answer
    };
    names.into_iter().enumerate().map(period).collect()
}

/// The period of a minute of the day; none where one that comes before has no hours.
fn by_clock(lab: &[Period], minute: u32) -> Option<usize> {
    for (place, period) in lab.iter().enumerate() {
        if period.name == OTHERWISE || is_within(minute, period.hours_of_day()?) {
            return Some(place);
        }
    }
    None
}
