//! How many fit: the counts of the answer, each shown to hold at its N and to be passed at the next.

use super::answer::{Section, Step};
use super::context::Context;
use super::symbols::MEMORY;
use crate::model::number::Measure;
use crate::model::within;
use crate::sizing::answer::State;
use crate::sizing::count::memory_constraints;
use crate::sizing::memory::MemoryCount;
use crate::sizing::resource::Constraints;
use crate::sizing::search::MOST_GUESTS;
use crate::unit::format;

/// The counts of the host.
pub(super) fn section(context: &Context) -> Section {
    let (model, answer) = (context.model, context.answer);
    let step =
        |id, found: Option<u64>, filled: String| context.step(id, found.map(|n| n as f64), filled);
    let memory = |id, found, count| {
        let constraint = |n| {
            memory_constraints(model, &model.composition.counts(n), count)
                .unwrap_or_else(|| unreachable!("memory is always considered"))
        };
        let size = |size| Measure::Bytes.text(size);
        step(id, found, largest(found, constraint, size))
    };
    let breaks = |id, found: Option<u64>, cache| {
        let sides = |n| {
            let counts = model.composition.counts(n);
            model.fullest(&counts).cliff(&counts, cache)
        };
        step(
            id,
            found,
            sizes(found.and_then(|n| n.checked_sub(1)), sides),
        )
    };
    let promised = |n| {
        let promised = model.promised(&model.composition.counts(n));
        (promised, model.beside_base())
    };
    let (floor, cache) = (
        model.host.memory.file_cache_floor,
        model.host.memory.file_cache,
    );
    let plain_sum = answer.plain_sum.bound();
    let steps = vec![
        step("fits", answer.fits, smallest(context)),
        memory("fresh", answer.fresh.bound(), MemoryCount::Fresh),
        memory("unshared", answer.unshared.bound(), MemoryCount::Unshared),
        memory(
            "stretched",
            answer.stretched.bound(),
            MemoryCount::Stretched,
        ),
        breaks("breaks_at", answer.breaks_at, floor),
        breaks("breaks_at_sudden", answer.breaks_at_sudden, cache),
        step("plain_sum", plain_sum, sizes(plain_sum, promised)),
    ];
    Section::new("How many fit", MEMORY, steps)
}

/// The resources' own counts, of which the smallest fits.
fn smallest(context: &Context) -> String {
    let resources = &context.answer.resources;
    let own = |state| resources.iter().filter(move |one| one.state == state);
    let infeasible: Vec<&str> = own(State::Infeasible)
        .map(|one| one.name.as_str())
        .collect();
    if !infeasible.is_empty() {
        let names = infeasible.join(", ");
        format!("past its limit with no scaling guest: {names}")
    } else if context.answer.fits.is_some() {
        let counts = own(State::Bound).filter_map(|one| one.fits.map(format::count));
        format!("min({})", counts.collect::<Vec<_>>().join(", "))
    } else {
        "every resource is still within at 1,000,000".to_owned()
    }
}

/// The largest N within a constraint: within at N, past it at N + 1.
pub(super) fn largest(
    found: Option<u64>,
    constraint: impl Fn(u64) -> Constraints,
    text: impl Fn(f64) -> String,
) -> String {
    let sides = |n: u64| {
        let constraints = constraint(n);
        let (_, constraint) = constraints.worst();
        let at_risk = constraint.at_risk();
        // Two limits at once are shown as a load, which is over both.
        if constraint.mean_limit.is_some() {
            [constraint.load(at_risk), 1.0].map(|load| Measure::Share.text(load))
        } else {
            [at_risk, constraint.limit].map(&text)
        }
    };
    comparisons(found, sides, || constraint(0).within())
}

/// The largest N at which the first size is within the second.
fn sizes(found: Option<u64>, sides: impl Fn(u64) -> (f64, f64)) -> String {
    let texts = |n| <[f64; 2]>::from(sides(n)).map(|size| Measure::Bytes.text(size));
    comparisons(found, texts, || {
        let (size, limit) = sides(0);
        within(size, limit)
    })
}

/// "at 62: 47.9 GiB ≤ 48.1 GiB; at 63: …"; where no N was found, what holds at the most or not at 0.
fn comparisons(
    found: Option<u64>,
    sides: impl Fn(u64) -> [String; 2],
    holds_at_0: impl FnOnce() -> bool,
) -> String {
    let at = |n: u64, relation: &str| {
        let [left, right] = sides(n);
        claim(&format!("at {}", format::count(n)), &left, relation, &right)
    };
    match found {
        Some(n) => format!("{}; {}", at(n, "≤"), at(n + 1, ">")),
        None if holds_at_0() => at(MOST_GUESTS, "≤"),
        None => at(0, ">"),
    }
}

/// A comparison that holds, and where: "at 62: 47.9 GiB ≤ 48.1 GiB".
pub(super) fn claim(place: &str, left: &str, relation: &str, right: &str) -> String {
    format!("{place}: {left} {relation} {right}")
}

/// A sum of counts: "18 + 7".
pub(super) fn sum_of_counts(context: &Context) -> String {
    let texts: Vec<String> = context
        .running()
        .map(|(_, n, _)| format::count(n))
        .collect();
    if texts.is_empty() {
        "0".to_owned()
    } else {
        texts.join(" + ")
    }
}

/// Guests of all profiles.
pub(super) fn guests(context: &Context) -> Step {
    let guests = context.answer.guests as f64;
    context.step("guests", guests, sum_of_counts(context))
}
