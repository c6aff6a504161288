//! The answer to "how many fit": one value that every format is written from.

use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

use super::caution::HostCaution;
use super::curve::Curve;
use super::difference::HostChange;
use super::growth::{FullIn, Timeline};
use super::observed::ObservedAnswer;
use super::profiles::ProfileAnswer;
use super::search::Largest;
use super::why::Why;
use crate::lab::Period;

/// Answer of `fit`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FitAnswer {
    /// Always `"fit"`.
    #[schemars(extend("const" = "fit"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Currency of all money, empty if not given.
    pub currency: String,
    /// Cost horizon `[years]`.
    pub years: f64,
    /// The periods of the lab; left out where it has none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub periods: Vec<PeriodAnswer>,
    /// One entry a host, in the order of the call.
    pub hosts: Vec<HostAnswer>,
    /// What `--set` changed of each host; left out without it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changes: Vec<HostChange>,
}

/// A period of the lab.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PeriodAnswer {
    /// Name.
    pub name: String,
    /// Its share of the time.
    pub share: f64,
}

impl PeriodAnswer {
    pub(super) fn of(period: &Period) -> PeriodAnswer {
        PeriodAnswer {
            name: period.name.clone(),
            share: period.share,
        }
    }
}

/// Whether a resource has a largest count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// It has one.
    Bound,
    /// Still within at 1,000,000 guests.
    Unbounded,
    /// Past its limit with no scaling guest at all.
    #[serde(rename = "broken")]
    Infeasible,
}

/// Everything about one host.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HostAnswer {
    /// Name of the host.
    pub name: String,
    /// Largest N within every limit (scaling guests, or sets); null if a resource is broken or all are unbounded.
    pub fits: Option<u64>,
    /// Resources that set `fits`, or the infeasible ones.
    pub binds: Vec<String>,
    /// First N whose mean demand passes the cliff.
    pub breaks_at: Option<u64>,
    /// The same while the file-system cache has not shrunk.
    pub breaks_at_sudden: Option<u64>,
    /// Largest N within memory's safe limit with guests that were never busy.
    pub fresh: Largest,
    /// Largest N within memory's safe limit without page sharing.
    pub unshared: Largest,
    /// Largest N with balloons in and swap still empty.
    pub stretched: Largest,
    /// Largest N by the plain sum of configured memory.
    pub plain_sum: Largest,
    /// Guests of all profiles at `fits` (at 0 if null).
    pub guests: u64,
    /// Guests of each profile at `fits` (at 0 if null).
    pub mix: BTreeMap<String, u64>,
    /// What N counts: `guests` or `sets`.
    pub unit: &'static str,
    /// Resources in binding order.
    pub resources: Vec<ResourceAnswer>,
    /// The host with exactly the guests that must run (one set of them); null where none must.
    pub running: Option<Running>,
    /// When it is full if guests keep coming; left out where none come.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub full_in: Option<FullIn>,
    /// What each profile takes of the host at `fits`; with the guests that must run where they do not fit or were asked about.
    pub profiles: Vec<ProfileAnswer>,
    /// Resources left out of the answer.
    pub not_considered: Vec<String>,
    /// Values that were guessed.
    pub guesses: Vec<Guess>,
    /// Other values that are not given, with the origin of each default.
    pub defaults: Vec<DefaultUsed>,
    /// Demand for the binding resources with one guest (or set) more; null where nothing binds.
    pub next: Option<Next>,
    /// Scaling profiles with no guest at `fits`.
    pub missing: Vec<String>,
    /// Memory at `fits`.
    pub memory: MemoryAnswer,
    /// Processor at `fits`.
    pub cpu: CpuAnswer,
    /// Pools at `fits`.
    pub disk: Vec<DiskAnswer>,
    /// Power at `fits`; null where not given.
    pub power: Option<PowerAnswer>,
    /// Money; null where no price and no tariff are given.
    pub cost: Option<CostAnswer>,
    /// Whether every value that the count depends on is known: then there is no interval.
    pub certain: bool,
    /// How sure the count is; left out with `--draws 0`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub interval: Option<super::uncertainty::IntervalAnswer>,
    /// Why it holds no more; only with `--why`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<Why>,
    /// Loads against the number of guests; only with a picture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curve: Option<Curve>,
    /// Loads over time if guests keep coming; only with a picture, and where they do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub timeline: Option<Timeline>,
    /// How it comes back after a power cut, every guest fresh and unmerged; null where nothing runs and in comparisons.
    pub restart: Option<Restart>,
    /// The plan beside a record of the guests that run; only with `--observed`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub observed: Option<ObservedAnswer>,
    /// Cautions that apply.
    pub cautions: Vec<HostCaution>,
    /// Whether any guest gives memory to a balloon; left out where none does.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub balloons: bool,
}

