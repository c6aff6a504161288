//! What the calibrated lab answers, and how far off that may be.

use std::array::from_fn;

use schemars::JsonSchema;
use serde::Serialize;

use super::apply::apply;
use super::estimate::Estimate;
use super::least_squares::{dot, product};
use super::memory::{MemoryModel, Unknown};
use super::question::Question;
use crate::lab::Lab;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::count::{breaks_at, memory_count};
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, lowest};
use crate::sizing::memory::MemoryCount;
use crate::sizing::search::Largest;
use crate::sizing::uncertainty::{Draws, each_draw, ends};

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

impl Prediction {
    /// A count that may be so much less and so much more.
    pub(super) fn around(value: Option<u64>, [less, more]: [f64; 2]) -> Prediction {
        let high = value.filter(|_| more.is_finite());
        Prediction {
            value,
            low: value.map(|value| value.saturating_sub(less.ceil() as u64)),
            high: high.map(|value| value.saturating_add(more.ceil() as u64)),
        }
    }
}

/// How far a count may be off, less and more, with the ends of what draws of the rest give for it, added as squares.
pub(super) fn with_draws<const K: usize>(
    value: u64,
    [less, more]: [f64; 2],
    drawn: Option<&[[Largest; K]]>,
    count: usize,
) -> [f64; 2] {
    let drawn = drawn.and_then(|drawn| ends(drawn.iter().map(|all| all[count]).collect()));
    let [low, high] = drawn.unwrap_or([Largest::Bound(value); 2]);
    let above = match high {
        Largest::Unbounded => f64::INFINITY,
        high => high.number().saturating_sub(value) as f64,
    };
    let below = value.saturating_sub(low.number()) as f64;
    [less.hypot(below), more.hypot(above)]
}

/// Largest N within every limit, searched from a hint.
pub(super) fn fits(model: &HostModel, hint: Option<&Hint>) -> Largest {
    lowest(model, hint.unwrap_or(&Hint::plain(model))).largest
}

