//! The sentences of a plan beside a record of the guests that run.

use std::collections::BTreeMap;

use super::name::{label, with_article};
use crate::sizing::observed::{Beside, ObservedAnswer, Replay, SeenLoad};
use crate::unit::format::{count, listed, plural, seconds, share};

/// Most profiles that a sentence names.
const MOST_NAMED: usize = 4;

/// "6 A, 3 B"; few of them by name.
pub fn mix(guests: &BTreeMap<String, u64>) -> String {
    let each = guests
        .iter()
        .map(|(name, n)| format!("{} {name}", count(*n)));
    some(each.collect())
}

fn some(mut all: Vec<String>) -> String {
    let more = all.len().saturating_sub(MOST_NAMED);
    all.truncate(MOST_NAMED);
    if more > 0 {
        all.push(format!("{} more", count(more as u64)));
    }
    all.join(", ")
}

/// "9 guests".
pub fn in_all(guests: &BTreeMap<String, u64>) -> String {
    plural(guests.values().sum(), "guest", "guests")
}

/// What ran, and whether it was too much.
pub fn recorded(observed: &ObservedAnswer) -> String {
    let past = |one: &&SeenLoad| one.past_limit.seen.is_some_and(|share| share > 0.0);
    let passed: Vec<String> = observed.loads.iter().filter(past).map(too_much).collect();
    let seen = observed
        .loads
        .iter()
        .filter(|one| one.past_limit.seen.is_some());
    let within = match (passed.is_empty(), seen.count()) {
        (false, _) => format!(" {}.", super::fit::capitalised(&listed(&passed))),
        (true, 0) => String::new(),
        (true, _) => " No limit was passed at any moment.".to_owned(),
    };
    format!(
        "Recorded for {}: {} for {} of the time ({}).{within}",
        seconds(observed.seconds),
        in_all(&observed.guests),
        share(observed.share),
        mix(&observed.guests)
    )
}

fn too_much(load: &SeenLoad) -> String {
    let past = load.past_limit.seen.unwrap_or(0.0);
    let is_more = if past > load.risk {
        ", more"
    } else {
        ", no more"
    };
    format!(
        "{} was past its limit for {} of the time{is_more} than the accepted {}",
        with_article(load.resource, &load.name),
        share(past),
        share(load.risk)
    )
}

/// "Busy: A 0 % (recorded 0 %), B 33 % (recorded 35 %)."
pub fn busy(observed: &ObservedAnswer) -> String {
    let each = observed.busy.iter().map(|(name, beside)| {
        let seen = beside.seen.map_or_else(
            || "not recorded".to_owned(),
            |one| format!("recorded {}", share(one)),
        );
        format!("{name} {} ({seen})", share(beside.plan))
    });
    format!("Busy by the plan: {}.", some(each.collect()))
}

/// What the recorded guests do when so many of them are drawn.
pub fn replayed(replay: &Replay) -> String {
    let each = replay.loads.iter().map(|load| {
        let Beside { plan, seen } = load.past_limit;
        let seen = seen.map_or_else(|| "–".to_owned(), share);
        format!(
            "{} {seen} of the time (by the plan {}, accepted {})",
            label(&load.name),
            share(plan),
            share(load.risk)
        )
    });
    let each: Vec<String> = each.collect();
    format!(
        "Replayed with {} drawn from the recorded ones, past the limit: {}.",
        in_all(&replay.guests),
        each.join(", ")
    )
}

/// How the replay was made.
pub fn how(replay: &Replay) -> String {
    let from = match replay.days {
        0 => "the whole record, which is shorter than a day".to_owned(),
        1 => "the one whole day of the record".to_owned(),
        days => format!("one of {} whole days", count(days)),
    };
    format!(
        "Replay: {} draws (seed {}) of {}, each of {from}, so that what guests do at the same time stays together. Boots are left out. \
         A guest holds what it held on the recorded host: what sharing gains or loses with another number is not in it.",
        count(replay.draws),
        replay.seed,
        in_all(&replay.guests)
    )
}

/// What of the plan the record does not show, and the other way round.
pub fn apart(observed: &ObservedAnswer) -> Option<String> {
    let unrecorded = match observed.unrecorded.as_slice() {
        [] => String::new(),
        names => format!(
            "Not recorded, in the replay with the plan's mean: {}.",
            some(names.to_vec())
        ),
    };
    let unknown = match observed.unknown.as_slice() {
        [] => String::new(),
        names => format!(
            "Recorded and not in the lab, left out: {}.",
            some(names.to_vec())
        ),
    };
    let all = [unrecorded, unknown];
    let all: Vec<String> = all.into_iter().filter(|text| !text.is_empty()).collect();
    (!all.is_empty()).then(|| all.join(" "))
}

/// What the highest moment is beside.
pub fn highest(observed: &ObservedAnswer) -> String {
    let each = observed
        .loads
        .iter()
        .map(|load| format!("{} {}", label(&load.name), share(load.risk)));
    let each: Vec<String> = each.collect();
    format!(
        "The plan's highest moment is passed for a share of the time: {}.",
        each.join(", ")
    )
}
