//! How each reading is used, and what kinds of equations that gives.

use super::error;
use super::memory::MemoryModel;
use super::readings::Reading;
use super::usage::Usage;
use crate::lab::Mode;
use crate::survey::reading::Settled;

/// A settled reading this close to an adaptive scanner's threshold may be hovering at it `[share of visible memory]`
/// (assumption: the daemon's own steps move memory by less).
const HOVERING: f64 = 0.02;

/// What kinds of equations there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Evidence {
    /// Settled readings at two counts or more.
    pub line: bool,
    /// Settled readings of merged guests.
    pub merged: bool,
    /// Settled readings of guests that nothing merges.
    pub unmerged: bool,
    /// Readings right before and right after a batch was started.
    pub step: bool,
    /// Merge counters beside merged readings.
    pub counters: bool,
}

/// How each reading is used; `drifts` is whether an adaptive scanner still works below its threshold with that many
/// guests.
pub fn classify(
    readings: &[Reading],
    model: &MemoryModel,
    drifts: impl Fn(u64) -> bool,
) -> Vec<Usage> {
    let mut uses: Vec<Usage> = readings
        .iter()
        .enumerate()
        .map(|(index, reading)| match reading.settled {
            Settled::Yes => settled(reading, model, &drifts),
            Settled::No => started(readings, index),
            Settled::Unknown => Usage::Bound,
        })
        .collect();
    for (index, one) in uses.iter_mut().enumerate() {
        if one.is_merged() && still_finds_more(readings, index) {
            *one = Usage::TooFewGuests;
        }
    }
    if !uses.iter().any(|one| one.is_settled()) {
        for one in uses.iter_mut().filter(|one| **one == Usage::Hovering) {
            *one = Usage::HoveringAsMerged;
        }
    }
    uses
}

fn settled(reading: &Reading, model: &MemoryModel, drifts: &impl Fn(u64) -> bool) -> Usage {
    if model.mode == Mode::Off || reading.sharing == Some(0.0) || reading.guests == 0 {
        return Usage::Unmerged;
    }
    if model.mode != Mode::Adaptive {
        return Usage::Merged;
    }
    let hovering = (HOVERING * model.visible).max(reading.rounding);
    if reading.used > model.ceiling + hovering {
        Usage::Merged
    } else if reading.used >= model.ceiling - hovering
        || reading.sharing.is_some()
        || drifts(reading.guests)
    {
        // Below its threshold the scanner has stopped, drifts on at its slowest, or leaves merged what it found.
        Usage::Hovering
    } else {
        Usage::Unmerged
    }
}

/// So many guests share with one another what many do; fewer find only part of it.
///
/// # Source
/// Measured for this project: 2 clones find 9,311 shared pages, 4 find 11,980; a line from 2 to 8 guests was 1.5–2 % low, one
/// from 4 to 8 within 0.5 % at 24.
const ENOUGH_GUESTS: u64 = 4;
/// Shared pages that grow by less than this between two counts do not grow (assumption).
const SAME_PAGES: f64 = 1.02;

/// Whether a settled reading has too few guests to say what many share: merged copies still grow with the count.
fn still_finds_more(readings: &[Reading], index: usize) -> bool {
    let one = &readings[index];
    let Some(pages) = one
        .shared
        .filter(|_| (1..ENOUGH_GUESTS).contains(&one.guests))
    else {
        return false;
    };
    let settled = readings
        .iter()
        .filter(|other| other.settled == Settled::Yes);
    settled
        .filter(|other| other.guests > 0)
        .filter_map(|other| Some((other.guests, other.shared?)))
        .any(|(guests, others)| {
            guests > one.guests && others > SAME_PAGES * pages
                || guests < one.guests && pages > SAME_PAGES * others
        })
}

/// Why the reading at a place, taken right after a start, has none right before it; none where it has, or
/// follows one that was already taken after the same start.
pub fn no_pair(readings: &[Reading], index: usize) -> Option<String> {
    let one = &readings[index];
    if one.settled != Settled::No {
        return None;
    }
    let Some(before) = index.checked_sub(1).map(|before| &readings[before]) else {
        return Some(error::no_pair(one.line, "no reading stands above it"));
    };
    let above = format!("the one above it, line {}", before.line);
    let why = match (before.settled == Settled::No, before.guests < one.guests) {
        (true, true) => format!("{above}, was itself taken right after a start"),
        (false, false) => format!("{above}, has as many guests or more"),
        _ => return None,
    };
    Some(error::no_pair(one.line, &why))
}

/// A reading that is not settled: a step if the one before it in the file was taken before the batch.
fn started(readings: &[Reading], index: usize) -> Usage {
    if no_pair(readings, index).is_none() && readings[index - 1].settled != Settled::No {
        Usage::Step(index - 1)
    } else {
        Usage::Settling
    }
}

/// What kinds of equations the readings that are fitted, the first ones, give.
pub fn evidence(readings: &[Reading], uses: &[Usage], fitted: usize) -> Evidence {
    let mut evidence = Evidence::default();
    let mut counts = Vec::new();
    for (reading, one) in readings.iter().zip(uses).take(fitted) {
        if one.is_settled() {
            counts.push(reading.guests);
        }
        match one {
            Usage::Step(_) => evidence.step = true,
            // Without guests merged and unmerged are the same.
            _ if reading.guests == 0 => {}
            Usage::Merged | Usage::HoveringAsMerged => {
                evidence.merged = true;
                evidence.counters |= reading.sharing.is_some_and(|pages| pages > 0.0);
            }
            Usage::Unmerged => evidence.unmerged = true,
            Usage::Hovering | Usage::Bound | Usage::Settling | Usage::TooFewGuests => {}
        }
    }
    counts.sort_unstable();
    counts.dedup();
    evidence.line = counts.len() >= 2;
    evidence
}
