//! The document of `rollout`.

use super::chart::rollout::chart;
use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::within;
use crate::rollout::{BatchRun, Change, Rollout};
use crate::unit::format;
use crate::words::name::or_dash;
use crate::words::start::{
    chance, clock, dashes, happened, late, lived_in, more_batches, other_way, sentence, stopped,
    time, why_not,
};

/// Batches of a table that a page shows, and a short screen; more are cut in the middle or at the end (all of them stand
/// in JSON and CSV).
const SHOWN: [usize; 2] = [40, 8];

/// Builds the document; `picture` is the file that the picture was drawn to, `plot` whether a short screen shows it.
pub fn document(rollout: &Rollout, lab: &Lab, picture: Option<String>, plot: bool) -> Document {
    let title = format!("Starting guests without a storm: {}", rollout.host);
    let mut document = Document::answering(title, sentence(rollout));
    if let Some(shortfall) = &rollout.shortfall {
        document.paragraph(why_not(shortfall));
        document.list(shortfall.changes.iter().map(Change::to_string));
    }
    document.say(stopped(rollout));
    document.say(lived_in(rollout));
    document.say(rollout.chance.map(|one| chance(rollout, one)));
    document.say(other_way(rollout));
    document.say(late(rollout));
    document.say(clock(rollout, lab));
    document.section(if plot { Rank::Answer } else { Rank::Full });
    document.chart(chart(rollout), picture);
    let has_batches = !rollout.run.batches.is_empty();
    document.section(Rank::Brief);
    if has_batches {
        document.table(batches(rollout, SHOWN[1], false));
    }
    document.say(more_batches(rollout, SHOWN[1]));
    document.paragraph(happened(rollout, lab, false).join(" "));
    let more = "Everything: --full. Picture: --plot or --chart.";
    document.caution_lines(&rollout.cautions, more);
    if has_batches {
        document.heading(2, "Batch by batch");
        document.table(batches(rollout, SHOWN[0], true));
    }
    document.say(dashes(rollout));
    document.say(more_batches(rollout, SHOWN[0]));
    let happened = happened(rollout, lab, true);
    if !happened.is_empty() {
        document.heading(2, "What happened on the way");
        document.list(happened);
    }
    document.cautions(2, &rollout.cautions);
    document
}

/// The first half of the batches and the last half, as many as are shown; on a short screen only the first.
fn batches(rollout: &Rollout, most: usize, full: bool) -> Rows<&BatchRun> {
    let all = &rollout.run.batches;
    let (first, last) = match full && all.len() > most {
        true => (most / 2, all.len() - (most - most / 2)),
        false => (most, all.len()),
    };
    let shown = all.iter().enumerate();
    let shown = shown.filter(|(index, _)| *index < first || *index >= last);
    let killed = |batch: &BatchRun| match (batch.killed, batch.killed_most) {
        (killed, most) if killed > 0 && most > killed => format!("{killed} to {most}"),
        (killed, _) => killed.to_string(),
    };
    Table::of(shown.map(|(_, batch)| batch))
        .right("at", |batch| time(batch.start_s))
        .right("guests before", |batch| format::count(batch.before))
        .right("started", |batch| format::count(batch.started))
        .right("peak", |batch| {
            let peak = format::share(batch.peak);
            match within(batch.peak, rollout.limit) {
                true => peak.into(),
                false => Cell::strong(format!("{peak} (past)")),
            }
        })
        .right("settles at", |batch| format::share(batch.settled))
        .right_if(full, "peak after", |batch| time(batch.peak_s))
        .right_if(full, "settled after", |one| or_dash(one.settle_s, time))
        .right_if(full, "cloning takes", |one| or_dash(one.clone_s, time))
        .right_if(full || rollout.run.killed > 0, "killed", |one| killed(one))
}
