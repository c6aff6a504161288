//! How many fit: the counts of the answer, each shown to hold at its N and to be passed at the next.

use super::claim::{claim, sum_of_counts};
use super::context::Context;
use super::figure;
use super::step::PROJECT;
use super::{Section, Step};
use crate::model::number::Measure;
use crate::sizing::answer::State;
use crate::sizing::fit::memory_constraint;
use crate::sizing::memory::MemoryCount;
use crate::sizing::resource::Constraint;
use crate::sizing::search::MOST_GUESTS;
use crate::unit::format;

/// The counts of the host.
pub(super) fn section(context: &Context) -> Section {
    let mut section = Section::new("How many fit");
    section.add(fits(context));
    let answer = context.answer;
    for (key, found, kind, formula) in [
        (
            "fresh",
            answer.fresh.bound(),
            MemoryCount::Fresh,
            "the same as memory's own count with k = 0, guests never busy since boot",
        ),
        (
            "unshared",
            answer.unshared.bound(),
            MemoryCount::Unshared,
            "the same as memory's own count with page sharing off",
        ),
        (
            "stretched",
            answer.stretched.bound(),
            MemoryCount::Stretched,
            "largest N with P(memory − Σ (n − b)·give > visible − base − file_cache_floor) ≤ memory_risk: balloons in, swap still empty",
        ),
    ] {
        let model = context.model;
        let constraint = |n| memory_constraint(model, &model.composition.counts(n), kind);
        let step = Step::new(key, figure::count_or(found, answer.unit, "none"));
        section.add(step.key(key).law(formula, PROJECT).filled(largest(
            found,
            constraint,
            |size| Measure::Bytes.text(size),
        )));
    }
    let memory = &context.model.host.memory;
    for (key, found, cache, formula) in [
        (
            "breaks_at",
            answer.breaks_at,
            memory.file_cache_floor,
            "first N with mean memory > cliff; page sharing at its fastest",
        ),
        (
            "breaks_at_sudden",
            answer.breaks_at_sudden,
            memory.file_cache,
            "the same with file_cache in place of file_cache_floor",
        ),
    ] {
        let step = Step::new(key, figure::count_or(found, answer.unit, "not reached"));
        section.add(
            step.key(key)
                .law(formula, "Linux mm/oom_kill.c; definition of this project")
                .filled(breaks(context, found, cache)),
        );
    }
    section.add(plain_sum(context));
    section
}

fn fits(context: &Context) -> Step {
    let answer = context.answer;
    let own = |state| {
        answer
            .resources
            .iter()
            .filter(move |one| one.state == state)
    };
    let broken: Vec<&str> = own(State::Infeasible)
        .map(|one| one.name.as_str())
        .collect();
    let filled = if !broken.is_empty() {
        let names = broken.join(", ");
        format!("past its limit with no scaling guest: {names}")
    } else if answer.fits.is_some() {
        let counts = own(State::Bound).filter_map(|one| one.fits.map(format::count));
        format!("min({})", counts.collect::<Vec<_>>().join(", "))
    } else {
        "every resource is still within at 1,000,000".to_owned()
    };
    let figure = figure::count_or(answer.fits, answer.unit, "none");
    Step::new("fits", figure)
        .key("fits")
        .law("the smallest of the resources' own largest N", PROJECT)
        .filled(filled)
}

/// The largest N within a limit: within at N, past it at N + 1.
pub(super) fn largest(
    found: Option<u64>,
    constraint: impl Fn(u64) -> Constraint,
    text: impl Fn(f64) -> String,
) -> String {
    let at = |n: u64, relation: &str| {
        let constraint = constraint(n);
        let at_risk = constraint.at_risk();
        // Two limits at once are shown as a load, which is over both.
        let [left, right] = if constraint.mean_limit.is_some() {
            [constraint.load(at_risk), 1.0].map(|load| Measure::Share.text(load))
        } else {
            [at_risk, constraint.limit].map(&text)
        };
        claim(&at_count(n), &left, relation, &right)
    };
    match found {
        Some(n) => format!("{}; {}", at(n, "≤"), at(n + 1, ">")),
        None if constraint(0).within() => at(MOST_GUESTS, "≤"),
        None => at(0, ">"),
    }
}

/// "at 5,215".
fn at_count(n: u64) -> String {
    format!("at {}", format::count(n))
}

/// The first N past the cliff: within at the N before.
fn breaks(context: &Context, found: Option<u64>, cache: f64) -> String {
    let at = |n: u64, relation: &str| {
        let model = context.model;
        let (mean, cliff) = model.cliff(&model.composition.counts(n), cache);
        let [mean, cliff] = [mean, cliff].map(|size| Measure::Bytes.text(size));
        claim(&at_count(n), &mean, relation, &cliff)
    };
    match found {
        Some(0) => at(0, ">"),
        Some(n) => format!("{}; {}", at(n - 1, "≤"), at(n, ">")),
        None => at(MOST_GUESTS, "≤"),
    }
}

fn plain_sum(context: &Context) -> Step {
    let (model, found) = (context.model, context.answer.plain_sum.bound());
    let promised = |n: u64| model.promised(&model.composition.counts(n));
    let room = model.beside_base();
    let at = |n: u64, relation: &str| {
        let [left, right] = [promised(n), room].map(|size| Measure::Bytes.text(size));
        claim(&at_count(n), &left, relation, &right)
    };
    let filled = match found {
        Some(n) => format!("{}; {}", at(n, "≤"), at(n + 1, ">")),
        None if promised(0) <= room => at(MOST_GUESTS, "≤"),
        None => at(0, ">"),
    };
    let figure = figure::count_or(found, context.answer.unit, "none");
    Step::new("plain_sum", figure)
        .key("plain_sum")
        .law(
            "largest N with Σ n·memory ≤ visible − base",
            "the sum people know",
        )
        .filled(filled)
        .also(context.every_guest(&["memory"]))
}

/// Guests of all profiles.
pub(super) fn guests(context: &Context) -> Step {
    Step::new("guests", figure::count(context.answer.guests, "guests"))
        .key("guests")
        .law("Σ n", super::step::DEFINITION)
        .filled(sum_of_counts(context.all_counts()))
}
