//! How many guests fit on a host and what runs out first.

use std::collections::BTreeMap;

use super::answer::{
    FitAnswer, HostAnswer, Next, NextDemand, PeriodAnswer, ResourceAnswer, Restart, Running, State,
};
use super::caution::applicable::{CautionContext, cautions};
use super::changes::changes;
use super::composition::Unit;
use super::count::{Counted, Found, breaks_at, memory_count, plain_sum};
use super::curve::{curve, span};
use super::figures::{cost_answer, cpu_answer, disk_answers, memory_answer, power_answer};
use super::growth::{Dated, growth, timeline};
use super::guesses::defaults;
use super::host::HostModel;
use super::memory::MemoryCount;
use super::observed::ObservedAnswer;
use super::profiles::profiles;
use super::resource::Resource;
use super::search::Largest;
use super::uncertainty::{Draws, IntervalAnswer, is_certain};
use super::why::why;
use crate::lab::{Guest, Host, Lab};
use crate::model::footprint::Age;

/// Version of the JSON contract.
pub const CONTRACT: u32 = 1;

/// How sure the count of a host is.
type Interval<'a> = &'a dyn Fn(&Host) -> Option<IntervalAnswer>;
/// How a host with N scaling guests (or sets) comes back after a power cut.
type Returning<'a> = &'a dyn Fn(&HostModel, u64) -> Restart;
/// What was recorded of the guests, beside the plan with these counts.
type Observing<'a> = &'a dyn Fn(&HostModel, &[u64]) -> Option<ObservedAnswer>;

/// What answers hold beside counts and figures. Rooms above this one compute some of it, so these functions are passed in.
#[derive(Clone, Copy, Default)]
pub struct Wanted<'a> {
    /// Loads against the number of guests.
    pub curve: bool,
    /// The guests that must run are what was asked about, not all that fit.
    pub running: bool,
    /// Why it holds no more.
    pub why: bool,
    /// How sure the count is.
    pub interval: Option<Interval<'a>>,
    /// The draws that curves show.
    pub draws: Option<Draws>,
    /// How the host comes back after a power cut.
    pub restart: Option<Returning<'a>>,
    /// What was recorded of the guests, beside the plan.
    pub observed: Option<Observing<'a>>,
    /// The answers before a change, to say what it did.
    pub before: Option<&'a [HostAnswer]>,
}

/// Answers for the given hosts of a lab.
pub fn fit(lab: &Lab, hosts: &[&Host]) -> FitAnswer {
    fit_with(lab, hosts, Wanted::default())
}

/// Answers for the given hosts of a lab, with all that is wanted.
pub fn fit_with(lab: &Lab, hosts: &[&Host], wanted: Wanted) -> FitAnswer {
    let answers = fit_hosts(lab, hosts, wanted);
    let before = wanted.before;
    FitAnswer {
        report: "fit",
        version: CONTRACT,
        lab: lab.name.clone(),
        currency: lab.currency.clone(),
        years: lab.years,
        periods: lab.periods.iter().map(PeriodAnswer::of).collect(),
        changes: before.map_or(Vec::new(), |before| changes(before, &answers)),
        hosts: answers,
    }
}

/// The answers of several hosts; their curves span the same counts.
pub fn fit_hosts(lab: &Lab, hosts: &[&Host], wanted: Wanted) -> Vec<HostAnswer> {
    let counted: Vec<Counted> = hosts.iter().map(|host| Counted::of(lab, host)).collect();
    let end = counted
        .iter()
        .map(|one| span(one))
        .max()
        .filter(|_| wanted.curve);
    let answers = counted
        .iter()
        .map(|one| host_answer(one, None, wanted, end));
    answers.collect()
}

/// Answers for one host.
pub fn fit_host(lab: &Lab, host: &Host) -> HostAnswer {
    fit_host_at(lab, host, None)
}

/// The answer for one host with its loads at N = `at`; none given: at `fits`.
pub fn fit_host_at(lab: &Lab, host: &Host, at: Option<u64>) -> HostAnswer {
    host_answer(&Counted::of(lab, host), at, Wanted::default(), None)
}

/// The answer with its loads at N = `at` (none given: at `fits`), its curve up to `end`.
fn host_answer(counted: &Counted, at: Option<u64>, wanted: Wanted, end: Option<u64>) -> HostAnswer {
    let Counted { model, found, .. } = counted;
    let (lab, host) = (model.lab, model.host);
    let counts = model.composition.counts(at.or(counted.fits).unwrap_or(0));
    let guests = counts.iter().sum();
    let (guesses, defaults) = defaults(lab, host);
    let (full_in, found) = growth(model, found);
    let resources = resource_answers(model, &counts, &found);
    let takers = takers(model, &counts, wanted);
    let missing = missing(lab, counted.fits, &counts);
    let memory = memory_answer(model, &counts);
    let disk = disk_answers(model, &counts);
    let restart = wanted.restart.zip(counted.fits.filter(|_| guests > 0));
    let restart = restart.map(|(restart, n)| restart(model, n));
    let context = CautionContext {
        counts: &counts,
        missing: &missing,
        resources: &resources,
        memory: &memory,
        disk: &disk,
        restart: restart.as_ref(),
    };
    HostAnswer {
        name: host.name.clone(),
        fits: counted.fits,
        binds: names(model, &counted.binds),
        breaks_at: counted.breaks_at,
        breaks_at_sudden: breaks_at(model, host.memory.file_cache),
        fresh: counted.fresh,
        unshared: memory_count(model, MemoryCount::Unshared),
        stretched: memory_count(model, MemoryCount::Stretched),
        plain_sum: plain_sum(model),
        guests,
        mix: mix(lab, &counts),
        unit: model.composition.unit().word(),
        profiles: profiles(model, &takers),
        running: running_answer(model, &found),
        full_in,
        not_considered: not_considered(model, &counted.found),
        guesses,
        defaults,
        next: next(model, counted.fits, &counted.binds),
        cpu: cpu_answer(model, &counts),
        power: power_answer(model, &counts),
        cost: cost_answer(model, &counts),
        certain: is_certain(lab, &host.name),
        interval: wanted.interval.and_then(|interval| interval(host)),
        why: wanted.why.then(|| why(counted)).flatten(),
        curve: end.map(|end| curve(counted, end, wanted.draws)),
        timeline: end.and_then(|_| timeline(model, &found)),
        cautions: cautions(model, context),
        balloons: balloons(model),
        observed: wanted.observed.and_then(|seen| seen(model, &takers)),
        restart,
        missing,
        resources,
        memory,
        disk,
    }
}

