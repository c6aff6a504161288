//! A plan beside a record of the guests that run, within the document of `fit`.

use super::document::Document;
use super::table::{Rows, Table};
use crate::sizing::observed::{ObservedAnswer, SeenLoad};
use crate::unit::format::share;
use crate::words::name::{label, or_dash};
use crate::words::observed as words;

/// What a short screen shows of it.
pub(super) fn brief(document: &mut Document, observed: &ObservedAnswer) {
    document.paragraph(words::recorded(observed));
    document.table(loads(
        &observed.loads,
        words::in_all(&observed.guests),
        "recorded",
    ));
    document.paragraph(words::busy(observed));
    if let Some(replay) = &observed.replay {
        document.paragraph(words::replayed(replay));
    }
    if let Some(apart) = words::apart(observed) {
        document.paragraph(apart);
    }
}

/// All of it.
pub(super) fn block(document: &mut Document, level: u8, observed: &ObservedAnswer) {
    document.heading(level, "The plan beside what was recorded");
    brief(document, observed);
    document.paragraph(words::highest(observed));
    document.table(limits(
        &observed.loads,
        words::in_all(&observed.guests),
        "recorded",
    ));
    if let Some(replay) = &observed.replay {
        document.heading(
            level,
            format!("Replay of {}", words::in_all(&replay.guests)),
        );
        document.table(loads(&replay.loads, words::mix(&replay.guests), "replayed"));
        document.table(limits(
            &replay.loads,
            words::mix(&replay.guests),
            "replayed",
        ));
        document.paragraph(words::how(replay));
    }
}

fn loads<'a>(loads: &'a [SeenLoad], guests: String, seen: &str) -> Rows<&'a SeenLoad> {
    let text =
        |one: &SeenLoad, value: Option<f64>| or_dash(value, |value| one.resource.text(value));
    Table::of(loads)
        .left(guests, |one| label(&one.name))
        .right("mean, plan", move |one| text(one, Some(one.mean.plan)))
        .right(seen, move |one| text(one, one.mean.seen))
        .right("highest, plan", move |one| {
            text(one, Some(one.highest.plan))
        })
        .right(seen, move |one| text(one, one.highest.seen))
}

fn limits<'a>(loads: &'a [SeenLoad], guests: String, seen: &str) -> Rows<&'a SeenLoad> {
    Table::of(loads)
        .left(guests, |one| label(&one.name))
        .right("limit", |one| one.resource.text(one.limit))
        .right("past it, plan", |one| share(one.past_limit.plan))
        .right(seen, |one| or_dash(one.past_limit.seen, share))
        .right("accepted", |one| share(one.risk))
}
