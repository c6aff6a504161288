//! How sure the count is, as blocks of the report of `fit`.

use super::document::Document;
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::sizing::answer::HostAnswer;
use crate::sizing::uncertainty::{IntervalAnswer, Move};
use crate::unit::format;
use crate::words::interval::{first_to_run_out, move_line, outside, sentence, stopped, value};

/// Lines of a short screen for cautions and for what to measure.
const LINES: usize = 7;

/// The values that move the count most, a line each.
pub(super) fn short(
    document: &mut Document,
    host: &HostAnswer,
    lab: &Lab,
    interval: &IntervalAnswer,
) {
    document.say(stopped(interval));
    let outside = outside(host, lab, interval);
    let moves = interval.moves.iter().filter(|one| one.swing >= 0.5);
    // More cautions, and the sentences of guests that run and of a count outside of the range, leave less room.
    let more = [host.running.is_some(), outside.is_some()].map(usize::from);
    let used = host.cautions.len() + more.iter().sum::<usize>();
    document.say(outside);
    let room = LINES.saturating_sub(used);
    let moves = moves.take(room).enumerate();
    document.say(moves.map(|(place, one)| move_line(host, lab, place, one)));
}

/// The interval, what binds how often, and what to measure first.
pub(super) fn blocks(
    document: &mut Document,
    level: u8,
    host: &HostAnswer,
    lab: &Lab,
    interval: &IntervalAnswer,
) {
    document.heading(level, "How sure that is");
    document.paragraph(sentence(host, lab, interval));
    document.say(outside(host, lab, interval));
    document.paragraph(first_to_run_out(host, interval));
    if interval.moves.is_empty() {
        document.paragraph("None of the uncertain values moves the count.");
        return;
    }
    document.paragraph(
        "What moves the count most, and so what to measure before buying. The swing is how far the count moves when \
         this one value goes from its 5 % to its 95 % end, everything else as drawn.",
    );
    document.table(moves(host, &interval.moves));
}

fn moves<'a>(host: &HostAnswer, moves: &'a [Move]) -> Rows<&'a Move> {
    Table::of(moves)
        .left("measure first", |one| Cell::strong(&one.key))
        .right("from", |one| value(&one.key, one.low))
        .right("to", |one| value(&one.key, one.high))
        .right(format!("{} from", host.unit), |one| {
            format::number(one.at_low)
        })
        .right("to", |one| format::number(one.at_high))
        .right("swing", |one| Cell::strong(format::number(one.swing)))
        .left("how to measure it", |one| {
            one.measure.unwrap_or("given as a range")
        })
}
