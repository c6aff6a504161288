//! The equations that readings give, and the bounds that sound numbers keep.

use super::classify::Use;
use super::estimate::{Broken, Question};
use super::law::{Frame, Linear, Sought};
use super::plan::Plan;
use super::readings::Reading;
use super::solve::{Bound, Equation};
use crate::model::PAGE;
use crate::model::memory::compressed_gain;
use crate::sizing::host::HostModel;

/// Memory that guests, host and cache ask for `[B]`: what is in use, and what lies in swap beyond its room in memory.
pub(super) fn demand(model: &HostModel, reading: &Reading) -> f64 {
    let memory = &model.host.memory;
    let swapped = reading.swap_used.unwrap_or(0.0);
    let compressed = swapped.min(memory.compressed_swap);
    reading.used
        + (swapped - compressed)
        + compressed_gain(compressed, memory.compressed_swap_ratio)
}

/// What a reading should say.
pub(super) fn should_be(
    frame: &Frame,
    readings: &[Reading],
    uses: &[Use],
    kappa: &[f64],
    index: usize,
) -> Linear {
    let n = readings[index].guests as f64;
    match uses[index] {
        Use::Unmerged => frame.unmerged(n),
        Use::Step(before) => {
            let batch = n - readings[before].guests as f64;
            should_be(frame, readings, uses, kappa, before).plus(batch, Linear::of(Sought::Step))
        }
        Use::Merged | Use::HoveringTaken | Use::Hovering | Use::Bound | Use::Settling => {
            frame.merged(n, kappa[index])
        }
    }
}

/// The equations that the readings give, in what the plan fits.
pub(super) fn equations(
    plan: &Plan,
    frame: &Frame,
    question: &Question,
    uses: &[Use],
    kappa: &[f64],
    modelled: &[Linear],
    demand: &[f64],
) -> Vec<Equation> {
    let mut equations = Vec::new();
    let mut put = |linear: &Linear, value: f64, sigma: f64| {
        let form = plan.form(linear);
        if form[1..].iter().any(|factor| *factor != 0.0) {
            equations.push(Equation {
                value: value - form[0],
                factors: form[1..].to_vec(),
                sigma,
            });
        }
    };
    let fitted = question.readings.len().saturating_sub(question.held_out);
    for index in 0..fitted {
        let reading = &question.readings[index];
        match uses[index] {
            Use::Step(before) if uses[before].is_settled() => {
                put(&modelled[index], demand[index], demand[index])
            }
            Use::Step(before) => {
                // The state before is not known, but the difference is.
                let batch = (reading.guests - question.readings[before].guests) as f64;
                let sigma = demand[index].hypot(demand[before]);
                put(
                    &Linear::of(Sought::Step).scaled(batch),
                    demand[index] - demand[before],
                    sigma,
                );
            }
            one if one.is_settled() => {
                put(&modelled[index], demand[index], demand[index]);
                let saved = reading
                    .sharing
                    .filter(|pages| one.is_merged() && *pages > 0.0);
                if let Some(pages) = saved.filter(|_| plan.counters) {
                    put(
                        &frame.saved(reading.guests as f64, kappa[index]),
                        pages * PAGE,
                        pages * PAGE,
                    );
                }
            }
            _ => {}
        }
    }
    equations
}

/// Bounds that sound numbers keep, in the order of the bounds in `Broken`.
pub(super) fn forms(frame: &Frame) -> [Linear; 6] {
    let (idle, fresh) = (frame.idle(), frame.fresh());
    let shared = Linear::of(Sought::Shared);
    [
        Linear::of(Sought::Base),
        idle.plus(-1.0, shared)
            .plus(-1.0, Linear::constant(frame.common_busy)),
        shared,
        fresh,
        fresh.plus(-1.0, shared),
        idle.plus(-1.0, fresh),
    ]
}

/// The bounds that a plan can break at all.
pub(super) fn bounds(plan: &Plan, frame: &Frame) -> Vec<Bound> {
    own_bounds(plan, frame)
        .into_iter()
        .map(|(_, bound)| bound)
        .collect()
}

pub(super) fn own_bounds(plan: &Plan, frame: &Frame) -> Vec<(Broken, Bound)> {
    let names = [
        Broken::Base,
        Broken::Slope,
        Broken::Shared,
        Broken::Touched,
        Broken::TouchedShared,
        Broken::Idle,
    ];
    let told = plan.tells(Sought::Step);
    names
        .into_iter()
        .zip(forms(frame))
        // Without a step the touched size is chosen to suit, so nothing about it can be wrong.
        .filter(|(name, _)| {
            told || !matches!(name, Broken::Touched | Broken::TouchedShared | Broken::Idle)
        })
        .map(|(name, linear)| (name, plan.form(&linear)))
        // Rounding leaves crumbs in factors that cancel.
        .filter(|(_, form)| form[1..].iter().any(|factor| factor.abs() > 1e-9))
        .map(|(name, form)| {
            (
                name,
                Bound {
                    least: -form[0],
                    factors: form[1..].to_vec(),
                },
            )
        })
        .collect()
}
