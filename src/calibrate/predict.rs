//! What the calibrated lab answers, and how far off that may be.

use super::apply::apply;
use super::estimate::{Estimate, Question};
use super::solve::variance;
use crate::lab::Lab;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::fit::{breaks_at, find_all, memory_count};
use crate::sizing::host::HostModel;
use crate::sizing::memory::MemoryCount;

/// A count with the interval it lies in; none where there is no bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Prediction {
    /// The count.
    pub value: Option<u64>,
    /// Lower end.
    pub low: Option<u64>,
    /// Upper end.
    pub high: Option<u64>,
}

/// Counts that the calibrated lab gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
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

/// The counts, in the order of [`Predictions`].
const COUNTS: [Count; 4] = [Count::Fits, Count::Breaks, Count::Fresh, Count::BreaksFresh];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Count {
    Fits,
    Breaks,
    Fresh,
    BreaksFresh,
}

/// Asks the calibrated lab, and the two labs at the ends of the interval of what that many guests hold.
///
/// Memory in use at a count is a smooth function of what was fitted, so its standard error follows from its slopes; the
/// ends are the most likely labs in which that count holds so much more or less. Where the readings do not tell the
/// host's own memory, the counts at the ends of its doubt are added as squares. Other resources stay as they are.
#[must_use]
pub fn predict(question: &Question, found: &Estimate) -> Predictions {
    let [fits, breaks_at, fresh, breaks_at_fresh] = COUNTS.map(|count| one(question, found, count));
    Predictions {
        fits,
        breaks_at,
        fresh,
        breaks_at_fresh,
    }
}

fn one(question: &Question, found: &Estimate, count: Count) -> Prediction {
    let Some(value) = count.of(&found.calibrated.lab, question) else {
        return Prediction {
            value: None,
            low: None,
            high: None,
        };
    };
    let direction = direction(question, found, count, value);
    let end = |sign: f64| {
        let x: Vec<f64> = found
            .solution
            .x
            .iter()
            .zip(&direction)
            .map(|(x, step)| x + sign * step)
            .collect();
        count.of(&at(question, found, &x), question)
    };
    // A lab that holds not one guest more than it must has no count; that is the lowest there is.
    let below = |count: Option<u64>| value.saturating_sub(count.unwrap_or(0)) as f64;
    let above = |count: u64| count.saturating_sub(value) as f64;
    // The host's own memory at the ends of its doubt, beside the error of the readings.
    let doubted: Vec<Option<u64>> = found
        .ends
        .iter()
        .map(|end| count.of(&end.lab, question))
        .collect();
    let less = doubted.iter().map(|end| below(*end)).fold(0.0, f64::max);
    let more = doubted
        .iter()
        .flatten()
        .map(|end| above(*end))
        .fold(0.0, f64::max);
    let less = below(end(1.0)).hypot(less).ceil() as u64;
    let more = end(-1.0).map(|end| above(end).hypot(more).ceil() as u64);
    Prediction {
        value: Some(value),
        low: Some(value.saturating_sub(less)),
        high: more.map(|more| value.saturating_add(more)),
    }
}

/// The lab at other values of what was fitted.
fn at(question: &Question, found: &Estimate, x: &[f64]) -> Lab {
    let values = found.plan.values(x);
    apply(
        question.lab,
        (question.host, question.guest),
        &found.frame,
        &found.plan,
        &values,
    )
    .lab
}

/// The step of what was fitted along which memory grows to the end of its interval: `q·Σg/√(gᵀΣg)`.
fn direction(question: &Question, found: &Estimate, count: Count, n: u64) -> Vec<f64> {
    let slopes: Vec<f64> = (0..found.solution.x.len())
        .map(|index| {
            let unit: Vec<f64> = (0..found.solution.x.len())
                .map(|other| f64::from(u8::from(other == index)))
                .collect();
            let step = found
                .standard_error(&unit)
                .max(found.solution.x[index].abs() * 1e-3)
                .max(1e6);
            let mut x = found.solution.x.clone();
            let mut held = |sign: f64| {
                x[index] = found.solution.x[index] + sign * step;
                count.held(&at(question, found, &x), question, n)
            };
            (held(1.0) - held(-1.0)) / (2.0 * step)
        })
        .collect();
    let spread = variance(&slopes, &found.solution.covariance).sqrt();
    let covariance = &found.solution.covariance;
    let toward = covariance.iter().map(|row| super::solve::dot(row, &slopes));
    let reach = found.quantile * found.error;
    toward
        .map(|part| {
            if spread > 0.0 {
                reach * part / spread
            } else {
                0.0
            }
        })
        .collect()
}

impl Count {
    fn of(self, lab: &Lab, question: &Question) -> Option<u64> {
        let host = &lab.hosts[question.host];
        let model = HostModel::new(lab, host);
        match self {
            Count::Fits => find_all(&model)
                .first()
                .and_then(|found| found.largest.bound()),
            Count::Breaks => breaks_at(&model, host.memory.file_cache_floor),
            Count::Fresh => memory_count(&model, MemoryCount::Fresh).bound(),
            Count::BreaksFresh => {
                let calm = calm(lab);
                breaks_at(
                    &HostModel::new(&calm, &calm.hosts[question.host]),
                    host.memory.file_cache_floor,
                )
            }
        }
    }

    /// Mean memory in use at a count `[B]`.
    fn held(self, lab: &Lab, question: &Question, n: u64) -> f64 {
        let calm = calm(lab);
        let lab = if self == Count::BreaksFresh {
            &calm
        } else {
            lab
        };
        let model = HostModel::new(lab, &lab.hosts[question.host]);
        let counts = model.composition.counts(n);
        match self {
            Count::Fits => model.mean_used(&counts, Age::LivedIn, model.counted_scan()),
            Count::Fresh => model.mean_used(&counts, Age::Fresh, model.counted_scan()),
            Count::Breaks | Count::BreaksFresh => {
                model.mean_used(&counts, Age::LivedIn, Scan::Steady)
            }
        }
    }
}

/// The lab with no guest ever busy.
fn calm(lab: &Lab) -> Lab {
    let mut calm = lab.clone();
    for guest in &mut calm.guests {
        guest.busy = 0.0;
    }
    calm
}