/// First N past the cliff.
pub(super) fn first_past_cliff(model: &HostModel) -> Largest {
    let first = breaks_at(model, model.host.memory.file_cache_floor);
    first.map_or(Largest::Unbounded, Largest::Bound)
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
/// determine the host's own memory, the counts at the ends of its interval are added as squares, and so are the ends of the
/// draws of all else that the readings do not determine.
pub fn predict(question: &Question, found: &Estimate, draws: Option<Draws>) -> Predictions {
    let drawn = draws.and_then(|draws| drawn(question, found, draws));
    let one = |count| prediction(question, found, count, drawn.as_deref());
    let [fits, breaks_at, fresh, breaks_at_fresh] = Count::ALL.map(one);
    Predictions {
        fits,
        breaks_at,
        fresh,
        breaks_at_fresh,
    }
}

/// All counts in each draw of what the readings do not determine: the numbers that they determine stay what was fitted, and
/// so what follows of them for a guest depends on what is drawn of it.
fn drawn(question: &Question, found: &Estimate, draws: Draws) -> Option<Vec<[Largest; 4]>> {
    let fit = &found.fit;
    each_draw(question.lab, &question.host().name, draws, |lab, hint| {
        let mut lab = lab.clone();
        // Its doubt is added as the counts at its ends.
        lab.hosts[0].memory.base = fit.values[Unknown::Base as usize];
        let drawn = Question {
            lab: &lab,
            host: 0,
            ..*question
        };
        let model = MemoryModel::new(&drawn);
        let place = (drawn.host, drawn.guest);
        let lab = apply(&lab, place, &model, &fit.parameters, &fit.values).lab;
        Count::ALL.map(|count| count.largest(&lab, 0, Some(hint)))
    })
}

fn prediction(
    question: &Question,
    found: &Estimate,
    count: Count,
    drawn: Option<&[[Largest; 4]]>,
) -> Prediction {
    let Some(value) = count.of(&found.fit.calibrated.lab, question) else {
        return Prediction::default();
    };
    let direction = direction(question, found, count, value);
    let end = |sign: f64| count.of(&lab_along(question, found, &direction, sign), question);
    // A lab that holds not one guest more than it must has no count; that is the lowest there is.
    let below = |count: Option<u64>| value.saturating_sub(count.unwrap_or(0)) as f64;
    let above = |count: Option<u64>| count.map_or(0.0, |count| count.saturating_sub(value) as f64);
    // The host's own memory at the ends of its doubt, beside the error of the readings.
    let mut reach = [0.0, 0.0];
    for base in &found.ends {
        let count = count.of(&base.lab, question);
        reach = [below(count).max(reach[0]), above(count).max(reach[1])];
    }
    let [less, more] = with_draws(value, reach, drawn, count as usize);
    let less = below(end(1.0)).hypot(less);
    let more = match end(-1.0) {
        None => f64::INFINITY,
        last => above(last).hypot(more),
    };
    Prediction::around(Some(value), [less, more])
}

/// The lab with what was fitted moved by a factor of a direction.
fn lab_along(question: &Question, found: &Estimate, direction: &[f64; 4], factor: f64) -> Lab {
    let fit = &found.fit;
    let x = from_fn(|index| fit.solution.x[index] + factor * direction[index]);
    let place = (question.host, question.guest);
    let values = fit.parameters.values(&x);
    apply(question.lab, place, &fit.model, &fit.parameters, &values).lab
}

/// The step of what was fitted along which memory grows to the end of its interval: `q·Σg/√(gᵀΣg)`.
fn direction(question: &Question, found: &Estimate, count: Count, n: u64) -> [f64; 4] {
    let fit = &found.fit;
    let mut slopes = [0.0; 4];
    for unknown in &fit.parameters.fitted {
        let (index, unit) = (*unknown as usize, unknown.affine().factors);
        let (share, least) = STEP;
        let step = fit
            .standard_error(&unit)
            .max(fit.solution.x[index].abs() * share)
            .max(least);
        let held = |sign: f64| {
            let lab = lab_along(question, found, &unit, sign * step);
            count.held(&lab, question, n)
        };
        slopes[index] = (held(1.0) - held(-1.0)) / (2.0 * step);
    }
    let toward = product(&fit.solution.covariance, &slopes);
    let spread = dot(&slopes, &toward).max(0.0).sqrt();
    let reach = fit.quantile * fit.error;
    toward.map(|part| {
        if spread > 0.0 {
            reach * part / spread
        } else {
            0.0
        }
    })
}

impl Count {
    const ALL: [Count; 4] = [Count::Fits, Count::Breaks, Count::Fresh, Count::BreaksFresh];

    fn of(self, lab: &Lab, question: &Question) -> Option<u64> {
        self.largest(lab, question.host, None).bound()
    }

    /// The count of a host, searched from a hint.
    fn largest(self, lab: &Lab, host: usize, hint: Option<&Hint>) -> Largest {
        self.with_model(lab, host, |model| match self {
            Count::Fits => fits(model, hint),
            Count::Fresh => memory_count(model, MemoryCount::Fresh),
            Count::Breaks | Count::BreaksFresh => first_past_cliff(model),
        })
    }

    /// Mean memory in use at a count `[B]`.
    fn held(self, lab: &Lab, question: &Question, n: u64) -> f64 {
        self.with_model(lab, question.host, |model| {
            let (age, scan) = match self {
                Count::Fits => (Age::LivedIn, model.counted_scan()),
                Count::Fresh => (Age::Fresh, model.counted_scan()),
                Count::Breaks | Count::BreaksFresh => (Age::LivedIn, Scan::Steady),
            };
            model.mean_used(&model.composition.counts(n), age, scan)
        })
    }

    /// Asks the laws that the count goes by.
    fn with_model<T>(self, lab: &Lab, host: usize, ask: impl FnOnce(&HostModel) -> T) -> T {
        let never_busy = (self == Count::BreaksFresh).then(|| never_busy(lab));
        let lab = never_busy.as_ref().unwrap_or(lab);
        ask(&HostModel::new(lab, &lab.hosts[host]))
    }
}

/// The lab with no guest ever busy.
fn never_busy(lab: &Lab) -> Lab {
    let mut never_busy = lab.clone();
    for guest in &mut never_busy.guests {
        guest.busy = 0.0.into();
    }
    never_busy
}
