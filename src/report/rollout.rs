//! The document of `rollout`.

use super::chart::rollout::chart;
use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::within;
use crate::rollout::{BatchRun, Change, Rollout, RolloutAnswer};
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::name::or_dash;
use crate::words::start::{
    chance, clock, dashes, happened, late, lived_in, more_batches, other_way, sentence, stopped,
    time, why_not,
};

/// Batches of a table that a page shows, and a short screen; more are cut in the middle or at the end (all of them stand
/// in JSON and CSV).
const SHOWN: [usize; 2] = [40, 8];

/// Builds the document; `picture` is the file that the picture was drawn to, `plot` whether a short screen shows it.
pub fn document(
    answer: &RolloutAnswer,
    lab: &Lab,
    picture: Option<String>,
    plot: bool,
) -> Document {
    let rollout = &answer.rollout;
    let mut document = Document::new();
    document.heading(
        1,
        format!("Starting guests without a storm: {}", rollout.host),
    );
    document.section(Rank::Answer);
    document.lead(sentence(rollout));
    if let Some(shortfall) = &answer.shortfall {
        document.paragraph(why_not(shortfall));
        document.list(shortfall.changes.iter().map(Change::to_string));
    }
    let notes = [
        stopped(rollout),
        lived_in(rollout),
        answer.chance.map(|one| chance(rollout, one)),
        other_way(rollout),
        late(rollout),
        clock(rollout, lab),
    ];
    for note in notes.into_iter().flatten() {
        document.paragraph(note);
    }
    document.section(if plot { Rank::Answer } else { Rank::Full });
    document.chart(chart(rollout), picture);
    document.section(Rank::Brief);
    if !rollout.run.batches.is_empty() {
        document.table(batches(rollout, SHOWN[1], false));
    }
    if let Some(more) = more_batches(rollout, SHOWN[1]) {
        document.paragraph(more);
    }
    document.paragraph(happened(rollout, lab, false).join(" "));
    let cautions: Vec<_> = answer.cautions.iter().map(Caution::worded).collect();
    document.caution_lines(&cautions, "Everything: --full. Picture: --plot or --chart.");
    if !rollout.run.batches.is_empty() {
        document.heading(2, "Batch by batch");
        document.table(batches(rollout, SHOWN[0], true));
    }
    let notes = [dashes(rollout), more_batches(rollout, SHOWN[0])];
    for note in notes.into_iter().flatten() {
        document.paragraph(note);
    }
    let happened = happened(rollout, lab, true);
    if !happened.is_empty() {
        document.heading(2, "What happened on the way");
        document.list(happened);
    }
    document.cautions(2, &cautions);
    document
}

/// The first half of the batches and the last half, as many as are shown; on a short screen only the first.
fn batches(rollout: &Rollout, most: usize, full: bool) -> Rows<&BatchRun> {
    let all = &rollout.run.batches;
    let first = if full && all.len() > most {
        most / 2
    } else {
        most
    };
    let last = if full {
        all.len().saturating_sub(most - first)
    } else {
        all.len()
    };
    let shown = all.iter().enumerate();
    let shown = shown.filter(|(index, _)| *index < first || *index >= last);
    let killed = |batch: &BatchRun| match (batch.killed, batch.killed_most) {
        (killed, most) if killed > 0 && most > killed => format!("{killed} to {most}"),
        (killed, _) => killed.to_string(),
    };
    let mut table = Table::of(shown.map(|(_, batch)| batch))
        .right("at", |batch| time(batch.start_s))
        .right("guests before", |batch| format::count(batch.before))
        .right("started", |batch| format::count(batch.started))
        .right("peak", |batch| {
            let peak = format::share(batch.peak);
            if within(batch.peak, rollout.limit) {
                peak.into()
            } else {
                Cell::strong(format!("{peak} (past)"))
            }
        })
        .right("settles at", |batch| format::share(batch.settled));
    if full {
        table = table
            .right("peak after", |batch| time(batch.peak_s))
            .right("settled after", |batch| or_dash(batch.settle_s, time))
            .right("cloning takes", |batch| or_dash(batch.clone_s, time));
    }
    if full || rollout.run.killed > 0 {
        table = table.right("killed", |batch| killed(batch));
    }
    table
}
