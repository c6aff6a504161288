//! The answer of `calibrate`: one value that every format is written from.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::cautions::{CalibrateCaution, cautions};
use super::estimate::Estimate;
use super::estimates::{EstimateAnswer, estimates};
use super::fit::CONFIDENCE;
use super::least_squares::variance;
use super::next_reading::{Next, next_reading};
use super::notes::{Note, notes};
use super::predict::{Predictions, predict};
use super::question::Question;
use super::readings::Readings;
use super::smaller_memory::{Smaller, smaller_memory};
use super::swap::{Swap, swap};
use super::usage::Usage;
use super::written::{Written, bytes_written};
use crate::sizing::fit::CONTRACT;
use crate::sizing::uncertainty::{Draws, is_certain};

/// Answer of `calibrate`. Sizes `[B]`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CalibrateAnswer {
    /// Always `"calibrate"`.
    #[schemars(extend("const" = "calibrate"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Host that was read.
    pub host: String,
    /// Guest that was read.
    pub guest: String,
    /// Whether the guests that were read had been busy: `lived_in` or `fresh`.
    pub age: &'static str,
    /// Share of the cases in which an interval holds the truth.
    pub confidence: f64,
    /// What the readings say of guest and host: `unique` (one more settled guest: unique, overhead, page tables and
    /// bookkeeping), `common`, `repeats`, `touched`, `touched_busy`, `base`, `base_and_common`;
    /// `unmerged` (one more guest while nothing is merged) where only such guests were read.
    pub estimates: BTreeMap<&'static str, EstimateAnswer>,
    /// Root of the mean square of read less modelled, over the readings that were fitted.
    pub residual_rms: f64,
    /// The readings in the order of the file.
    pub readings: Vec<ReadingAnswer>,
    /// What the calibrated lab answers.
    pub predicts: Predictions,
    /// Draws of what the readings do not tell that its intervals rest on; null where they rest on the readings alone.
    pub draws: Option<Draws>,
    /// The error on the readings that were left out of the fit.
    pub held_out: Option<HeldOut>,
    /// What a guest writes.
    pub written: Option<Written>,
    /// Whether swap is quiet, in words.
    #[schemars(with = "Option<String>")]
    pub swap: Option<Swap>,
    /// A smaller memory for the guest.
    pub smaller_memory: Option<Smaller>,
    /// The reading to take next.
    pub next: Option<Next>,
    /// What was taken as given and what could not be told apart.
    #[schemars(with = "Vec<String>")]
    pub notes: Vec<Note>,
    /// Cautions that apply.
    pub cautions: Vec<CalibrateCaution>,
}

/// A reading and what the model says to it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadingAnswer {
    /// Line of the file.
    pub line: usize,
    /// Guests.
    pub guests: u64,
    /// What was read, memory in swap added.
    pub read: f64,
    /// What it should be; for a bound, the merged demand.
    pub modelled: f64,
    /// For a bound, the most that it can be.
    pub modelled_most: Option<f64>,
    /// Lower end of where such a reading falls.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// How it was used.
    #[schemars(with = "String")]
    pub used_as: UsedAs,
    /// Whether it is farther off than errors explain.
    pub outlier: bool,
}

/// How a reading was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UsedAs {
    /// How it is used, or would be.
    pub usage: Usage,
    /// Whether it was left out of the fit.
    pub held_out: bool,
}

/// The error on readings that were left out.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct HeldOut {
    /// How many that say where memory should be.
    pub readings: usize,
    /// Root of the mean square of the relative error.
    pub error_rms: f64,
    /// The largest relative error.
    pub error_most: f64,
    /// How many fall within their interval.
    pub within: usize,
}

/// The answer to a question, from its estimate.
pub fn answer(
    question: &Question,
    readings: &Readings,
    found: &Estimate,
    draws: Option<Draws>,
) -> CalibrateAnswer {
    let predicts = predict(question, found, draws);
    let rows: Vec<ReadingAnswer> = (0..question.readings.len())
        .map(|index| reading(question, found, index))
        .collect();
    let residuals = rows
        .iter()
        .filter(|row| row.used_as.usage.is_fitted() && !row.used_as.held_out)
        .map(|row| row.read - row.modelled);
    CalibrateAnswer {
        report: "calibrate",
        version: CONTRACT,
        lab: question.lab.name.clone(),
        host: question.host().name.clone(),
        guest: question.guest().name.clone(),
        age: if question.is_fresh() {
            "fresh"
        } else {
            "lived_in"
        },
        confidence: CONFIDENCE,
        estimates: estimates(question, found),
        residual_rms: root_mean_square(residuals),
        held_out: (question.held_out > 0).then(|| held_out(&rows)),
        readings: rows,
        predicts,
        draws: draws.filter(|_| !is_certain(question.lab, &question.host().name)),
        written: bytes_written(question),
        swap: swap(question.readings),
        smaller_memory: smaller_memory(question, found),
        next: next_reading(question, found, predicts.fits.value),
        notes: notes(question, readings, found),
        cautions: cautions(question, found),
    }
}

/// One reading against the model.
fn reading(question: &Question, found: &Estimate, index: usize) -> ReadingAnswer {
    let (read, fit) = (&question.readings[index], &found.fit);
    let observation = &fit.observations[index];
    let form = fit.parameters.form(&observation.expected);
    let value = observation.expected.at(&fit.values);
    let usage = observation.usage;
    let unmerged = fit.model.unmerged(read.guests as f64).at(&fit.values) + observation.beside;
    let most = usage.is_bound().then_some(unmerged);
    // A new reading is off by its own error too.
    let spread = variance(&form.factors, &fit.solution.covariance) + value.powi(2);
    let reach = fit.quantile * fit.error * spread.sqrt();
    let (less, more) = fit.base_reach(&observation.expected, &found.ends);
    ReadingAnswer {
        line: read.line,
        guests: read.guests,
        read: observation.demand,
        modelled: value,
        modelled_most: most,
        low: (value - reach.hypot(less)).max(0.0),
        high: most.unwrap_or(value) + reach.hypot(more),
        used_as: UsedAs {
            usage,
            held_out: index >= question.fitted(),
        },
        outlier: found.outliers.contains(&index),
    }
}

fn held_out(rows: &[ReadingAnswer]) -> HeldOut {
    // A bound is no single value, so there is no error on it.
    let left = || {
        rows.iter()
            .filter(|row| row.used_as.held_out && row.modelled_most.is_none())
    };
    let errors = || left().map(|row| (row.modelled / row.read - 1.0).abs());
    let is_within = |row: &&ReadingAnswer| (row.low..=row.high).contains(&row.read);
    HeldOut {
        readings: left().count(),
        error_rms: root_mean_square(errors()),
        error_most: errors().fold(0.0, f64::max),
        within: left().filter(is_within).count(),
    }
}

fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (count, squares) = values.fold((0_usize, 0.0), |(count, sum), value| {
        (count + 1, sum + value * value)
    });
    (squares / count.max(1) as f64).sqrt()
}