fn balloons(model: &HostModel) -> bool {
    let footprints = model.footprints(Age::LivedIn);
    footprints.iter().any(|footprint| footprint.give > 0.0)
}

fn names(model: &HostModel, resources: &[Resource]) -> Vec<String> {
    resources.iter().map(|one| one.name(model)).collect()
}

fn mix(lab: &Lab, counts: &[u64]) -> BTreeMap<String, u64> {
    let guests = lab.guests.iter().zip(counts);
    guests.map(|(guest, n)| (guest.name.clone(), *n)).collect()
}

fn not_considered(model: &HostModel, found: &[Found]) -> Vec<String> {
    Resource::all(model)
        .into_iter()
        .filter(|resource| !found.iter().any(|one| one.resource == *resource))
        .map(|resource| resource.name(model))
        .collect()
}

/// The guests that parts and records are about: those that must run, where they do not fit or were asked about, else all
/// that fit.
fn takers(model: &HostModel, counts: &[u64], wanted: Wanted) -> Vec<u64> {
    let running = model.composition.running();
    let asked = |running: &Vec<u64>| wanted.running || !model.passed(running).is_empty();
    running.filter(asked).unwrap_or_else(|| counts.to_vec())
}

/// The host with exactly the guests that must run; none where none must.
fn running_answer(model: &HostModel, found: &[Dated]) -> Option<Running> {
    let counts = model.composition.running()?;
    Some(Running {
        guests: counts.iter().sum(),
        mix: mix(model.lab, &counts),
        passed: names(model, &model.passed(&counts)),
        resources: resource_answers(model, &counts, found),
    })
}

fn resource_answers(model: &HostModel, counts: &[u64], found: &[Dated]) -> Vec<ResourceAnswer> {
    let answers = found.iter();
    let answers = answers.filter_map(|(one, date)| resource_answer(model, counts, one, *date));
    answers.collect()
}

fn resource_answer(
    model: &HostModel,
    counts: &[u64],
    found: &Found,
    full_in_months: Option<f64>,
) -> Option<ResourceAnswer> {
    let constraints = found.resource.constraints(model, counts)?;
    let (period, constraint) = constraints.worst();
    let at_risk = constraint.at_risk();
    let period = model.in_period(period).period_name();
    Some(ResourceAnswer {
        past_limit: period.map(|_| constraints.past_limit(model)),
        period: period.map(str::to_owned),
        full_in_months,
        name: found.resource.name(model),
        state: match found.largest {
            Largest::Bound(_) => State::Bound,
            Largest::Unbounded => State::Unbounded,
            Largest::Infeasible => State::Infeasible,
        },
        unit: found.resource.unit(),
        fits: found.largest.bound(),
        limit: constraint.limit,
        mean: constraint.mean(),
        at_risk,
        mean_limit: constraint.mean_limit,
        load: constraint.load(at_risk),
        resource: found.resource,
    })
}

/// Demand for the binding resources with one guest (or set) more.
fn next(model: &HostModel, fits: Option<u64>, binds: &[Resource]) -> Option<Next> {
    let now = model.composition.counts(fits?);
    let counts = model.composition.counts(fits? + 1);
    let grown = now.iter().zip(&counts).position(|(a, b)| b > a);
    let guest = match model.composition.unit() {
        Unit::Guests => grown.map(|profile| model.lab.guests[profile].name.clone()),
        Unit::Sets => None,
    };
    let resources = binds.iter().filter_map(|resource| {
        let constraints = resource.constraints(model, &counts)?;
        let (_, constraint) = constraints.worst();
        Some(NextDemand {
            name: resource.name(model),
            limit: constraint.limit,
            mean: constraint.mean(),
            at_risk: constraint.at_risk(),
            resource: *resource,
        })
    });
    let resources: Vec<NextDemand> = resources.collect();
    (!resources.is_empty()).then_some(Next { guest, resources })
}

/// Scaling profiles of which not one guest is among those that fit.
fn missing(lab: &Lab, fits: Option<u64>, counts: &[u64]) -> Vec<String> {
    let none = |(guest, n): (&Guest, &u64)| {
        let scaling = guest.share.is_some();
        (scaling && *n == 0 && fits > Some(0)).then(|| guest.name.clone())
    };
    lab.guests.iter().zip(counts).filter_map(none).collect()
}
