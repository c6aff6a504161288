//! The document of `rollout`.

use super::chart::rollout::chart;
use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::within;
use crate::rollout::{BatchRun, Change, Rollout, RolloutAnswer};
use crate::unit::format;
use crate::words::name::or_dash;
use crate::words::start::{dashes, happened, late, lived_in, other_way, sentence, stopped, time};

/// Batches of a table that a person reads; more are cut in the middle (all of them stand in JSON and CSV).
const MOST_ROWS: usize = 40;

/// Builds the document; `picture` is the file that the picture was drawn to.
#[must_use]
pub fn document(answer: &RolloutAnswer, lab: &Lab, picture: Option<String>) -> Document {
    let rollout = &answer.rollout;
    let mut document = Document::new();
    document.heading(
        1,
        format!("Starting guests without a storm: {}", rollout.host),
    );
    document.lead(sentence(rollout));
    if let Some(shortfall) = &answer.shortfall {
        let missing = match shortfall.missing {
            0.0 => String::new(),
            bytes => format!("; {} are missing", format::bytes(bytes)),
        };
        document.paragraph(format!("Why not safely: {}{missing}.", shortfall.why));
        if !shortfall.changes.is_empty() {
            document.paragraph("What would change it, each by itself; each was tried:");
            document.list(shortfall.changes.iter().map(Change::to_string));
        }
    }
    let notes = [
        stopped(rollout),
        lived_in(rollout),
        other_way(rollout),
        late(rollout),
    ];
    for note in notes.into_iter().flatten() {
        document.paragraph(note);
    }
    document.chart(chart(rollout), picture);
    if !rollout.run.batches.is_empty() {
        document.section(Rank::Reasons, 2, "Batch by batch");
        document.table(batches(rollout));
    }
    if let Some(dashes) = dashes(rollout) {
        document.paragraph(dashes);
    }
    if rollout.run.batches.len() > MOST_ROWS {
        document.paragraph(format!(
            "{} batches in all; JSON and CSV have every one.",
            format::count(rollout.run.batches.len() as u64)
        ));
    }
    let happened = happened(rollout, lab);
    if !happened.is_empty() {
        document.section(Rank::Reasons, 2, "What happened on the way");
        document.list(happened);
    }
    document.section(Rank::Reasons, 2, "Cautions");
    document.cautions(&answer.cautions);
    document
}

fn batches(rollout: &Rollout) -> Rows<&BatchRun> {
    let all = &rollout.run.batches;
    let left_out = all.len().saturating_sub(MOST_ROWS);
    let ends = all.iter().enumerate().filter(|(index, _)| {
        left_out == 0 || *index < MOST_ROWS / 2 || *index >= MOST_ROWS / 2 + left_out
    });
    let killed = |batch: &BatchRun| match (batch.killed, batch.killed_most) {
        (killed, most) if killed > 0 && most > killed => format!("{killed} to {most}"),
        (killed, _) => killed.to_string(),
    };
    Table::of(ends.map(|(_, batch)| batch))
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
        .right("peak after", |batch| time(batch.peak_s))
        .right("settles at", |batch| format::share(batch.settled))
        .right("settled after", |batch| or_dash(batch.settle_s, time))
        .right("cloning takes", |batch| or_dash(batch.clone_s, time))
        .right("killed", |batch| killed(batch))
}
