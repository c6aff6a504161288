//! What the calibrated lab answers, and how far off that may be.

use schemars::JsonSchema;
use serde::Serialize;

use super::apply::apply;
use super::estimate::Estimate;
use super::least_squares::{dot, product, unit};
use super::question::Question;
use crate::lab::Lab;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::count::{breaks_at, find_all, memory_count};
use crate::sizing::host::HostModel;
use crate::sizing::memory::MemoryCount;

/// A count with the interval it lies in; none where there is no bound.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Prediction {
    /// The count.
    pub value: Option<u64>,
    /// Lower end.
    pub low: Option<u64>,
    /// Upper end.
    pub high: Option<u64>,
}

/// Counts that the calibrated lab gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Predictions {
    /// Largest N within every limit.
    pub fits: Prediction,
    /// First N past the cliff.
    pub breaks_at: Prediction,
    /// Largest N within memory's safe limit with guests that were never busy.
    pub fresh: Prediction,
    /// First N past the cliff with guests that are never busy.
    pub breaks_at_fresh: Prediction,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Count {
    Fits,
    Breaks,
    Fresh,
    BreaksFresh,
}

/// Step along which a slope of memory is taken: at least this share of the value, and so much `[B]`.
const STEP: (f64, f64) = (1e-3, 1e6);

/// Asks the calibrated lab, and the two labs at the ends of the interval of what that many guests hold.
///
/// Memory in use at a count is a smooth function of what was fitted, so its standard error follows from its slopes; the
/// ends are the most likely labs in which that count holds so much more or less. Where the readings do not
/// determine the host's own memory, the counts at the ends of its interval are added as squares. Other resources stay as they are.
#[must_use]
pub fn predict(question: &Question, found: &Estimate) -> Predictions {
    Predictions {
        fits: one(question, found, Count::Fits),
        breaks_at: one(question, found, Count::Breaks),
        fresh: one(question, found, Count::Fresh),
        breaks_at_fresh: one(question, found, Count::BreaksFresh),
    }
}

fn one(question: &Question, found: &Estimate, count: Count) -> Prediction {
    let Some(value) = count.of(&found.fit.calibrated.lab, question) else {
        return Prediction::default();
    };
    let direction = direction(question, found, count, value);
    let end = |sign: f64| count.of(&lab_along(question, found, &direction, sign), question);
    // A lab that holds not one guest more than it must has no count; that is the lowest there is.
    let below = |count: Option<u64>| value.saturating_sub(count.unwrap_or(0)) as f64;
    let above = |count: u64| count.saturating_sub(value) as f64;
    // The host's own memory at the ends of its doubt, beside the error of the readings.
    let ends = found.ends.iter();
    let ends: Vec<Option<u64>> = ends.map(|end| count.of(&end.lab, question)).collect();
    let less = ends.iter().map(|end| below(*end)).fold(0.0, f64::max);
    let more = ends.iter().flatten().map(|end| above(*end));
    let more = more.fold(0.0, f64::max);
    let less = below(end(1.0)).hypot(less).ceil() as u64;
    let more = end(-1.0).map(|end| above(end).hypot(more).ceil() as u64);
    Prediction {
        value: Some(value),
        low: Some(value.saturating_sub(less)),
        high: more.map(|more| value.saturating_add(more)),
    }
}

/// The lab with what was fitted moved by a factor of a direction.
fn lab_along(question: &Question, found: &Estimate, direction: &[f64], factor: f64) -> Lab {
    let fit = &found.fit;
    let moved = fit.solution.x.iter().zip(direction);
    let x: Vec<f64> = moved.map(|(x, step)| x + factor * step).collect();
    let values = fit.parameters.values(&x);
    let place = (question.host, question.guest);
    apply(question.lab, place, &fit.model, &fit.parameters, &values).lab
}

/// The step of what was fitted along which memory grows to the end of its interval: `q·Σg/√(gᵀΣg)`.
fn direction(question: &Question, found: &Estimate, count: Count, n: u64) -> Vec<f64> {
    let fit = &found.fit;
    let fitted = fit.solution.x.iter().enumerate();
    let slopes: Vec<f64> = fitted
        .map(|(index, x)| {
            let unit = unit(index, fit.solution.x.len());
            let (share, least) = STEP;
            let step = fit.standard_error(&unit).max(x.abs() * share).max(least);
            let held = |sign: f64| {
                let lab = lab_along(question, found, &unit, sign * step);
                count.held(&lab, question, n)
            };
            (held(1.0) - held(-1.0)) / (2.0 * step)
        })
        .collect();
    let toward = product(&fit.solution.covariance, &slopes);
    let spread = dot(&slopes, &toward).max(0.0).sqrt();
    let reach = fit.quantile * fit.error;
    let scaled = |part: &f64| {
        if spread > 0.0 {
            reach * part / spread
        } else {
            0.0
        }
    };
    toward.iter().map(scaled).collect()
}

impl Count {
    fn of(self, lab: &Lab, question: &Question) -> Option<u64> {
        self.with_model(lab, question, |model| match self {
            Count::Fits => find_all(model).first()?.largest.bound(),
            Count::Fresh => memory_count(model, MemoryCount::Fresh).bound(),
            Count::Breaks | Count::BreaksFresh => {
                breaks_at(model, model.host.memory.file_cache_floor)
            }
        })
    }

    /// Mean memory in use at a count `[B]`.
    fn held(self, lab: &Lab, question: &Question, n: u64) -> f64 {
        self.with_model(lab, question, |model| {
            let (age, scan) = match self {
                Count::Fits => (Age::LivedIn, model.counted_scan()),
                Count::Fresh => (Age::Fresh, model.counted_scan()),
                Count::Breaks | Count::BreaksFresh => (Age::LivedIn, Scan::Steady),
            };
            model.mean_used(&model.composition.counts(n), age, scan)
        })
    }

    /// Asks the laws that the count goes by.
    fn with_model<T>(self, lab: &Lab, question: &Question, ask: impl FnOnce(&HostModel) -> T) -> T {
        let calm = (self == Count::BreaksFresh).then(|| calm(lab));
        let lab = calm.as_ref().unwrap_or(lab);
        ask(&HostModel::new(lab, &lab.hosts[question.host]))
    }
}

/// The lab with no guest ever busy.
fn calm(lab: &Lab) -> Lab {
    let mut calm = lab.clone();
    for guest in &mut calm.guests {
        guest.busy = 0.0.into();
    }
    calm
}