impl ResourceAnswer {
    /// Whether the load is that of the mean demand and not of the demand at risk.
    pub fn is_mean_load(&self) -> bool {
        self.mean_limit.is_some() && self.load > self.at_risk / self.limit
    }
}

impl HostAnswer {
    /// Whether what must run fits, and anything at all.
    pub fn outcome(&self) -> Outcome {
        let infeasible = |one: &ResourceAnswer| one.state == State::Infeasible;
        let none = self.fits == Some(0) && self.mix.values().all(|n| *n == 0);
        Outcome::of(!none && !self.resources.iter().any(infeasible))
    }
}

/// Whether the guests that must run fit, and the target or need is met.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Everything fits.
    Fits,
    /// Something that must run does not fit, or a target or need is not met.
    DoesNotFit,
}

impl Outcome {
    /// By whether everything fits.
    pub fn of(fits: bool) -> Outcome {
        match fits {
            true => Outcome::Fits,
            false => Outcome::DoesNotFit,
        }
    }
}

/// A host with exactly the guests that must run.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Running {
    /// How many they are.
    pub guests: u64,
    /// Guests of each profile.
    pub mix: BTreeMap<String, u64>,
    /// Resources whose limit they pass.
    pub passed: Vec<String>,
    /// Resources with them, in binding order.
    pub resources: Vec<ResourceAnswer>,
}

/// A resource at `fits` (at 0 if null).
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ResourceAnswer {
    /// Name.
    pub name: String,
    /// Whether it has a largest count.
    pub state: State,
    /// Unit of limit, mean and at_risk.
    pub unit: &'static str,
    /// Largest N within its own limit.
    pub fits: Option<u64>,
    /// Limit.
    pub limit: f64,
    /// Mean demand; null where it has no bound.
    #[schemars(extend("type" = ["number", "null"]))]
    pub mean: f64,
    /// Smallest demand passed with at most the accepted risk; null where it has no bound.
    #[schemars(extend("type" = ["number", "null"]))]
    pub at_risk: f64,
    /// The period in which the load is highest, of which the numbers are; left out where the lab has no periods.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub period: Option<String>,
    /// Share of the time that the limit is passed; left out where the lab has no periods.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub past_limit: Option<f64>,
    /// Months until it passes its limit if guests keep coming; left out where that is not within 20 years.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub full_in_months: Option<f64>,
    /// Limit of the mean demand, where there is one: the processor's supply.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mean_limit: Option<f64>,
    /// The larger of at_risk/limit and, with a limit of the mean, mean/mean_limit; null where it has no bound.
    #[schemars(extend("type" = ["number", "null"]))]
    pub load: f64,
    /// Which resource it is.
    #[serde(skip)]
    pub resource: super::resource::Resource,
}

/// A guessed value.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Guess {
    /// Key path.
    pub key: String,
    /// Value as text.
    pub value: String,
}

/// A value that is not given, from a default with an origin.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DefaultUsed {
    /// Key path.
    pub key: String,
    /// Value as text.
    pub value: String,
    /// What the default rests on.
    pub origin: String,
}

/// One guest (or set) more than fits.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Next {
    /// Profile of the next guest; null where a whole set comes next.
    pub guest: Option<String>,
    /// Demand for the binding resources then.
    pub resources: Vec<NextDemand>,
}

/// A binding resource at one guest more.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "NextStrain")]
pub struct NextDemand {
    /// Name.
    pub name: String,
    /// Limit then.
    pub limit: f64,
    /// Mean demand then.
    pub mean: f64,
    /// At-risk demand then.
    pub at_risk: f64,
    /// Which resource it is.
    #[serde(skip)]
    pub resource: super::resource::Resource,
}

