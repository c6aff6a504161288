//! What the plan says beside what was recorded of the guests that run. The room above that reads records computes it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::resource::Resource;

/// A host's plan beside a record of its guests.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ObservedAnswer {
    /// How long the record is `[s]`.
    pub seconds: f64,
    /// Time between two moments of it `[s]`.
    pub every_s: f64,
    /// The guests of each profile that ran together most of the time; what was seen is what these did.
    pub guests: BTreeMap<String, u64>,
    /// Share of the recorded time that exactly these ran.
    pub share: f64,
    /// The resources that the record shows, with these guests.
    pub loads: Vec<SeenLoad>,
    /// How much of the time guests of each recorded profile are busy.
    pub busy: BTreeMap<String, Beside>,
    /// The recorded guests drawn at random until as many run as the plan holds; null where none can be.
    pub replay: Option<Replay>,
    /// Profiles of the lab that were not recorded.
    pub unrecorded: Vec<String>,
    /// Kinds that were recorded and are not in the lab.
    pub unknown: Vec<String>,
}

/// A number of the plan and the same as it was seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Beside {
    /// By the law.
    pub plan: f64,
    /// As recorded, or replayed; null where the record does not show it.
    pub seen: Option<f64>,
}

/// Demand for a resource with the guests that ran; in the unit of the resource.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeenLoad {
    /// Name of the resource.
    pub name: String,
    /// Unit of limit and demand.
    pub unit: &'static str,
    /// Limit.
    pub limit: f64,
    /// Chance of passing it that is accepted.
    pub risk: f64,
    /// Mean over the time.
    pub mean: Beside,
    /// The highest moment; of the plan the demand that is passed with the accepted risk.
    pub highest: Beside,
    /// Share of the time past the limit.
    pub past_limit: Beside,
    /// The resource.
    #[serde(skip)]
    pub resource: Resource,
}

/// What the recorded guests do when they are drawn at random, whole days kept together.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Replay {
    /// The guests of each profile.
    pub guests: BTreeMap<String, u64>,
    /// How often guests and a day were drawn.
    pub draws: u64,
    /// Seed of the generator.
    pub seed: u64,
    /// Whole days that were drawn from; 0 where the record is shorter than one and was drawn as a whole.
    pub days: u64,
    /// The resources that the record shows.
    pub loads: Vec<SeenLoad>,
}
