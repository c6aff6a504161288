//! The answer to "which guest goes on which host".

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::sizing::answer::Outcome;
use crate::sizing::named::Named;

/// Answer of `fleet`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FleetAnswer {
    /// Always `"fleet"`.
    #[schemars(extend("const" = "fleet"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// How many hosts may fail.
    pub spare: usize,
    /// Guests that were to be placed.
    pub asked: BTreeMap<String, u64>,
    /// One entry a host, in the order asked for.
    pub hosts: Vec<FleetHost>,
    /// Guests that were not placed.
    pub unplaced: BTreeMap<String, u64>,
    /// Why not, by guest.
    pub reasons: BTreeMap<String, Reason>,
    /// Whether any `spare` hosts may fail and the rest hold everything that was placed.
    pub survives: bool,
    /// Whether the search ended early, after very many checks of a host or by an interrupt: the answer is the best so far,
    /// and what is null or false may only not have been looked at.
    pub stopped: bool,
    /// Scaling guests that all hosts hold together beside those that must run; null where the number of every guest was
    /// given, and where not even those that must run fit.
    pub holds: Option<u64>,
    /// Where the guests of failed hosts go, for each set of `spare` hosts, or for each host where those are very many.
    pub after: Vec<Takeover>,
    /// When guests that keep coming find no place; null where none come, and where the search was ended.
    pub full_in: Option<FleetFull>,
    /// How many hosts are needed.
    pub needed: Needed,
    /// Whether every way was tried where guests were left over: no placement holds them all.
    pub proven: bool,
    /// Cautions that apply.
    pub cautions: Vec<FleetCaution>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// When guests that keep coming find no place.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FleetFull {
    /// Months from now; null where a place is found for all that come within 20 years.
    pub months: Option<f64>,
    /// Guests of each profile then, those that are multiplied left out.
    pub guests: BTreeMap<String, u64>,
    /// Why the guests that come then find no place, by guest; empty where it is the disks that grow.
    pub reasons: BTreeMap<String, Reason>,
    /// What is loaded most just before; null where it is full now.
    pub fullest: Option<Fullest>,
}

/// The resource that is loaded most on any host.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "FleetFullest")]
pub struct Fullest {
    /// The host.
    pub host: String,
    /// The resource.
    pub resource: Named,
    /// Its load, at_risk/limit.
    pub load: f64,
    /// The period in which it is that; left out where the lab has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub period: Option<String>,
}

/// One host of a fleet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FleetHost {
    /// Name.
    pub name: String,
    /// Guests placed there.
    pub guests: BTreeMap<String, u64>,
    /// at_risk/limit of each resource that is considered; null where there is no supply.
    #[schemars(with = "BTreeMap<String, f64>")]
    pub loads: Loads,
    /// The period in which each resource is loaded most; left out where the lab has none.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub periods: BTreeMap<String, String>,
    /// Time to move the memory of its machines away over the link `[s]`; null where no link is given.
    pub empty_s: Option<f64>,
    /// The same with their disks, where those are not shared `[s]`.
    pub empty_with_disks_s: Option<f64>,
    /// Where its guests go when it is emptied, in the order to move them; null where the others do not hold them all.
    pub empty_to: Option<Vec<Move>>,
}

/// Where guests go when hosts fail.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Takeover {
    /// The hosts that failed.
    pub failed: Vec<String>,
    /// Where their guests are started again; null where no way was found.
    pub moves: Option<Vec<Move>>,
}

/// Guests of one profile that go to another host.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Move {
    /// The profile.
    pub guest: String,
    /// How many.
    pub count: u64,
    /// Where to.
    pub to: String,
}

/// Shares of their limits that resources are loaded with, in the order of resources.
#[derive(Debug, Clone, PartialEq)]
pub struct Loads(pub Vec<(Named, f64)>);

impl Loads {
    /// The loads by name.
    pub fn by_name(&self) -> BTreeMap<&str, f64> {
        let all = self.0.iter();
        all.map(|(named, load)| (named.name.as_str(), *load))
            .collect()
    }
}

impl Serialize for Loads {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.by_name().serialize(serializer)
    }
}

/// How many hosts the guests need.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Needed {
    /// No placement needs fewer; null where a guest fits on no host at all.
    pub at_least: Option<usize>,
    /// The fewest that a placement was found for; null where none was.
    pub found: Option<usize>,
    /// found − at_least.
    pub gap: Option<usize>,
}

impl Needed {
    pub(super) fn new(at_least: Option<usize>, found: Option<usize>) -> Needed {
        let gap = found.zip(at_least);
        Needed {
            at_least,
            found,
            gap: gap.map(|(found, least)| found.saturating_sub(least)),
        }
    }
}

/// Why a guest was not placed.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// One more would pass one of these limits on every host.
    PassesLimits(Vec<Named>),
    /// One more would fit, but not once this many hosts have failed.
    NotAfterFailures(usize),
}

/// What to be careful about on several hosts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FleetCaution {
    /// Two hosts alone have no majority.
    NoMajority,
    /// Taking over is a restart.
    Restart,
    /// A guest needs a device that is in one host.
    Pinned,
    /// The answer is an estimate.
    Estimate,
}
