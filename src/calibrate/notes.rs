//! What was taken as given, and what could not be told apart.

use super::classify::Use;
use super::doubt::Known;
use super::estimate::{Estimate, Question};
use super::law::{Lived, Sought};
use super::readings::Readings;
use crate::lab::Mode;
use crate::survey::reading::Settled;
use crate::unit::format;

/// What the answer rests on, a sentence each.
pub(super) fn notes(question: &Question, readings: &Readings, found: &Estimate) -> Vec<String> {
    let mut notes = Vec::new();
    let guest = &question.lab.guests[question.guest];
    notes.push(match question.lived {
        Lived::No => "The guests read were never busy since they started (--fresh).".to_owned(),
        Lived::Yes if guest.busy == 0.0 => "By the lab this guest is never busy, so fresh and lived-in are the same.".to_owned(),
        Lived::Yes => format!(
            "The guests read had been busy, so each keeps {} of what it touched then; say --fresh if they were not.",
            format::share(guest.keeps)
        ),
    });
    notes.push(base(found));
    if !found.plan.tells(Sought::Shared) && found.frame.mode != Mode::Off {
        let together = if found.evidence.merged {
            "only base and common together can be told"
        } else {
            "only what a guest holds with nothing merged can be told"
        };
        notes.push(format!(
            "common and repeats stay as in the lab: without a reading right before and right after a start, or merge \
             counters, {together}. What rests on them too is marked \"both\"; how wrong they may be nobody has said, so \
             no interval is given for it."
        ));
    }
    if found.plan.tells(Sought::Shared) {
        notes.push(format!(
            "common and repeats are told together and split as in the lab, {} common.",
            format::share(found.frame.common_share)
        ));
    }
    if found.plan.counters {
        notes.push(
            "What is shared comes from the merge counters; where guests are backed by 2 MiB pages they leave out the \
             empty parts, so a step would find more."
                .to_owned(),
        );
    }
    if found.uses.contains(&Use::HoveringTaken) {
        notes.push(
            "An adaptive scanner hovers at its threshold, so a settled reading there only bounds the merged demand from \
             above; for want of a better one it is taken as merged, which errs on the safe side."
                .to_owned(),
        );
    }
    if found.plan.tells(Sought::Step) && found.frame.books > 0.0 {
        notes.push("Steps are taken as read before the scanner tracked the new pages.".to_owned());
    }
    if found.freedom == 0 {
        notes.push(
            "There are just as many readings as numbers sought, so nothing tells their error: 1 % is assumed, or the \
             rounding of what was written where that is coarser."
                .to_owned(),
        );
    }
    notes.extend(unknown(readings));
    if question.lab.guests.len() > 1 {
        notes.push(
            "Other guests of the lab are taken as not running while this one was read.".to_owned(),
        );
    }
    if !readings.unused.is_empty() {
        notes.push(format!("Columns not used: {}.", readings.unused.join(", ")));
    }
    notes
}

/// What is known of the host's own memory, and with that what the intervals hold.
fn base(found: &Estimate) -> String {
    let base = format::bytes(found.frame.base);
    let between = |low, high| {
        format!(
            "{} to {} nine times of ten; the intervals hold that doubt beside the error of the readings",
            format::bytes(low),
            format::bytes(high)
        )
    };
    let given = "What else the lab gives (overhead, keeps, touched_busy, the split of common and repeats) is taken as exact.";
    match found.base {
        Known::Read => format!("The intervals hold the error of the readings. {given}"),
        Known::Plain => format!(
            "base stays as in the lab ({base}), because it takes settled readings at two counts to tell it. The lab gives \
             one value, so the intervals hold no doubt about it, only the error of the readings: give it as {{ low, \
             likely, high }} to have both. {given}"
        ),
        Known::Range(low, high) => format!(
            "base stays as in the lab ({base}), because it takes settled readings at two counts to tell it: by its range \
             {}. {given}",
            between(low, high)
        ),
        Known::Reported(low, high) => format!(
            "base stays at its default ({base}), because it takes settled readings at two counts to tell it: as owners \
             report it {}. {given}",
            between(low, high)
        ),
    }
}

/// Readings whose state nobody knows, so that somebody may say it.
fn unknown(readings: &Readings) -> Option<String> {
    let count = readings
        .list
        .iter()
        .filter(|reading| reading.settled == Settled::Unknown)
        .count();
    (count > 0).then(|| {
        format!(
            "{} in an unknown state only bound the answer: say settled = yes or no where you know it.",
            format::plural(count as u64, "reading", "readings")
        )
    })
}
