//! What to be careful about.

use super::equations::Observation;
use super::estimate::Estimate;
use super::memory::Unknown;
use super::question::Question;
use super::readings::Reading;
use crate::model::PAGE;
use crate::model::footprint::Age;

/// Room for a host's own rounding of what it sees.
const SAME_HOST: f64 = 0.02;

/// A caution that applies to calibrated numbers. Sizes `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub enum CalibrateCaution {
    /// A reading is farther from the others than their error explains; what was expected.
    Outlier(OddReading, f64),
    /// A reading is outside of what its state allows: demand with all merged, and just started.
    OutsideBounds(OddReading, [f64; 2]),
    /// The readings come from a host that sees other memory.
    OtherHost {
        /// What it sees.
        total: f64,
        /// The host of the lab.
        host: String,
        /// What that one sees.
        visible: f64,
    },
    /// Fresh guests show nothing of what a guest keeps.
    FreshFlatters,
    /// The best fit is beyond what is possible.
    HeldAtBound,
    /// A step may have been read when the new guests were already being merged.
    LateStep(LateStep),
    /// All numbers are estimates.
    Estimate,
}

impl CalibrateCaution {
    /// Whether the numbers found are doubted so much that they are not put into a lab.
    pub fn doubts_numbers(&self) -> bool {
        matches!(
            self,
            CalibrateCaution::OtherHost { .. } | CalibrateCaution::LateStep(_)
        )
    }
}

/// A reading that does not fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddReading {
    /// Its line.
    pub line: usize,
    /// Guests that ran.
    pub guests: u64,
    /// What was read `[B]`.
    pub read: f64,
}

/// What speaks for a step that was read too late. Sizes `[B]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LateStep {
    /// The merge counters show more than the steps explain.
    Counters {
        /// Line of the reading.
        line: usize,
        /// Saved by the counters.
        counted: f64,
        /// Saved by the steps.
        explained: f64,
    },
    /// By the steps guests share hardly anything.
    HardlyShared {
        /// What they share.
        shared: f64,
        /// What a fresh guest touches.
        touched: f64,
    },
}

/// Cautions that apply.
pub(super) fn cautions(question: &Question, found: &Estimate) -> Vec<CalibrateCaution> {
    let fit = &found.fit;
    let readings: Vec<(&Reading, &Observation)> =
        question.readings.iter().zip(&fit.observations).collect();
    let outliers = found.outliers.iter().map(|index| readings[*index]);
    let mut cautions: Vec<CalibrateCaution> = outliers
        .map(|(reading, one)| {
            CalibrateCaution::Outlier(odd_reading(reading, one), one.expected.at(&fit.values))
        })
        .collect();
    let outside = readings.iter();
    cautions.extend(outside.filter_map(|(reading, one)| outside_bounds(reading, one, found)));
    let total = question.readings.iter().find_map(|reading| reading.total);
    let visible = fit.model.visible;
    let other = total.filter(|total| (total / visible - 1.0).abs() > SAME_HOST);
    cautions.extend(other.map(|total| CalibrateCaution::OtherHost {
        total,
        host: question.host().name.clone(),
        visible,
    }));
    if question.age == Age::Fresh && question.guest().busy.most() > 0.0 {
        cautions.push(CalibrateCaution::FreshFlatters);
    }
    if !fit.solution.active.is_empty() {
        cautions.push(CalibrateCaution::HeldAtBound);
    }
    cautions.extend(late_step(question, found).map(CalibrateCaution::LateStep));
    cautions.push(CalibrateCaution::Estimate);
    cautions
}

/// A reading that should lie between two bounds and does not.
fn outside_bounds(
    reading: &Reading,
    observation: &Observation,
    found: &Estimate,
) -> Option<CalibrateCaution> {
    let fit = &found.fit;
    let (low, read) = (observation.expected.at(&fit.values), observation.demand);
    let high = fit.model.unmerged(reading.guests as f64).at(&fit.values) + observation.beside;
    let room = fit.quantile * fit.error * read + reading.rounding;
    let is_outside = read < low - room || read > high + room;
    let is_odd = observation.usage.is_bound() && is_outside;
    is_odd.then(|| {
        CalibrateCaution::OutsideBounds(odd_reading(reading, observation), [low, high.max(low)])
    })
}

fn odd_reading(reading: &Reading, observation: &Observation) -> OddReading {
    OddReading {
        line: reading.line,
        guests: reading.guests,
        read: observation.demand,
    }
}

/// Merge counters above this many times what the steps explain speak against the steps (assumption).
const MORE_SAVED: f64 = 1.5;
/// A step that leaves less than this share of a fresh guest to be shared is doubted (assumption; owners report
/// savings from 4 % on).
const HARDLY: f64 = 0.1;

/// A step that was read when the new guests were already being merged makes a fresh guest look small.
fn late_step(question: &Question, found: &Estimate) -> Option<LateStep> {
    let fit = &found.fit;
    let determines = |unknown| fit.parameters.determines(unknown);
    if !(determines(Unknown::Step) && determines(Unknown::Shared)) {
        return None;
    }
    let mut readings = question.readings.iter().zip(&fit.observations).rev();
    let counted = readings.find_map(|(reading, observation)| {
        let alone = observation.usage.is_merged() && observation.beside == 0.0;
        let counted = reading.sharing.filter(|_| alone)? * PAGE;
        let saved = fit
            .model
            .saved(reading.guests as f64, observation.merged_share)
            .at(&fit.values);
        (counted > MORE_SAVED * saved.max(PAGE)).then(|| LateStep::Counters {
            line: reading.line,
            counted,
            explained: saved.max(0.0),
        })
    });
    let touched = fit.model.fresh().at(&fit.values);
    let shared = fit.values[Unknown::Shared as usize].max(0.0);
    let is_hardly = shared < HARDLY * touched;
    counted.or(is_hardly.then_some(LateStep::HardlyShared { shared, touched }))
}
