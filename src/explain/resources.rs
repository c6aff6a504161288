//! Every resource: its own largest N, its demand, its limit and its load, and the risk it is judged by.

use super::claim::{Filled, claim, term_or};
use super::context::Context;
use super::counts::largest;
use super::step::PROJECT;
use super::symbols::{DISK, MEMORY, RISK, SOFT};
use super::{Section, Step, demand, figure, limit, pool};
use crate::lab::key_path;
use crate::model::number::{Measure, Number};
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
            Step::new(name, figure::share(value))
                .law(
                    formula,
                    "Vasicek 1991, 2002 (one-factor model); Lugannani & Rice 1980 for large sums",
                )
                .filled(context.worked.policy(name, value, Measure::Share)),
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
    let mut section = Section::new(format!("Resource {}", one.name)).letters(match resource {
        Resource::Memory => MEMORY,
        Resource::DiskSpace(_) | Resource::DiskIops(_) | Resource::DiskWrites(_) => DISK,
        _ => SOFT,
    });
    if let Resource::DiskIops(pool) = resource {
        section.extend(pool::reads_and_writes(context, pool));
    }
    let (formula, source) = demand::law(resource);
    section.add(
        Step::new("mean", figure::of(resource, one.mean))
            .key(key("mean"))
            .law(formula, source)
            .filled(demand::filled(context, resource))
            .also(demand::keys(context, resource)),
    );
    section.add(at_risk(context, one, constraint).key(key("at_risk")));
    let (formula, source) = limit::law(resource);
    section.add(
        Step::new("limit", figure::of(resource, one.limit))
            .key(key("limit"))
            .law(formula, source)
            .filled(term_or(limit::filled(context, resource), "no limit"))
            .also(limit::keys(context, resource)),
    );
    section.add(load(context, one, constraint).key(key("load")));
    section.add(fits(context, one).key(key("fits")));
    section
}

fn at_risk(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Step {
    let resource = one.resource;
    let amount = |value: f64| demand::amount(context, resource, value);
    let step = Step::new("at_risk", figure::of(resource, one.at_risk));
    if constraint.demand.is_certain() {
        return step
            .law("mean: nothing is random", PROJECT)
            .filled(amount(one.mean));
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
    step.law(
        "smallest x with P(demand > x) ≤ risk",
        "one-factor binomial sum, exact on its atoms or by saddlepoint",
    )
    .filled(filled)
}

fn load(context: &Context, one: &ResourceAnswer, constraint: &Constraint) -> Step {
    let amount = |value: f64| demand::amount(context, one.resource, value);
    let ratio = |demand: f64, limit: f64| amount(demand) / amount(limit);
    let at_risk = ratio(one.at_risk, one.limit);
    let (formula, term) = match constraint.mean_limit {
        Some(supply) => (
            "max(at_risk/limit, mean/supply)",
            at_risk.max(ratio(one.mean, supply)),
        ),
        None => ("at_risk/limit", at_risk),
    };
    let filled: Filled = if one.limit > 0.0 {
        term.into()
    } else if one.load == 0.0 {
        "0".into()
    } else {
        "there is nothing to load".into()
    };
    Step::new("load", figure::share(one.load))
        .law(formula, PROJECT)
        .filled(filled)
}

fn fits(context: &Context, one: &ResourceAnswer) -> Step {
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
    let law = if one.resource == Resource::Cpu {
        "largest N with load ≤ 1"
    } else {
        "largest N with at_risk ≤ limit"
    };
    let text = |value| demand::amount(context, one.resource, value).formula();
    let figure = figure::count_or(one.fits, context.answer.unit, without);
    Step::new("fits, by this resource alone", figure)
        .law(law, PROJECT)
        .filled(largest(one.fits, constraint, text))
}
