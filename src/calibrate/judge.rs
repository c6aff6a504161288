//! What errors of readings do not explain: contradictions are refused, outliers are named.

use super::classify::Use;
use super::equations::own_bounds;
use super::estimate::{Broken, Estimate, Question, Refusal, quantile};
use super::solve::{dot, variance};

/// Refuses what errors do not explain.
pub(super) fn judge(question: &Question, found: &Estimate) -> Result<(), Refusal> {
    /// Readings of one host do not scatter more than this (assumption).
    const MOST_ERROR: f64 = 0.10;
    if found.freedom > 0 && found.error > MOST_ERROR {
        let off = |index: &usize| {
            (found.modelled[*index].at(&found.values) / found.demand[*index] - 1.0).abs()
        };
        let used = (0..question.readings.len()).filter(|index| {
            found.uses[*index].is_settled() || matches!(found.uses[*index], Use::Step(_))
        });
        let worst = used
            .max_by(|one, other| off(one).total_cmp(&off(other)))
            .unwrap_or(0);
        return Err(Refusal::Scatter(found.error, worst));
    }
    let most = [found.frame.idle(), found.frame.fresh()];
    for linear in most.iter().filter(|linear| {
        found.plan.form(linear)[1..]
            .iter()
            .any(|factor| *factor != 0.0)
    }) {
        let held = found.interval(linear);
        if held.low > found.frame.memory * 1.001 {
            return Err(Refusal::Contradiction(
                Broken::Memory,
                held.value - found.frame.memory,
            ));
        }
    }
    for (name, bound) in own_bounds(&found.plan, &found.frame) {
        let by = bound.least - dot(&bound.factors, &found.solution.free);
        if by > found.quantile * found.standard_error(&bound.factors) + 1.0 {
            return Err(Refusal::Contradiction(name, by));
        }
    }
    Ok(())
}

/// Readings that the others would not have let expect: externally studentised residuals beyond the 0.5 % point, shared
/// among all readings.
///
/// # Source
/// Cook & Weisberg, *Residuals and Influence in Regression*, 1982, section 2.2.
pub(super) fn outliers(found: &Estimate, question: &Question) -> Vec<usize> {
    if found.freedom < 2 {
        return Vec::new();
    }
    let used: Vec<usize> = (0..question.readings.len().saturating_sub(question.held_out))
        .filter(|index| {
            found.uses[*index].is_settled() || matches!(found.uses[*index], Use::Step(_))
        })
        .collect();
    let limit = quantile(1.0 - 0.005 / used.len().max(1) as f64, found.freedom - 1);
    let freedom = found.freedom as f64;
    used.into_iter()
        .filter(|index| {
            let form = found.plan.form(&found.modelled[*index]);
            let sigma = found.demand[*index];
            let residual =
                (found.demand[*index] - form[0] - dot(&form[1..], &found.solution.free)) / sigma;
            let leverage =
                (variance(&form[1..], &found.solution.covariance) / sigma.powi(2)).min(1.0 - 1e-9);
            let internal = residual / (found.error * (1.0 - leverage).sqrt());
            let external =
                internal * ((freedom - 1.0) / (freedom - internal.powi(2)).max(1e-9)).sqrt();
            found.error > 0.0 && external.abs() > limit
        })
        .collect()
}
