//! Estimates of a kind: numbers with intervals, how each is known, and what it takes to measure the rest.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::calibrate::estimates::Provenance;

/// A number and how it is known.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[schemars(rename = "GuestEstimate")]
pub struct Estimated {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// `readings`, or `both`: with a number of the lab that the lines cannot tell.
    #[schemars(with = "String")]
    pub from: Provenance,
    /// How it is known.
    #[schemars(with = "String")]
    pub how: Method,
}

/// How a number is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Read as it is, of so many guests.
    Read(usize),
    /// The median of so many guests.
    Median(usize),
    /// The smallest of so many guests, too few for a median.
    Smallest(usize),
    /// The mean of so many spells.
    Spells(usize),
    /// Share of the time of so many guests, and how often they were busy.
    Time(usize, usize),
    /// Never busy in the time of so many guests.
    NeverBusy(usize),
    /// A mean over time of so many guests.
    Mean(usize),
    /// What is merged of so many guests, split as in the lab.
    Split(usize),
    /// What so many guests hold, less what the lab gives for the rest.
    Rest(usize),
}

/// What the lines do not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Untold")]
pub struct NotMeasured {
    /// The key, which stays as in the lab.
    pub key: &'static str,
    /// What would tell it.
    #[serde(rename = "needs")]
    #[schemars(with = "String")]
    pub needs: Needs,
}

/// What it takes to measure a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// To read as the user that runs the guests, or as root.
    Owner,
    /// To read as root, with `--pages`.
    Root,
    /// A guest that is started while it is watched.
    Start,
    /// A busy spell in which a guest grows.
    Spell,
    /// A whole day.
    Day,
    /// The scheduler's counters.
    Dispatches,
    /// The guest's network interface.
    Interface,
    /// The periods that the lab gives it by.
    Periods,
}

/// The keys in the order of the report.
pub type Estimates = BTreeMap<&'static str, Estimated>;
