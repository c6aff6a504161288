//! The document of `fit`.

use super::details::details;
use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use super::{guesses, interval};
use crate::lab::Lab;
use crate::sizing::answer::{FitAnswer, HostAnswer, ResourceAnswer, State};
use crate::words::fit::{at, mix, not_considered};
use crate::words::name::{count_or, counted, found, holds, label, load, titled};
use crate::words::sentence::sentence;
use crate::words::{restart, why};

/// Builds the document of an answer of `fit`.
#[must_use]
pub fn document(answer: &FitAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("How many guests fit", &answer.lab));
    for host in &answer.hosts {
        // With several hosts each has a heading of its own above its parts.
        let below = if answer.hosts.len() > 1 { 3 } else { 2 };
        if below == 3 {
            document.heading(2, host.name.clone());
        }
        host_blocks(&mut document, host, lab, below);
    }
    document
}

fn host_blocks(document: &mut Document, host: &HostAnswer, lab: &Lab, level: u8) {
    document.lead(sentence(host, lab));
    document.paragraph(mix(host, lab));
    if host.why.is_some() {
        document.section(Rank::Reasons, level, "Why");
        document.paragraph(why::sentences(host));
    }
    document.heading(level, "What runs out, in order");
    document.table(resources(host));
    if let Some(note) = not_considered(host, lab) {
        document.paragraph(note);
    }
    if let Some(interval) = &host.interval {
        interval::blocks(document, level, host, interval);
    }
    document.section(Rank::Details, level, "Memory alone, counted in other ways");
    document.table(memory_counts(host));
    document.paragraph(
        "The kernel's limit is an upper bound: a host whose guests use all their memory at once thrashes earlier, and \
         watchdogs in user space act earlier still.",
    );
    document.section(Rank::Details, level, format!("In detail, at {}", at(host)));
    document.table(details(host, lab));
    if let Some(restart) = &host.restart {
        document.section(Rank::Details, level, "After a power cut");
        document.paragraph(restart::sentence(restart));
        document.list(restart::lines(restart));
        if let Some(disk) = restart::disk(restart) {
            document.paragraph(disk);
        }
    }
    guesses::append(document, level, lab, &host.guesses, &host.defaults);
    document.section(Rank::Reasons, level, "Cautions");
    document.cautions(&host.cautions);
}

fn resources(host: &HostAnswer) -> Rows<&ResourceAnswer> {
    let needs = match host.fits.unwrap_or(0) {
        0 if host.guests > 0 => "needs by these".to_owned(),
        n => format!("needs at {}", counted(host, n)),
    };
    let binds = |one: &ResourceAnswer| host.binds.contains(&one.name);
    let first = |one: &ResourceAnswer| match one.state {
        State::Bound if binds(one) => " (first)",
        _ => "",
    };
    Table::of(&host.resources)
        .left("runs out", |one| {
            Cell::strong_if(binds(one), label(&one.name) + first(one))
        })
        .right("holds", |one| Cell::strong_if(binds(one), holds(one)))
        .right(needs, |one| one.resource.text(one.at_risk))
        .right("limit", |one| one.resource.text(one.limit))
        .right("load", |one| load(one.load))
        .left("", |one| Cell::Bar(one.load.min(9.99)))
}

fn memory_counts(host: &HostAnswer) -> Rows<(&'static str, String)> {
    let own = host.resources.iter().find(|one| one.name == "memory");
    let reached = |count| count_or(count, "not reached");
    let lived_in = "within the safe limit, guests that have been busy";
    let mut rows = vec![
        (lived_in, own.map_or_else(String::new, holds)),
        (
            "the same with fresh guests, never busy since they started",
            found(host.fresh),
        ),
        (
            "the same without page sharing (same-page merging)",
            found(host.unshared),
        ),
    ];
    if host.balloons {
        rows.push(("balloons in, swap still empty", found(host.stretched)));
    }
    rows.push(("by the plain sum of assigned memory", found(host.plain_sum)));
    rows.push((
        "cliff: the kernel starts killing guests at about",
        reached(host.breaks_at),
    ));
    if host.breaks_at_sudden != host.breaks_at {
        rows.push((
            "cliff when guests grow faster than the file cache lets go",
            reached(host.breaks_at_sudden),
        ));
    }
    Table::of(rows)
        .left("most that memory alone holds", move |(words, _)| {
            Cell::strong_if(*words == lived_in, *words)
        })
        .right(host.unit, move |(words, count)| {
            Cell::strong_if(*words == lived_in, count.as_str())
        })
}
