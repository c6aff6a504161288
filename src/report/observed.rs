//! A plan beside a record of the guests that run, within the document of `fit`.

use super::document::Document;
use super::table::{Rows, Table};
use crate::sizing::observed::{ObservedAnswer, SeenLoad};
use crate::unit::format::share;
use crate::words::name::{label, or_dash};
use crate::words::observed as words;

/// What a short screen shows of it.
pub(super) fn brief(document: &mut Document, observed: &ObservedAnswer) {
    let guests = words::in_all(&observed.guests);
    document.paragraph(words::recorded(observed));
    document.table(loads(&observed.loads, guests, "recorded"));
    document.paragraph(words::busy(observed));
    document.say(observed.replay.as_ref().map(words::replayed));
    document.say(words::apart(observed));
}

/// All of it.
pub(super) fn block(document: &mut Document, level: u8, observed: &ObservedAnswer) {
    document.heading(level, "The plan beside what was recorded");
    brief(document, observed);
    document.paragraph(words::highest(observed));
    let guests = words::in_all(&observed.guests);
    document.table(limits(&observed.loads, guests, "recorded"));
    if let Some(replay) = &observed.replay {
        let (guests, mix) = (words::in_all(&replay.guests), words::mix(&replay.guests));
        document.heading(level, format!("Replay of {guests}"));
        document.table(loads(&replay.loads, mix.clone(), "replayed"));
        document.table(limits(&replay.loads, mix, "replayed"));
        document.paragraph(words::how(replay));
    }
}

fn loads<'a>(loads: &'a [SeenLoad], guests: String, seen: &str) -> Rows<&'a SeenLoad> {
    let text = |one: &SeenLoad, value| or_dash(value, |value| one.resource.text(value));
    Table::of(loads)
        .left(guests, |one| label(&one.name))
        .right("mean, plan", |one| text(one, Some(one.mean.plan)))
        .right(seen, |one| text(one, one.mean.seen))
        .right("highest, plan", |one| text(one, Some(one.highest.plan)))
        .right(seen, |one| text(one, one.highest.seen))
}

fn limits<'a>(loads: &'a [SeenLoad], guests: String, seen: &str) -> Rows<&'a SeenLoad> {
    Table::of(loads)
        .left(guests, |one| label(&one.name))
        .right("limit", |one| one.resource.text(one.limit))
        .right("past it, plan", |one| share(one.past_limit.plan))
        .right(seen, |one| or_dash(one.past_limit.seen, share))
        .right("accepted", |one| share(one.risk))
}
