//! The equations that readings give, and the bounds that sound numbers keep.

use super::error::PhysicalBound;
use super::least_squares::Equation;
use super::memory::{Affine, MemoryModel, Unknown};
use super::parameters::Parameters;
use super::question::Question;
use super::readings::Reading;
use super::usage::Usage;
use crate::lab::HostMemory;
use crate::model::PAGE;
use crate::model::footprint::Age;
use crate::model::memory::compressed_gain;
use crate::model::number::Number;
use crate::model::scanner::Scan;
use crate::sizing::host::HostModel;

/// Memory demand of guests, host and cache `[B]`: what is in use, and what is in swap beyond its room in memory.
fn demand(memory: &HostMemory, reading: &Reading) -> f64 {
    let swapped = reading.swap_used.unwrap_or(0.0);
    let compressed = swapped.min(memory.compressed_swap);
    reading.used
        + (swapped - compressed)
        + compressed_gain(compressed, memory.compressed_swap_ratio)
}

/// A reading and its expected value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// How it is used.
    pub usage: Usage,
    /// Share of what can merge that is merged.
    pub merged_share: f64,
    /// What guests of other kinds hold, by the lab `[B]`.
    pub beside: f64,
    /// What was read, memory in swap added; of a step also what sharing has saved since the reading before it `[B]`.
    pub demand: f64,
    /// What should be read `[B]`.
    pub expected: Affine,
}

/// All readings with their expected values; what is merged, and what guests of other kinds hold, is taken from a `likely` lab.
pub(super) fn observations(
    question: &Question,
    model: &MemoryModel,
    uses: Vec<Usage>,
    likely: &HostModel,
) -> Vec<Observation> {
    let mut observations: Vec<Observation> = Vec::with_capacity(uses.len());
    for (reading, usage) in question.readings.iter().zip(uses) {
        let n = reading.guests as f64;
        let counts = question.counts_at(reading);
        let kappa = likely.sharing(&counts, question.age, Scan::Steady).kappa;
        let merged_share = kappa[question.guest];
        let used = |counts: &[u64]| likely.mean_used(counts, Age::LivedIn, Scan::Steady);
        let beside = used(&counts) - used(&question.counts(reading.guests));
        let mut demand = demand(&question.host().memory, reading);
        let expected = match usage {
            Usage::Unmerged => model.unmerged(n) + Affine::of(beside),
            Usage::Step(before) => {
                let (state, one) = (&observations[before], &question.readings[before]);
                demand += saved_since(one, reading);
                let batch = Unknown::Step.affine().scaled(n - one.guests as f64);
                state.expected + batch + Affine::of(beside - state.beside)
            }
            _ => model.merged(n, merged_share) + Affine::of(beside),
        };
        observations.push(Observation {
            usage,
            merged_share,
            beside,
            demand,
            expected,
        });
    }
    observations
}

/// What sharing has saved between two readings `[B]`: a step that is read late would be too small by that much.
pub(super) fn saved_since(before: &Reading, now: &Reading) -> f64 {
    let pages = before.sharing.zip(now.sharing);
    pages.map_or(0.0, |(before, now)| (now - before).max(0.0) * PAGE)
}

/// The equations that the readings give, in what is fitted.
pub(super) fn equations(
    parameters: &Parameters,
    model: &MemoryModel,
    question: &Question,
    observations: &[Observation],
) -> Vec<Equation<4>> {
    let mut equations = Vec::new();
    let mut add = |affine: Affine, value: f64, sigma: f64| {
        let form = parameters.form(&affine);
        if form.known().is_none() {
            equations.push(Equation {
                factors: form.factors,
                value: value - form.constant,
                sigma,
            });
        }
    };
    let readings = question.readings.iter().zip(observations);
    for (reading, observation) in readings.take(question.fitted()) {
        let demand = observation.demand;
        match observation.usage {
            Usage::Step(before) if !observations[before].usage.is_settled() => {
                // The state before is not known, but the difference is.
                let batch = (reading.guests - question.readings[before].guests) as f64;
                let before = &observations[before];
                let taken = demand - before.demand - (observation.beside - before.beside);
                let sigma = demand.hypot(before.demand);
                add(Unknown::Step.affine().scaled(batch), taken, sigma);
            }
            usage if usage.is_fitted() => {
                add(observation.expected, demand, demand);
                // The counters are the host's, so those of other kinds are among them.
                let alone = parameters.counters && observation.beside == 0.0;
                let counted = reading.sharing.filter(|_| alone);
                if let Some(pages) = counted.filter(|pages| usage.is_merged() && *pages > 0.0) {
                    let saved = model.saved(reading.guests as f64, observation.merged_share);
                    add(saved, pages * PAGE, pages * PAGE);
                }
            }
            _ => {}
        }
    }
    equations
}

/// What sound numbers do not let fall below 0, in what is fitted and as far as that depends on it.
pub(super) fn bounds(parameters: &Parameters, model: &MemoryModel) -> Vec<(PhysicalBound, Affine)> {
    let (idle, fresh) = (model.idle(), model.fresh());
    let shared = Unknown::Shared.affine();
    let mut bounds = vec![
        (PhysicalBound::Base, Unknown::Base.affine()),
        (PhysicalBound::Slope, model.unique()),
        (PhysicalBound::Shared, shared),
    ];
    // Without a step the touched size is chosen to suit, so nothing about it can be wrong.
    if parameters.determines(Unknown::Step) {
        bounds.extend([
            (PhysicalBound::Touched, fresh),
            (PhysicalBound::TouchedShared, fresh - shared),
            (PhysicalBound::Idle, idle - fresh),
        ]);
    }
    bounds.retain(|(_, affine)| parameters.determines_any_of(affine));
    let forms = bounds.into_iter();
    forms
        .map(|(bound, affine)| (bound, parameters.form(&affine)))
        .collect()
}
