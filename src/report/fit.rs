//! The document of `fit`.

use super::details::details;
use super::difference::Both;
use super::document::{Document, Rank};
use super::hosts;
use super::table::{Rows, Table};
use super::{guesses, interval, observed};
use crate::lab::Lab;
use crate::sizing::answer::{FitAnswer, HostAnswer, ResourceAnswer};
use crate::sizing::profiles::ProfileAnswer;
use crate::unit::format;
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
    document.section(Rank::Answer);
    let only = match answer.hosts.as_slice() {
        [only] => Some(only),
        _ => None,
    };
    match only {
        Some(host) => sentences(&mut document, host, lab),
        None => {
            document.lead(most(&answer.hosts, lab));
        }
    }
    if let Some(both) = &both {
        both.said(&mut document, &answer.changes);
    }
    document.section(Rank::Brief);
    if let Some(host) = only {
        short(&mut document, host, lab, running);
        host_blocks(&mut document, host, lab, 2, running);
    } else {
        hosts::short(&mut document, &answer.hosts, lab);
        let lines = hosts::caution_lines(&answer.hosts);
        document.caution_lines(&lines, "One host: --host NAME. Everything: --full.");
        for host in &answer.hosts {
            document.heading(2, &host.name);
            sentences(&mut document, host, lab);
            host_blocks(&mut document, host, lab, 3, running);
        }
    }
    if let Some(both) = &both {
        both.append(&mut document, &answer.changes);
    }
    document
}

/// The answer in sentences.
fn sentences(document: &mut Document, host: &HostAnswer, lab: &Lab) {
    document.lead(lead(host, lab));
    document.say(match host.why {
        Some(_) => Some(why::sentences(host, lab)),
        None => one_more(host),
    });
    document.say(growth::sentence(host, &lab.currency));
}

/// What a short screen says below them.
fn short(document: &mut Document, host: &HostAnswer, lab: &Lab, running: bool) {
    if let Some(seen) = &host.observed {
        observed::brief(document, seen);
        document.caution_lines(&host.cautions, MORE);
        return;
    }
    let (all, guests) = subject(host, running);
    let (shown, more) = first_three(all);
    document.table(resources(host, lab, shown.clone(), guests));
    document.say(mean_loads(&shown));
    document.say(rest(host, lab, &more));
    document.say(not_considered(host, lab));
    document.paragraph(memory_alone(host, lab));
    document.say(host.restart.as_ref().map(restart::sentence));
    if let Some(drawn) = &host.interval {
        interval::short(document, host, lab, drawn);
    }
    document.caution_lines(&host.cautions, MORE);
}

/// Everything else about a host.
fn host_blocks(document: &mut Document, host: &HostAnswer, lab: &Lab, level: u8, running: bool) {
    if let Some(seen) = &host.observed {
        observed::block(document, level, seen);
    }
    document.heading(level, "What runs out, in order");
    let (all, guests) = subject(host, running);
    let all: Vec<_> = all.iter().collect();
    document.table(resources(host, lab, all.clone(), guests));
    document.say(mean_loads(&all));
    document.say(not_considered(host, lab));
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
        document.say(restart::pace(restart));
    }
    guesses::append(document, level, lab, &host.guesses, &host.defaults);
    document.cautions(level, &host.cautions);
}

/// Resources with what they hold, need and have.
fn resources<'a>(
    host: &HostAnswer,
    lab: &Lab,
    shown: Vec<&'a ResourceAnswer>,
    guests: u64,
) -> Rows<&'a ResourceAnswer> {
    let periods = shown.iter().any(|one| one.period.is_some());
    let table = Table::of(shown)
        .left("runs out", |one| label(&one.name))
        .right("holds", |one| holds(host, lab, one))
        .strong_if(|one| host.binds.contains(&one.name))
        .right(format!("needs at {}", format::count(guests)), |one| {
            one.resource.text(one.at_risk)
        })
        .right("limit", |one| one.resource.text(one.limit))
        .right("load", |one| load(one.load))
        .right_if(host.full_in.is_some(), "full in", |one| {
            growth::lasts(one.full_in_months.unwrap_or(f64::INFINITY))
        });
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
    let frees = |one: &ProfileAnswer| {
        let freed = binding.iter().filter_map(|what| {
            let freed = what.resource.text(*one.frees.get(&what.name)?);
            Some(format!("{} {freed}", label(&what.name)))
        });
        format::joined(freed, ", ")
    };
    Table::of(&host.profiles)
        .left("profile", |one| one.name.as_str())
        .right("guests", |one| format::count(one.guests))
        .right("memory", |one| format::bytes(one.memory))
        .right("shared", |one| format::bytes(one.shared))
        .right("cores", |one| format::number(one.cpu))
        .right("disk", |one| format::rate(one.operations))
        .right("written", |one| format::bytes_per_day(one.writes))
        .left("one fewer frees", |one| frees(one))
}

fn memory_counts(host: &HostAnswer, lab: &Lab) -> Rows<(&'static str, String)> {
    let own = host.resources.iter().find(|one| one.name == "memory");
    let own = own.map(|one| holds(host, lab, one)).unwrap_or_default();
    let count = |largest| total_found(host, lab, largest);
    let reached = |n: Option<u64>| count_or(n.map(|n| total(host, lab, n)), "not reached");
    let sudden = host.breaks_at_sudden;
    let lived_in = "within the safe limit, guests that have been busy";
    let fresh = "the same with fresh guests, never busy since they started";
    let unshared = "the same without page sharing (same-page merging)";
    let cliff = "cliff: thrashes or kills guests at the latest at about";
    let rush = "cliff when guests grow faster than the file cache shrinks";
    let rows = [
        Some((lived_in, own)),
        Some((fresh, count(host.fresh))),
        Some((unshared, count(host.unshared))),
        host.balloons
            .then(|| ("balloons full, swap still empty", count(host.stretched))),
        Some(("by the plain sum of assigned memory", count(host.plain_sum))),
        Some((cliff, reached(host.breaks_at))),
        (sudden != host.breaks_at).then(|| (rush, reached(sudden))),
    ];
    Table::of(rows.into_iter().flatten())
        .left("most that memory alone holds", |(words, _)| *words)
        .right("guests", |(_, count)| count.clone())
        .strong_if(|(words, _)| *words == lived_in)
}
