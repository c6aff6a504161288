//! The equations that readings give, and the bounds that sound numbers keep.

use super::error::PhysicalBound;
use super::least_squares::{Bound, Equation};
use super::memory::{Affine, MemoryModel, Unknown};
use super::parameters::Parameters;
use super::question::Question;
use super::readings::Reading;
use super::usage::Usage;
use crate::lab::HostMemory;
use crate::model::PAGE;
use crate::model::memory::compressed_gain;
use crate::model::number::Number;

/// Memory demand of guests, host and cache `[B]`: what is in use, and what is in swap beyond its room in memory.
pub(super) fn demand(memory: &HostMemory, reading: &Reading) -> f64 {
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

/// All readings with their expected values.
pub(super) fn observations(
    question: &Question,
    model: &MemoryModel,
    uses: &[Usage],
    merged_share: &[f64],
    beside: &[f64],
) -> Vec<Observation> {
    let mut observations: Vec<Observation> = Vec::with_capacity(uses.len());
    for (index, reading) in question.readings.iter().enumerate() {
        let (usage, merged_share, beside) = (uses[index], merged_share[index], beside[index]);
        let n = reading.guests as f64;
        let others = Affine::of(beside);
        let mut demand = demand(&question.host().memory, reading);
        let expected = match usage {
            Usage::Unmerged => model.unmerged(n) + others,
            Usage::Step(before) => {
                let (state, one) = (&observations[before], &question.readings[before]);
                demand += saved_since(one, reading);
                let batch = Unknown::Step.affine().scaled(n - one.guests as f64);
                state.expected + batch + Affine::of(beside - state.beside)
            }
            _ => model.merged(n, merged_share) + others,
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
) -> Vec<Equation> {
    let equation = |affine: Affine, value: f64, sigma: f64| {
        let form = parameters.form(&affine);
        form.factors
            .iter()
            .any(|factor| *factor != 0.0)
            .then_some(Equation {
                value: value - form.constant,
                factors: form.factors,
                sigma,
            })
    };
    let mut equations = Vec::new();
    let readings = question.readings.iter().zip(observations);
    for (reading, observation) in readings.take(question.fitted()) {
        let demand = observation.demand;
        match observation.usage {
            Usage::Step(before) if !observations[before].usage.is_settled() => {
                // The state before is not known, but the difference is.
                let batch = (reading.guests - question.readings[before].guests) as f64;
                let before = &observations[before];
                let step = Unknown::Step.affine().scaled(batch);
                let taken = demand - before.demand - (observation.beside - before.beside);
                equations.extend(equation(step, taken, demand.hypot(before.demand)));
            }
            usage if usage.is_fitted() => {
                equations.extend(equation(observation.expected, demand, demand));
                // The counters are the host's, so those of other kinds are among them.
                let alone = parameters.counters && observation.beside == 0.0;
                let counted = reading.sharing.filter(|_| alone);
                if let Some(pages) = counted.filter(|pages| usage.is_merged() && *pages > 0.0) {
                    let saved = model.saved(reading.guests as f64, observation.merged_share);
                    equations.extend(equation(saved, pages * PAGE, pages * PAGE));
                }
            }
            _ => {}
        }
    }
    equations
}

/// The bounds that sound numbers keep and that depend on what is fitted.
pub(super) fn bounds(parameters: &Parameters, model: &MemoryModel) -> Vec<(PhysicalBound, Bound)> {
    let (idle, fresh) = (model.idle(), model.fresh());
    let shared = Unknown::Shared.affine();
    let always = [
        (PhysicalBound::Base, Unknown::Base.affine()),
        (PhysicalBound::Slope, model.unique()),
        (PhysicalBound::Shared, shared),
    ];
    let with_step = [
        (PhysicalBound::Touched, fresh),
        (PhysicalBound::TouchedShared, fresh - shared),
        (PhysicalBound::Idle, idle - fresh),
    ];
    // Without a step the touched size is chosen to suit, so nothing about it can be wrong.
    let with_step = with_step
        .into_iter()
        .filter(|_| parameters.determines(Unknown::Step));
    always
        .into_iter()
        .chain(with_step)
        .map(|(bound, affine)| (bound, parameters.form(&affine)))
        .filter(|(_, form)| !form.is_constant())
        .map(|(bound, form)| {
            let (least, factors) = (-form.constant, form.factors);
            (bound, Bound { factors, least })
        })
        .collect()
}
