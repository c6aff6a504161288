//! Which reading to take next.

use schemars::JsonSchema;
use serde::Serialize;

use super::estimate::Estimate;
use super::fit::half_width;
use super::least_squares::{dot, product, variance};
use super::memory::{Affine, Unknown};
use super::question::Question;
use super::usage::Usage;
use crate::lab::Mode;

/// The reading that would narrow the answer most.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "Next2")]
pub struct Next {
    /// Guests to read at.
    pub guests: u64,
    /// Width of the interval of memory at the safe count then, over its width now; none where the reading would tell a
    /// number that is taken from the lab now.
    pub narrows_to: Option<f64>,
    /// What to do.
    #[serde(rename = "text")]
    #[schemars(with = "String")]
    pub reading: NextReading,
}

/// What to read, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NextReading {
    /// Settled with the scanner at a fixed speed: no count brings an adaptive one above its threshold.
    FixedScanner,
    /// Settled with this many guests, above an adaptive scanner's threshold.
    AboveThreshold(u64),
    /// Settled with this many guests, a second count.
    SecondCount(u64),
    /// Right before and right after the start of this many guests.
    Step(u64),
    /// Settled with so many guests, which narrows the interval most.
    Settled(Narrowing),
    /// Right after a start with so many guests then, which narrows the interval most.
    AfterStart(Narrowing),
}

/// How far a reading narrows the interval of memory at the count that the plan aims at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Narrowing {
    /// Guests to read at.
    pub guests: u64,
    /// The count that the plan aims at.
    pub goal: u64,
    /// Width of the interval then over its width now.
    pub narrows_to: f64,
}

/// The reading to take next; `fits` is the count that the plan aims at.
pub fn next_reading(question: &Question, found: &Estimate, fits: Option<u64>) -> Option<Next> {
    let readings = question.readings.iter();
    let most = readings.map(|reading| reading.guests).max().unwrap_or(0);
    let batch = (most / 10).max(1);
    let fit = &found.fit;
    let (guests, reading) =
        if !fit.evidence.line && fit.model.mode == Mode::Adaptive && fit.evidence.merged {
            match above_threshold(found, most) {
                None => (most, NextReading::FixedScanner),
                Some(guests) => (guests, NextReading::AboveThreshold(guests)),
            }
        } else if !fit.evidence.line {
            let guests = match fits {
                Some(fits) if fits > most => fits.min(2 * most.max(1)),
                _ => most / 2,
            };
            (guests, NextReading::SecondCount(guests))
        } else if !fit.parameters.determines(Unknown::Shared) && fit.model.mode != Mode::Off {
            (most + batch, NextReading::Step(batch))
        } else {
            return narrowest(found, most, batch, fits);
        };
    Some(Next {
        guests,
        narrows_to: None,
        reading,
    })
}

/// The reading that narrows the interval of memory at the goal most.
fn narrowest(found: &Estimate, most: u64, batch: u64, fits: Option<u64>) -> Option<Next> {
    let (fit, model) = (&found.fit, &found.fit.model);
    let goal = fits.filter(|fits| *fits > 0).unwrap_or(most.max(1));
    let share = last_merged_share(found);
    let form = fit.parameters.form(&model.merged(goal as f64, share));
    let now = variance(&form.factors, &fit.solution.covariance);
    let settled = [0, most, goal.min(2 * most.max(1))].map(|n| match n {
        0 => (n, model.unmerged(0.0), false),
        n => (n, model.merged(n as f64, share), false),
    });
    let started = model.merged(most as f64, share) + Unknown::Step.affine().scaled(batch as f64);
    let has_step = fit.parameters.determines(Unknown::Step);
    let started = has_step.then_some((most + batch, started, true));
    let (left, guests, is_start) = settled
        .into_iter()
        .chain(started)
        .map(|(n, affine, is_start)| (variance_with(found, &form.factors, &affine), n, is_start))
        .min_by(|one, other| one.0.total_cmp(&other.0))?;
    let tails = half_width(fit.freedom + 1) / fit.quantile;
    let narrows_to = if now > 0.0 {
        (left / now).sqrt() * tails
    } else {
        1.0
    };
    let narrowing = Narrowing {
        guests,
        goal,
        narrows_to,
    };
    Some(Next {
        guests,
        narrows_to: Some(narrows_to),
        reading: if is_start {
            NextReading::AfterStart(narrowing)
        } else {
            NextReading::Settled(narrowing)
        },
    })
}

/// Merged share at the last reading.
fn last_merged_share(found: &Estimate) -> f64 {
    let last = found.fit.observations.last();
    last.map_or(1.0, |observation| observation.merged_share)
}

/// Clear of an adaptive scanner's threshold `[share of visible memory]` (assumption, a little more than what counts as
/// hovering).
const CLEAR: f64 = 0.03;

/// The smallest count whose merged guests are clearly above the scanner's threshold; none where they would not be within
/// memory.
fn above_threshold(found: &Estimate, most: u64) -> Option<u64> {
    let (fit, model) = (&found.fit, &found.fit.model);
    let mut uses = fit.observations.iter().map(|observation| observation.usage);
    // Where a reading above the threshold is there, a second one has to be at another count.
    let least = if uses.any(|usage| usage == Usage::HoveringAsMerged) {
        most
    } else {
        most + (most / 20).max(1)
    };
    let share = last_merged_share(found);
    let held = |n: u64| model.merged(n as f64, share).at(&fit.values);
    let wanted = model.ceiling + CLEAR * model.visible;
    let slope = held(least + 1) - held(least);
    if slope <= 0.0 {
        return None;
    }
    let more = ((wanted - held(least)) / slope).max(0.0).ceil();
    let guests = least.saturating_add(more as u64);
    (held(guests) < model.visible).then_some(guests)
}

/// Variance of a form once one more reading is there (Sherman–Morrison).
fn variance_with(found: &Estimate, goal: &[f64; 4], reading: &Affine) -> f64 {
    let fit = &found.fit;
    let form = fit.parameters.form(reading);
    let covariance = &fit.solution.covariance;
    let toward = product(covariance, &form.factors);
    let sigma = reading.at(&fit.values).max(1.0);
    let gain = dot(goal, &toward).powi(2) / (sigma.powi(2) + dot(&form.factors, &toward));
    (variance(goal, covariance) - gain).max(0.0)
}