/// Memory at `fits`. Sizes `[B]`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MemoryAnswer {
    /// What the kernel sees.
    pub visible: f64,
    /// What guests may fill.
    pub usable: f64,
    /// Past this the host thrashes or kills guests.
    pub cliff: f64,
    /// Configured memory of all guests.
    pub promised: f64,
    /// promised/visible.
    pub overcommit: f64,
    /// Mean memory that page sharing saves; negative where it costs.
    pub shared_saved: f64,
    /// Share of the mergeable pages found merged.
    pub kappa: f64,
    /// One pass of the scanner `[s]`; null when off.
    pub scan_pass_s: Option<f64>,
    /// Where the mean use of visible memory settles, host and cache included.
    pub settled: f64,
}

/// Processor at `fits`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CpuAnswer {
    /// What guests can have `[cores of speed 1]`.
    pub supply: f64,
    /// vCPUs of all guests.
    pub vcpus: f64,
    /// Hardware threads.
    pub threads: f64,
    /// vCPUs per hardware thread.
    pub vcpus_per_thread: f64,
    /// Chance that a burst of work waits for a thread at the accepted worst moment; null without supply.
    pub wait_chance: Option<f64>,
    /// Mean wait of a burst then `[s]`; null without supply.
    pub mean_wait_s: Option<f64>,
    /// Chance that a burst of work waits at the mean demand; null without supply.
    pub usual_wait_chance: Option<f64>,
    /// Mean wait of a burst at the mean demand `[s]`; null without supply.
    pub usual_mean_wait_s: Option<f64>,
}

/// A pool at `fits`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DiskAnswer {
    /// Name.
    pub name: String,
    /// Whether the devices' endurance is known.
    pub rated: bool,
    /// When the rated writes are used up `[years]`; null where not rated or nothing is written.
    pub life_years: Option<f64>,
    /// Used over usable space.
    pub fill: f64,
    /// Promised to guests `[B]`.
    pub promised: f64,
    /// Usable space `[B]`.
    pub owned: f64,
    /// When it is full at today's growth `[days]`; null when never.
    pub full_in_days: Option<f64>,
    /// Used space `[B]`.
    pub used: f64,
    /// Written by guests and host, as their own counters show it `[B/day]`.
    pub written_per_day: f64,
    /// Written to all devices together, as their own logs show it `[B/day]`.
    pub device_written_per_day: f64,
}

/// Power at `fits`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PowerAnswer {
    /// At the wall, at the mean load of the busy hour or of the period that draws most `[W]`.
    pub watts: f64,
    /// The same per guest; null without guests.
    pub watts_per_guest: Option<f64>,
    /// Energy of a year: with periods that of each in its time, else at that power, an upper bound `[kWh]`.
    pub kwh_per_year: f64,
}

/// Money, in the lab's currency.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CostAnswer {
    /// Purchase.
    pub price: Option<f64>,
    /// Energy over `lab.years`.
    pub running: Option<f64>,
    /// Energy in one year.
    pub running_per_year: Option<f64>,
    /// Both.
    pub total: Option<f64>,
    /// Total per guest.
    pub per_guest: Option<f64>,
    /// Total per GiB of memory promised.
    pub per_gib: Option<f64>,
}

/// How a host comes back after a power cut.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Restart {
    /// Whether all guests may start at once.
    pub all_at_once: bool,
    /// Guests of all profiles to start together, fixed ones first; 0 where not even one fits.
    pub batch: u64,
    /// From the start of one batch to that of the next `[s]`; 0 with a single batch.
    pub wait_s: f64,
    /// When the last guest is up `[s]`.
    pub total_s: f64,
    /// Guests that cannot come back without passing the safe limit: the last ones to start.
    pub left_off: u64,
    /// Which guests start when, in order.
    pub batches: Vec<RestartBatch>,
    /// Busy share of the busiest pool at the worst moment; from 1 on the boots wait for it.
    pub disk_busy: f64,
    /// What the pool that takes longest needs to read all boots, one after another or together `[s]`; null where no pool's
    /// operations a second are given.
    pub disk_s: Option<f64>,
    /// What the processor needs for all boots with nothing else to do `[s]`.
    pub processor_s: f64,
    /// The longest boot of a guest that waits for neither `[s]`.
    pub boot_s: f64,
}

/// Guests that start together after a power cut.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RestartBatch {
    /// When, after the first `[s]`.
    pub at_s: f64,
    /// How many of each profile.
    pub guests: BTreeMap<String, u64>,
}
