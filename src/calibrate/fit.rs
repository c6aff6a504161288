//! The numbers that fit the readings best, and how far they may be off.

use super::apply::{Calibrated, apply};
use super::classify::{Evidence, classify, evidence, no_pair};
use super::equations::{Observation, bounds, equations, observations};
use super::error;
use super::least_squares::{Solution, cost, quantile, solve, variance};
use super::memory::{Affine, MemoryModel};
use super::parameters::Parameters;
use super::question::Question;
use crate::diagnose::Diagnostic;
use crate::lab::Lab;
use crate::model::scanner;
use crate::sizing::host::HostModel;
use crate::survey::reading::Settled;

/// Share of the cases in which a stated interval holds the truth.
pub const CONFIDENCE: f64 = 0.9;
/// Relative error of a reading where there are just as many readings as unknowns, so that it cannot be estimated (assumption).
const ASSUMED_ERROR: f64 = 0.01;
/// How often the merged share is taken from the result of the time before; it changes little.
const ROUNDS: usize = 5;

/// A number with its 90 % interval. `[B]`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// A number without doubt.
    pub fn exact(value: f64) -> Interval {
        Interval {
            value,
            low: value,
            high: value,
        }
    }

    /// The same of what rises with the number.
    #[must_use]
    pub fn map(self, rising: impl Fn(f64) -> f64) -> Interval {
        Interval {
            value: rising(self.value),
            low: rising(self.low),
            high: rising(self.high),
        }
    }
}

/// Half of an interval in standard errors.
pub fn half_width(freedom: usize) -> f64 {
    quantile(0.5 + CONFIDENCE / 2.0, freedom)
}

/// What fits the readings best.
#[derive(Debug, Clone)]
pub struct Fit {
    /// What the lab fixes.
    pub model: MemoryModel,
    /// The readings, each with its expected value.
    pub observations: Vec<Observation>,
    /// What kinds of equations there were.
    pub evidence: Evidence,
    /// What is fitted.
    pub parameters: Parameters,
    /// What fits best.
    pub solution: Solution<4>,
    /// Relative error of a reading.
    pub error: f64,
    /// Equations beyond the number of unknowns.
    pub freedom: usize,
    /// Half of an interval is this many standard errors.
    pub quantile: f64,
    /// B, U, M, T `[B]`.
    pub values: [f64; 4],
    /// The lab with these numbers.
    pub calibrated: Calibrated,
}

/// The fit with `base` at one end of its interval.
#[derive(Debug, Clone)]
pub struct BaseEnd {
    /// B, U, M, T then `[B]`.
    pub values: [f64; 4],
    /// The calibrated lab then.
    pub lab: Lab,
    /// Whether the readings contradict that end.
    pub contradicted: bool,
}

/// Fits the readings, without a check whether they contradict one another.
///
/// # Errors
/// Where they are too few.
pub(super) fn fit(question: &Question) -> Result<Fit, Diagnostic> {
    let mut fit = fit_once(question, question.lab)?;
    for _ in 1..ROUNDS {
        fit = fit_once(question, &fit.calibrated.lab)?;
    }
    Ok(fit)
}

/// One fit, with the merged share of the lab `likely`.
fn fit_once(question: &Question, likely: &Lab) -> Result<Fit, Diagnostic> {
    let model = MemoryModel::new(question);
    let likely = HostModel::new(likely, &likely.hosts[question.host]);
    let drifts = |n: u64| {
        let resident = likely.resident(&question.counts(n), question.age);
        !scanner::may_rest(resident, model.visible, question.host().merging.threshold)
    };
    let uses = classify(question.readings, &model, drifts);
    let all = evidence(question.readings, &uses, question.fitted());
    let observations = observations(question, &model, uses, &likely);
    evidence_to_try(all)
        .into_iter()
        .find_map(|evidence| with_evidence(question, &model, &observations, evidence))
        .ok_or_else(|| too_few(question))
}

