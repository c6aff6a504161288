//! How each reading is used, and what kinds of equations that gives.

use super::memory::MemoryModel;
use super::readings::Reading;
use super::usage::Use;
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
#[must_use]
pub fn classify(
    readings: &[Reading],
    model: &MemoryModel,
    drifts: impl Fn(u64) -> bool,
) -> Vec<Use> {
    let mut uses: Vec<Use> = readings
        .iter()
        .enumerate()
        .map(|(index, reading)| match reading.settled {
            Settled::Yes => settled(reading, model, &drifts),
            Settled::No => started(readings, index),
            Settled::Unknown => Use::Bound,
        })
        .collect();
    if !uses.iter().any(|one| one.is_settled()) {
        for one in uses.iter_mut().filter(|one| **one == Use::Hovering) {
            *one = Use::HoveringTaken;
        }
    }
    uses
}

fn settled(reading: &Reading, model: &MemoryModel, drifts: &impl Fn(u64) -> bool) -> Use {
    if model.mode == Mode::Off || reading.sharing == Some(0.0) || reading.guests == 0 {
        return Use::Unmerged;
    }
    if model.mode != Mode::Adaptive {
        return Use::Merged;
    }
    let hovering = (HOVERING * model.visible).max(reading.rounding);
    if reading.used > model.ceiling + hovering {
        Use::Merged
    } else if reading.used >= model.ceiling - hovering
        || reading.sharing.is_some()
        || drifts(reading.guests)
    {
        // Below its threshold the scanner has stopped, drifts on at its slowest, or leaves merged what it found.
        Use::Hovering
    } else {
        Use::Unmerged
    }
}

/// A reading that is not settled: a step if the one before it in the file was taken before the batch.
fn started(readings: &[Reading], index: usize) -> Use {
    let before = index.checked_sub(1).and_then(|before| readings.get(before));
    match before {
        Some(before) if before.guests < readings[index].guests && before.settled != Settled::No => {
            Use::Step(index - 1)
        }
        _ => Use::Settling,
    }
}

/// What kinds of equations the readings that are fitted, the first ones, give.
#[must_use]
pub fn evidence(readings: &[Reading], uses: &[Use], fitted: usize) -> Evidence {
    let mut evidence = Evidence::default();
    let mut counts = Vec::new();
    for (reading, one) in readings.iter().zip(uses).take(fitted) {
        if one.is_settled() {
            counts.push(reading.guests);
        }
        match one {
            Use::Step(_) => evidence.step = true,
            // Without guests merged and unmerged are the same.
            _ if reading.guests == 0 => {}
            Use::Merged | Use::HoveringTaken => {
                evidence.merged = true;
                evidence.counters |= reading.sharing.is_some_and(|pages| pages > 0.0);
            }
            Use::Unmerged => evidence.unmerged = true,
            Use::Hovering | Use::Bound | Use::Settling => {}
        }
    }
    counts.sort_unstable();
    counts.dedup();
    evidence.line = counts.len() >= 2;
    evidence
}
