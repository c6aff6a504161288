//! The answer of `calibrate`: one value that every format is written from.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::advice::{Next, Smaller};
use super::predict::Predictions;
use crate::sizing::answer::CautionAnswer;

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
    /// The error on the readings that were left out of the fit.
    pub held_out: Option<HeldOut>,
    /// What a guest writes.
    pub written: Option<WrittenAnswer>,
    /// Whether swap is quiet, in words.
    pub swap: Option<String>,
    /// A smaller memory for the guest.
    pub smaller_memory: Option<Smaller>,
    /// The reading to take next.
    pub next: Option<Next>,
    /// What was taken as given and what could not be told apart.
    pub notes: Vec<String>,
    /// Cautions that apply.
    pub cautions: Vec<CautionAnswer>,
    /// Memory that the kernel sees.
    #[serde(skip)]
    pub visible: f64,
}

/// A number and where it comes from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EstimateAnswer {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// `readings`, `lab`, or `both`: the readings, with numbers of the lab that they cannot tell and whose doubt the
    /// interval leaves out.
    pub from: &'static str,
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
    pub used_as: String,
    /// Whether it is farther off than errors explain.
    pub outlier: bool,
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

/// What a guest writes, as the guest's own counters show it. `[B/day]`
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct WrittenAnswer {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end; null where there are too few stretches of time for one.
    pub high: Option<f64>,
    /// The host's own part.
    pub base: f64,
    /// Whether the readings tell it.
    pub tells_base: bool,
    /// How long was read `[s]`.
    pub seconds: f64,
}
