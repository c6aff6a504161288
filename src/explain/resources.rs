//! Every resource: its own largest N, its demand, its limit and its load, and the risk it is judged by.

use super::context::Context;
use super::counts::largest;
use super::filled::{Filled, claim, plain, share};
use super::step::PROJECT;
use super::symbols::{DISK, MEMORY, RISK, SOFT};
use super::{Section, Step, demand, limit, number, pool};
use crate::lab::key_path;
use crate::sizing::answer::{ResourceAnswer, State};
use crate::sizing::resource::{Constraint, Resource};

/// What is accepted.
pub(super) fn risk(context: &Context) -> Section {
    let policy = &context.model.lab.policy;
    let mut section = Section::new("Risk accepted").letters(RISK);
    for (name, value, formula) in [
        (
            "memory_risk",
            policy.memory_risk,
            "P(memory demand > limit) ≤ memory_risk, a hard limit",
        ),
        (
            "slow_risk",
            policy.slow_risk,
            "P(demand > limit) ≤ slow_risk, a soft limit",
        ),
        (
            "correlation",
            policy.correlation,
            "busy with probability Φ((Φ⁻¹(busy) − √r·z)/√(1 − r)) given z, one z for all guests",
        ),
    ] {
        section.add(
            Step::new(name, number::share(value))
                .law(
                    formula,
                    "Vasicek 1991, 2002 (one-factor model); Lugannani & Rice 1980 for large sums",
                )
                .filled(share(value))
                .from(context.inputs(&context.policy(&[name]))),
        );
    }
    section
}

/// A section a resource, in binding order.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let resources = context.answer.resources.iter();
    resources
        .filter_map(|one| {
            let constraint = one.resource.constraint(context.model, context.counts)?;
            Some(section(context, one, &constraint))
        })
        .collect()
}

fn section(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Section {
    let resource = one.resource;
    let key = |name: &str| key_path(&["resources", &one.name, name]);
    let text = |value: f64| demand::amount(resource, value);
    let mut section = Section::new(format!("Resource {}", one.name)).letters(match resource {
        Resource::Memory => MEMORY,
        Resource::DiskSpace(_) | Resource::DiskIops(_) | Resource::DiskWrites(_) => DISK,
        _ => SOFT,
    });
    if let Resource::DiskIops(pool) = resource {
        pool::reads_and_writes(context, pool, &mut section);
    }
    let (formula, source) = demand::law(resource);
    section.add(
        Step::new("mean", number::of(resource, one.mean))
            .key(key("mean"))
            .law(formula, source)
            .filled(demand::filled(context, resource))
            .from(context.inputs(&demand::keys(context, resource))),
    );
    section.add(at_risk(resource, one, constraint).key(key("at_risk")));
    let (formula, source) = limit::law(resource);
    section.add(
        Step::new("limit", number::of(resource, one.limit))
            .key(key("limit"))
            .law(formula, source)
            .filled(limit::filled(context, resource))
            .from(context.inputs(&limit::keys(context, resource))),
    );
    section.add(load(one, constraint, &text).key(key("load")));
    section.add(fits(context, one, &text).key(key("fits")));
    section
}

fn at_risk(resource: Resource, one: &ResourceAnswer, constraint: &Constraint) -> Step {
    let text = |value: f64| demand::amount(resource, value);
    let step = Step::new("at_risk", number::of(resource, one.at_risk));
    if constraint.demand.is_certain() {
        return step
            .law("mean: nothing is random", PROJECT)
            .filled(text(one.mean));
    }
    let chance = constraint.demand.tail(one.at_risk);
    let filled = if one.at_risk >= constraint.most {
        // Power cannot pass what it is with everything busy.
        text(constraint.most)
    } else {
        let place = format!("P(demand > {})", text(one.at_risk).into_text());
        claim(place, share(chance), "≤", share(constraint.risk))
    };
    step.law(
        "smallest x with P(demand > x) ≤ risk",
        "one-factor binomial sum, exact on its atoms or by saddlepoint",
    )
    .filled(filled)
}

fn load(one: &ResourceAnswer, constraint: &Constraint, text: &impl Fn(f64) -> Filled) -> Step {
    let ratio = text(one.at_risk) / text(one.limit);
    let (formula, filled) = match constraint.mean_limit {
        Some(supply) => (
            "max(at_risk/limit, mean/supply)",
            super::filled::max([ratio, text(one.mean) / text(supply)]),
        ),
        None => ("at_risk/limit", ratio),
    };
    let filled = if one.limit > 0.0 {
        filled
    } else if one.load == 0.0 {
        plain(0.0)
    } else {
        Filled::words("there is nothing to load")
    };
    Step::new("load", number::share(one.load))
        .law(formula, PROJECT)
        .filled(filled)
}

fn fits(context: &Context, one: &ResourceAnswer, text: &impl Fn(f64) -> Filled) -> Step {
    let model = context.model;
    let constraint = |n: u64| {
        one.resource
            .constraint(model, &model.composition.counts(n))
            .unwrap_or_else(|| unreachable!("considered at every count"))
    };
    let without = match one.state {
        State::Infeasible => "none, past it with no scaling guest",
        State::Bound | State::Unbounded => "no limit",
    };
    let number = number::count_or(one.fits, context.answer.unit, without);
    Step::new("fits, by this resource alone", number)
        .law(
            if one.resource == Resource::Cpu {
                "largest N with load ≤ 1"
            } else {
                "largest N with at_risk ≤ limit"
            },
            PROJECT,
        )
        .filled(largest(one.fits, constraint, text))
}
