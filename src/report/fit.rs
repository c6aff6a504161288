//! The document of `fit`.

use super::details::details;
use super::difference::Both;
use super::document::{Document, Rank};
use super::hosts;
use super::table::{Cell, Rows, Table};
use super::{guesses, interval, observed};
use crate::lab::Lab;
use crate::sizing::answer::{FitAnswer, HostAnswer, ResourceAnswer};
use crate::sizing::profiles::ProfileAnswer;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::fit::{
    at, first_three, holds, lead, mean_loads, memory_alone, most, not_considered, one_more, rest,
    subject, total, total_found,
};
use crate::words::name::{binding, count_or, label, load, or_dash, titled};
use crate::words::{growth, restart, why};

/// Where more is said.
const MORE: &str = "Everything: --full. Why: --why. Each number: berthage explain.";

/// Builds the document of an answer of `fit`; `running`: the guests that must run were asked about; `before`: the lab before
/// a change and the answers for it.
pub fn document(
    answer: &FitAnswer,
    lab: &Lab,
    running: bool,
    before: Option<(&Lab, &[HostAnswer])>,
) -> Document {
    let mut document = Document::new();
    let both = before.map(|(old, hosts)| Both {
        hosts: [hosts, &answer.hosts],
        labs: [old, lab],
    });
    document.heading(1, titled("How many guests fit", &answer.lab));
    if let [host] = answer.hosts.as_slice() {
        document.section(Rank::Answer);
        sentences(&mut document, host, lab);
        both.iter()
            .for_each(|both| both.said(&mut document, &answer.changes));
        short(&mut document, host, lab, running);
        host_blocks(&mut document, host, lab, 2, running);
        both.iter()
            .for_each(|both| both.append(&mut document, &answer.changes));
        return document;
    }
    document
        .section(Rank::Answer)
        .lead(most(&answer.hosts, lab));
    both.iter()
        .for_each(|both| both.said(&mut document, &answer.changes));
    document.section(Rank::Brief);
    hosts::short(&mut document, &answer.hosts, lab);
    document.caution_lines(
        &hosts::caution_lines(&answer.hosts),
        "One host: --host NAME. Everything: --full.",
    );
    for host in &answer.hosts {
        document.heading(2, host.name.clone());
        sentences(&mut document, host, lab);
        host_blocks(&mut document, host, lab, 3, running);
    }
    both.iter()
        .for_each(|both| both.append(&mut document, &answer.changes));
    document
}

/// The answer in sentences.
fn sentences(document: &mut Document, host: &HostAnswer, lab: &Lab) {
    document.lead(lead(host, lab));
    if host.why.is_some() {
        document.paragraph(why::sentences(host, lab));
    } else if let Some(more) = one_more(host) {
        document.paragraph(more);
    }
    if let Some(full) = growth::sentence(host, &lab.currency) {
        document.paragraph(full);
    }
}

/// What a short screen says below them.
fn short(document: &mut Document, host: &HostAnswer, lab: &Lab, running: bool) {
    document.section(Rank::Brief);
    let cautions: Vec<_> = host.cautions.iter().map(Caution::worded).collect();
    if let Some(seen) = &host.observed {
        observed::brief(document, seen);
        document.caution_lines(&cautions, MORE);
        return;
    }
    let (all, guests) = subject(host, running);
    let (shown, more) = first_three(all);
    document.table(resources(host, lab, shown.clone(), guests));
    let lines = [
        mean_loads(&shown),
        rest(host, lab, &more),
        not_considered(host, lab),
        Some(memory_alone(host, lab)),
        host.restart.as_ref().map(restart::sentence),
    ];
    for line in lines.into_iter().flatten() {
        document.paragraph(line);
    }
    if let Some(drawn) = &host.interval {
        interval::short(document, host, lab, drawn);
    }
    document.caution_lines(&cautions, MORE);
}

