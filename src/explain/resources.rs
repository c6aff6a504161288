//! Every resource: its own largest N, its demand, its limit and its load, and the risk it is judged by.

use super::answer::{Section, Step};
use super::context::{Context, Subject};
use super::counts::{claim, largest, sum_of_counts};
use super::cpu::mean_wait;
use super::growth;
use super::memory;
use super::step::{Filled, term_or};
use super::symbols::{DISK, MEMORY, RISK, SOFT};
use crate::model::DAY;
use crate::model::disk::busy_share;
use crate::model::number::{Measure, Number};
use crate::model::tape::Term;
use crate::sizing::answer::{ResourceAnswer, State};
use crate::sizing::resource::{Constraint, Resource};
use crate::sizing::storage::{PoolIndex, cost};

/// What is accepted.
pub(super) fn risk(context: &Context) -> Section {
    let policy = &context.model.lab.policy;
    let accepted = [
        ("accepted memory risk", "memory_risk", policy.memory_risk),
        ("accepted slow risk", "slow_risk", policy.slow_risk),
        ("accepted correlation", "correlation", policy.correlation),
    ];
    let steps = accepted.map(|(id, key, value)| {
        let value = context.worked.policy(key, value, Measure::Share);
        context.worked(id, value)
    });
    Section::new("Risk accepted", RISK, steps.into())
}

/// A section a resource, in binding order.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let resources = context.answer.resources.iter();
    resources
        .filter_map(|one| {
            let constraints = one.resource.constraints(context.model, context.counts)?;
            let (period, constraint) = constraints.worst();
            let subject = Subject::Resource(one.resource, &one.name);
            let context = context.in_period(period).of(subject);
            Some(section(&context, one, constraint))
        })
        .collect()
}

fn section(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Section {
    let resource = one.resource;
    let mut steps = Vec::new();
    if let Resource::DiskIops(pool) = resource {
        let [reads, writes] = context.worked.operations(pool, context.counts);
        steps.push(context.worked("reads of all guests", reads));
        steps.push(context.worked("writes of all guests", writes));
    }
    let law = |part: &str| format!("resources.{{}}.{part}, {}", resource.kind());
    let mean = demand(context, resource);
    let limit = term_or(context.worked.limit(resource, context.counts), "no limit");
    steps.extend([
        context.step(&law("mean"), one.mean, mean),
        at_risk(context, one, constraint),
        context.step(&law("limit"), one.limit, limit),
        load(context, one, constraint),
        fits(context, one),
    ]);
    steps.extend(growth::date(context, one));
    if resource == Resource::Cpu {
        let supply = context.worked.cpu_supply(context.counts);
        let id = "resources.{}.mean_limit";
        steps.push(context.step(id, one.mean_limit, supply));
    }
    let letters = match resource {
        Resource::Memory => MEMORY,
        Resource::DiskSpace(_) | Resource::DiskIops(_) | Resource::DiskWrites(_) => DISK,
        _ => SOFT,
    };
    Section::new(format!("Resource {}", one.name), letters, steps)
}

/// A number in the unit of a resource, to work with.
fn amount<'a>(context: &Context<'a>, resource: Resource, value: f64) -> Term<'a> {
    let (value, measure) = match resource {
        Resource::Memory => (value, Measure::Bytes),
        Resource::DiskSpace(_) => (value, Measure::DiskBytes),
        Resource::Cpu | Resource::Vcpus | Resource::Guests => (value, Measure::Plain),
        Resource::CpuWait | Resource::Backup => (value, Measure::Seconds),
        Resource::DiskIops(_) => (value, Measure::Share),
        Resource::DiskWrites(_) => (value / DAY, Measure::BytesPerDay),
        Resource::Network => (value, Measure::BitRate),
        Resource::Power => (value, Measure::Watts),
    };
    context.tape.number(value, measure)
}

/// The mean demand with its numbers.
fn demand<'a>(context: &Context<'a>, resource: Resource) -> Filled<'a> {
    let (worked, counts) = (context.worked, context.counts);
    match resource {
        Resource::Memory => memory::mean(context, worked.counted_scan()).into(),
        Resource::Cpu => worked.mean_cpu(counts).into(),
        Resource::CpuWait => mean_wait(context, "no bound"),
        Resource::Vcpus => (worked.vcpus(counts) / worked.threads).into(),
        Resource::DiskSpace(pool) => worked.space_used(pool, counts, worked.horizon()).into(),
        Resource::DiskIops(pool) => term_or(busy_devices(context, pool), "no bound"),
        Resource::DiskWrites(pool) => worked.written(pool, counts).into(),
        Resource::Network => worked.mean_traffic(counts).into(),
        Resource::Backup => term_or(worked.backup_time(counts), "no bound"),
        Resource::Power => term_or(worked.mean_watts(counts), "power is not given"),
        Resource::Guests => sum_of_counts(context).into(),
    }
}

/// Share of time that the devices are busy in the mean; none where their speed is not known.
fn busy_devices<'a>(context: &Context<'a>, pool: PoolIndex) -> Option<Term<'a>> {
    let [reads, writes] = context.worked.operations(pool, context.counts);
    let speed = context.worked.pool_speed(pool)?;
    let layout = cost(&context.model.host.disks[pool]);
    Some(busy_share(reads, writes, layout, speed))
}

fn at_risk(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Step {
    let amount = |value: f64| amount(context, one.resource, value);
    if constraint.demand.is_certain() {
        let mean = amount(one.mean);
        return context.step("resources.{}.at_risk, certain", one.at_risk, mean);
    }
    let filled = if one.at_risk >= constraint.most {
        // Power cannot pass what it is with everything busy.
        amount(constraint.most).formula()
    } else {
        let place = format!("P(demand > {})", amount(one.at_risk).formula());
        let chances = [constraint.demand.tail(one.at_risk), constraint.risk];
        let [chance, risk] = chances.map(|chance| Measure::Share.text(chance));
        claim(&place, &chance, "≤", &risk)
    };
    context.step("resources.{}.at_risk", one.at_risk, filled)
}

fn load(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Step {
    let amount = |value: f64| amount(context, one.resource, value);
    let ratio = |demand: f64, limit: f64| amount(demand) / amount(limit);
    let at_risk = ratio(one.at_risk, one.limit);
    let (id, term) = match constraint.mean_limit {
        Some(supply) => (
            "resources.{}.load, of two limits",
            at_risk.max(ratio(one.mean, supply)),
        ),
        None => ("resources.{}.load", at_risk),
    };
    let filled: Filled = if one.limit > 0.0 {
        term.into()
    } else if one.load == 0.0 {
        "0".into()
    } else {
        "there is nothing to load".into()
    };
    context.step(id, one.load, filled)
}

fn fits(context: &Context, one: &ResourceAnswer) -> Step {
    let model = context.model;
    let constraint = |n: u64| {
        one.resource
            .constraints(model, &model.composition.counts(n))
            .unwrap_or_else(|| unreachable!("considered at every count"))
    };
    let id = match (one.resource, one.state) {
        (Resource::Cpu, State::Infeasible) => "resources.{}.fits, cpu infeasible",
        (Resource::Cpu, _) => "resources.{}.fits, cpu",
        (_, State::Infeasible) => "resources.{}.fits, infeasible",
        (_, _) => "resources.{}.fits",
    };
    let text = |value| amount(context, one.resource, value).formula();
    let filled = largest(one.fits, constraint, text);
    context.step(id, one.fits.map(|n| n as f64), filled)
}
