//! What each reading can tell.

use super::law::Frame;
use super::plan::Evidence;
use super::readings::Reading;
use crate::lab::Mode;
use crate::survey::reading::Settled;

/// A settled reading this close to an adaptive scanner's threshold may be hovering at it `[share of visible memory]`
/// (assumption: the daemon's own steps move memory by less).
const HOVERING: f64 = 0.02;

/// How a reading is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// Settled, everything merged that will merge.
    Merged,
    /// Settled, nothing merged.
    Unmerged,
    /// Settled at the threshold of an adaptive scanner: merged ≤ reading ≤ unmerged.
    Hovering,
    /// The same, taken as merged because nothing better exists.
    HoveringTaken,
    /// Right after a batch was started; the reading right before it is this one.
    Step(usize),
    /// In a state that is not known: merged ≤ reading ≤ just started.
    Bound,
    /// Between a start and the plateau.
    Settling,
}

impl Use {
    /// Whether the reading says where memory settles.
    #[must_use]
    pub fn is_settled(self) -> bool {
        matches!(self, Use::Merged | Use::Unmerged | Use::HoveringTaken)
    }

    /// Whether merged guests were read.
    #[must_use]
    pub fn is_merged(self) -> bool {
        matches!(self, Use::Merged | Use::HoveringTaken)
    }

    /// The same in words, for reports.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Use::Merged => "settled",
            Use::Unmerged => "settled, nothing merged",
            Use::Hovering => "bound: at the scanner's threshold",
            Use::HoveringTaken => "settled: at the scanner's threshold, taken as merged",
            Use::Step(_) => "step: right after a start",
            Use::Bound => "bound: state not known",
            Use::Settling => "bound: still settling",
        }
    }
}

/// Says how each reading is used; `drifts` tells whether an adaptive scanner still works below its threshold with that
/// many guests.
#[must_use]
pub fn classify(readings: &[Reading], frame: &Frame, drifts: impl Fn(u64) -> bool) -> Vec<Use> {
    let mut uses: Vec<Use> = readings
        .iter()
        .enumerate()
        .map(|(index, reading)| match reading.settled {
            Settled::Yes => settled(reading, frame, &drifts),
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

fn settled(reading: &Reading, frame: &Frame, drifts: &impl Fn(u64) -> bool) -> Use {
    if frame.mode == Mode::Off || reading.sharing == Some(0.0) || reading.guests == 0 {
        return Use::Unmerged;
    }
    if frame.mode != Mode::Adaptive {
        return Use::Merged;
    }
    let hovering = (HOVERING * frame.visible).max(reading.rounding);
    if reading.used > frame.ceiling + hovering {
        Use::Merged
    } else if reading.used >= frame.ceiling - hovering
        || reading.sharing.is_some()
        || drifts(reading.guests)
    {
        // Below its threshold the scanner has stopped, drifts on at its slowest, or leaves merged what it found.
        Use::Hovering
    } else {
        Use::Unmerged
    }
}

/// A reading that says "not settled": a step if the one before it in the file was taken before the batch.
fn started(readings: &[Reading], index: usize) -> Use {
    let before = index.checked_sub(1).and_then(|before| readings.get(before));
    match before {
        Some(before) if before.guests < readings[index].guests && before.settled != Settled::No => {
            Use::Step(index - 1)
        }
        _ => Use::Settling,
    }
}

/// What kinds of equations the readings give; `fitted` tells which may be used.
#[must_use]
pub fn evidence(readings: &[Reading], uses: &[Use], fitted: impl Fn(usize) -> bool) -> Evidence {
    let mut evidence = Evidence::default();
    let mut counts = Vec::new();
    let used = readings
        .iter()
        .zip(uses)
        .enumerate()
        .filter(|(index, _)| fitted(*index));
    for (reading, one) in used.map(|(_, pair)| pair) {
        if one.is_settled() {
            counts.push(reading.guests);
        }
        match one {
            Use::Step(before) => evidence.step |= fitted(*before),
            // Without guests nothing tells merged from unmerged.
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