/// Everything else about a host.
fn host_blocks(document: &mut Document, host: &HostAnswer, lab: &Lab, level: u8, running: bool) {
    if let Some(seen) = &host.observed {
        observed::block(document, level, seen);
    }
    document.heading(level, "What runs out, in order");
    let (all, guests) = subject(host, running);
    document.table(resources(host, lab, all.iter().collect(), guests));
    let all: Vec<_> = all.iter().collect();
    let notes = [mean_loads(&all), not_considered(host, lab)];
    for note in notes.into_iter().flatten() {
        document.paragraph(note);
    }
    if let Some(interval) = &host.interval {
        interval::blocks(document, level, host, lab, interval);
    } else if host.certain {
        document.paragraph("Every value that this count rests on was given.");
    }
    document.heading(level, "Memory alone, counted in other ways");
    document.table(memory_counts(host, lab));
    document.paragraph(
        "The cliff is an upper bound: a host whose guests use all their memory at once thrashes earlier, and watchdogs in \
         user space act earlier still. The sign to watch is memory pressure: `some` in /proc/pressure/memory.",
    );
    document.heading(level, "Who takes it");
    document.table(takers(host));
    document.heading(level, format!("In detail, at {}", at(host)));
    document.table(details(host, lab));
    if let Some(restart) = &host.restart {
        document.heading(level, "Restart of all guests");
        document.paragraph(restart::sentence(restart));
        document.list(restart::lines(restart));
        if let Some(pace) = restart::pace(restart) {
            document.paragraph(pace);
        }
    }
    guesses::append(document, level, lab, &host.guesses, &host.defaults);
    let cautions: Vec<_> = host.cautions.iter().map(Caution::worded).collect();
    document.cautions(level, &cautions);
}

/// Resources with what they hold, need and have.
fn resources<'a>(
    host: &HostAnswer,
    lab: &Lab,
    shown: Vec<&'a ResourceAnswer>,
    guests: u64,
) -> Rows<&'a ResourceAnswer> {
    let binds = |one: &ResourceAnswer| host.binds.contains(&one.name);
    let periods = shown.iter().any(|one| one.period.is_some());
    let table = Table::of(shown)
        .left("runs out", |one| {
            Cell::strong_if(binds(one), label(&one.name))
        })
        .right("holds", |one| {
            Cell::strong_if(binds(one), holds(host, lab, one))
        })
        .right(format!("needs at {}", format::count(guests)), |one| {
            one.resource.text(one.at_risk)
        })
        .right("limit", |one| one.resource.text(one.limit))
        .right("load", |one| load(one.load));
    let table = match host.full_in {
        Some(_) => table.right("full in", |one| {
            growth::lasts(one.full_in_months.unwrap_or(f64::INFINITY))
        }),
        None => table,
    };
    if !periods {
        return table;
    }
    table
        .left("worst in", |one| one.period.clone().unwrap_or_default())
        .right("past limit", |one| or_dash(one.past_limit, format::share))
}

/// What each profile takes, and what one guest fewer of it would free of what binds.
fn takers(host: &HostAnswer) -> Rows<&ProfileAnswer> {
    let binding = binding(host);
    let frees = |one: &ProfileAnswer| -> String {
        let freed = binding.iter().filter_map(|what| {
            let freed = what.resource.text(*one.frees.get(&what.name)?);
            Some(format!("{} {freed}", label(&what.name)))
        });
        freed.collect::<Vec<_>>().join(", ")
    };
    Table::of(&host.profiles)
        .left("profile", |one| one.name.as_str())
        .right("guests", |one| format::count(one.guests))
        .right("memory", |one| format::bytes(one.memory))
        .right("shared", |one| format::bytes(one.shared))
        .right("processor", |one| {
            format::numbered(one.cpu, "core", "cores")
        })
        .right("disk", |one| format::rate(one.operations))
        .right("written", |one| format::bytes_per_day(one.writes))
        .left("one fewer frees", |one| frees(one))
}

fn memory_counts(host: &HostAnswer, lab: &Lab) -> Rows<(&'static str, String)> {
    let own = host.resources.iter().find(|one| one.name == "memory");
    let reached = |n: Option<u64>| count_or(n.map(|n| total(host, lab, n)), "not reached");
    let lived_in = "within the safe limit, guests that have been busy";
    let mut rows = vec![
        (
            lived_in,
            own.map_or_else(String::new, |one| holds(host, lab, one)),
        ),
        (
            "the same with fresh guests, never busy since they started",
            total_found(host, lab, host.fresh),
        ),
        (
            "the same without page sharing (same-page merging)",
            total_found(host, lab, host.unshared),
        ),
    ];
    if host.balloons {
        let count = total_found(host, lab, host.stretched);
        rows.push(("balloons full, swap still empty", count));
    }
    let count = total_found(host, lab, host.plain_sum);
    rows.push(("by the plain sum of assigned memory", count));
    rows.push((
        "cliff: thrashes or kills guests at the latest at about",
        reached(host.breaks_at),
    ));
    if host.breaks_at_sudden != host.breaks_at {
        rows.push((
            "cliff when guests grow faster than the file cache shrinks",
            reached(host.breaks_at_sudden),
        ));
    }
    Table::of(rows)
        .left("most that memory alone holds", move |(words, _)| {
            Cell::strong_if(*words == lived_in, *words)
        })
        .right("guests", move |(words, count)| {
            Cell::strong_if(*words == lived_in, count.as_str())
        })
}