/// The fit that this evidence allows; none where the readings do not determine what it promises.
fn with_evidence(
    question: &Question,
    model: &MemoryModel,
    observations: &[Observation],
    evidence: Evidence,
) -> Option<Fit> {
    let parameters = Parameters::new(model, evidence)?;
    let equations = equations(&parameters, model, question, observations);
    let sought = parameters.fitted.iter().map(|unknown| *unknown as usize);
    let bounds = bounds(&parameters, model).into_iter();
    let solution = solve(
        &sought.collect::<Vec<_>>(),
        &equations,
        &bounds.map(|(_, bound)| bound).collect::<Vec<_>>(),
    )?;
    let freedom = equations.len().saturating_sub(parameters.fitted.len());
    let values = parameters.values(&solution.x);
    let place = (question.host, question.guest);
    Some(Fit {
        error: relative_error(
            question,
            observations,
            freedom,
            cost(&equations, &solution.free),
        ),
        quantile: half_width(freedom),
        calibrated: apply(question.lab, place, model, &parameters, &values),
        model: model.clone(),
        observations: observations.to_vec(),
        evidence,
        parameters,
        solution,
        freedom,
        values,
    })
}

/// The evidence, then less and less of it, for when the readings do not determine all that they seem to.
///
/// Merge counters come after unmerged readings: they leave out the empty parts of 2 MiB pages, which come back to the
/// host when merging splits them.
fn evidence_to_try(all: Evidence) -> [Evidence; 4] {
    let mut less = all;
    less.counters = false;
    let first = if all.merged && all.unmerged {
        less
    } else {
        all
    };
    less.unmerged &= !all.merged;
    let one_kind = less;
    less.line = false;
    [first, all, one_kind, less]
}

fn too_few(question: &Question) -> Diagnostic {
    let fitted = &question.readings[..question.fitted()];
    let count = |state| fitted.iter().filter(|one| one.settled == state).count();
    error::too_few(
        [question.readings.len(), question.held_out],
        [Settled::Yes, Settled::Unknown, Settled::No].map(count),
        (0..fitted.len()).find_map(|index| no_pair(fitted, index)),
        question.readings.first().map(|reading| reading.place),
    )
}

/// Relative error of a reading, by the `cost` of the fit.
fn relative_error(
    question: &Question,
    observations: &[Observation],
    freedom: usize,
    cost: f64,
) -> f64 {
    let readings = question.readings.iter().zip(observations);
    let rounding = readings
        .map(|(reading, observation)| (reading.rounding / observation.demand).powi(2) / 12.0);
    let rounding = (rounding.sum::<f64>() / question.readings.len().max(1) as f64).sqrt();
    match freedom {
        0 => rounding.max(ASSUMED_ERROR),
        freedom => (cost / freedom as f64).sqrt().max(rounding),
    }
}

impl Fit {
    /// Standard error of a linear form of what is fitted `[B]`.
    pub fn standard_error(&self, factors: &[f64; 4]) -> f64 {
        self.error * variance(factors, &self.solution.covariance).sqrt()
    }

    /// How much less and how much more an affine function of B, U, M, T may be with `base` at either end `[B]`.
    pub fn base_reach(&self, affine: &Affine, ends: &[BaseEnd]) -> (f64, f64) {
        let value = affine.at(&self.values);
        ends.iter()
            .map(|end| affine.at(&end.values) - value)
            .fold((0.0, 0.0), |(less, more), off| {
                (f64::max(less, -off), f64::max(more, off))
            })
    }

    /// An affine function of B, U, M, T with its interval; never below 0.
    ///
    /// The error of the readings and the doubt about the host's own memory are independent, so their reaches add as
    /// squares.
    pub fn interval(&self, affine: &Affine, ends: &[BaseEnd]) -> Interval {
        let form = self.parameters.form(affine);
        let value = affine.at(&self.values).max(0.0);
        let free = form.at(&self.solution.free);
        let reach = self.quantile * self.standard_error(&form.factors);
        let (less, more) = self.base_reach(affine, ends);
        Interval {
            value,
            low: (free - reach.hypot(less)).max(0.0).min(value),
            high: (free + reach.hypot(more)).max(value),
        }
    }
}
