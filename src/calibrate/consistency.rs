//! What errors of readings do not explain: contradictions are refused, outliers are named.

use super::equations::bounds;
use super::error::{self, PhysicalBound};
use super::fit::{BaseEnd, Fit};
use super::least_squares::{quantile, variance};
use super::question::Question;
use super::usage::Usage;
use crate::diagnose::Diagnostic;
use crate::model::footprint::Age;
use crate::model::number::Number;

/// Readings of one host do not scatter more than this (assumption).
const MOST_ERROR: f64 = 0.10;
/// Room for rounding above a guest's memory.
const MEMORY_SLACK: f64 = 1.001;

/// Refuses what errors do not explain.
pub(super) fn check(question: &Question, fit: &Fit, ends: &[BaseEnd]) -> Result<(), Diagnostic> {
    if fit.freedom > 0 && fit.error > MOST_ERROR {
        let off = |index: &usize| {
            let observation = &fit.observations[*index];
            (observation.expected.at(&fit.values) / observation.demand - 1.0).abs()
        };
        let worst = (0..question.readings.len())
            .filter(|index| fit.observations[*index].usage.is_fitted())
            .max_by(|one, other| off(one).total_cmp(&off(other)));
        let place = worst.map(|worst| question.readings[worst].place);
        return Err(error::scatter(fit.error, place));
    }
    for affine in [fit.model.idle(), fit.model.fresh()] {
        let held = fit.interval(&affine, ends);
        let is_fitted = fit.parameters.form(&affine).known().is_none();
        if is_fitted && held.low > fit.model.guest.memory * MEMORY_SLACK {
            let by = held.value - fit.model.guest.memory;
            return Err(contradiction(question, fit, PhysicalBound::Memory, by));
        }
    }
    for (name, bound) in bounds(&fit.parameters, &fit.model) {
        let by = -bound.at(&fit.solution.free);
        if by > fit.quantile * fit.standard_error(&bound.factors) + 1.0 {
            return Err(contradiction(question, fit, name, by));
        }
    }
    Ok(())
}

/// The error for a bound that is exceeded by so much `[B]`.
fn contradiction(question: &Question, fit: &Fit, bound: PhysicalBound, by: f64) -> Diagnostic {
    let guest = question.guest();
    let readings = question.readings.iter().zip(&fit.observations);
    let mut used = readings
        .take(question.fitted())
        .filter(|(_, one)| one.usage.is_fitted() || one.usage == Usage::Hovering)
        .map(|(reading, observation)| (reading.place, observation.usage));
    let (first, last) = (used.next(), used.next_back());
    let maybe_fresh = question.age == Age::LivedIn && guest.busy.most() > 0.0;
    let base = (!fit.evidence.line).then_some(question.host().memory.base);
    let error = error::contradiction(bound, by, guest, maybe_fresh, base);
    let readings = first.into_iter().chain(last);
    readings.fold(error, |error, (place, usage)| error.at(place, usage.name()))
}

/// Readings that the others would not have let expect: externally studentised residuals beyond the 0.5 % point, shared
/// among all readings.
///
/// # Source
/// Cook & Weisberg, *Residuals and Influence in Regression*, 1982, section 2.2.
pub(super) fn outliers(question: &Question, fit: &Fit) -> Vec<usize> {
    if fit.freedom < 2 || fit.error == 0.0 {
        return Vec::new();
    }
    let used: Vec<usize> = (0..question.fitted())
        .filter(|index| fit.observations[*index].usage.is_fitted())
        .collect();
    let limit = quantile(1.0 - 0.005 / used.len().max(1) as f64, fit.freedom - 1);
    let freedom = fit.freedom as f64;
    used.into_iter()
        .filter(|index| {
            let observation = &fit.observations[*index];
            let form = fit.parameters.form(&observation.expected);
            let sigma = observation.demand;
            let residual = (sigma - form.at(&fit.solution.free)) / sigma;
            let variance = variance(&form.factors, &fit.solution.covariance);
            let leverage = (variance / sigma.powi(2)).min(1.0 - 1e-9);
            let internal = residual / (fit.error * (1.0 - leverage).sqrt());
            let external =
                internal * ((freedom - 1.0) / (freedom - internal.powi(2)).max(1e-9)).sqrt();
            external.abs() > limit
        })
        .collect()
}
