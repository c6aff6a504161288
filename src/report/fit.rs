//! The document of `fit`.

use super::document::{Align, Cell, Document, Table};
use super::fit_details::details;
use super::fit_guesses;
use super::fit_restart;
use super::fit_sheet::sheet;
use super::why;
use crate::lab::Lab;
use crate::sizing::answer::{FitAnswer, HostAnswer, Next, State};
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::name::{count_or, counted, found, holds, load, name_label, resource_label};
use crate::words::sentence::sentence;

/// Builds the document of an answer of `fit`.
#[must_use]
pub fn document(answer: &FitAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    let title = match answer.lab.as_str() {
        "" => "How many guests fit".to_owned(),
        name => format!("How many guests fit: {name}"),
    };
    document.heading(1, title);
    for host in &answer.hosts {
        // With several hosts each has a heading of its own above its parts.
        let below = if answer.hosts.len() > 1 { 3 } else { 2 };
        if below == 3 {
            document.heading(2, host.name.clone());
        }
        host_blocks(&mut document, host, lab, below);
    }
    document.sheet = sheet(&answer.hosts, &answer.currency);
    document
}

fn host_blocks(document: &mut Document, host: &HostAnswer, lab: &Lab, level: u8) {
    document.lead(sentence(host, lab));
    document.paragraph(mix(host, lab));
    if host.why.is_some() {
        document.heading(level, "Why");
        document.paragraph(why::sentences(host));
    }
    document.heading(level, "What runs out, in order");
    document.table(resources(host));
    if let Some(note) = not_considered(host, lab) {
        document.paragraph(note);
    }
    if let Some(interval) = &host.interval {
        super::interval::blocks(document, level, host, interval);
    }
    document.heading(level, "Memory alone, counted in other ways");
    document.table(memory_counts(host));
    document.paragraph(
        "The kernel's limit is an upper bound: a host whose guests use all their memory at once thrashes earlier, and \
         watchdogs in user space act earlier still.",
    );
    document.heading(level, format!("In detail, at {}", at(host)));
    document.table(details(host, lab));
    if let Some(restart) = &host.restart {
        document.heading(level, "After a power cut");
        document.paragraph(fit_restart::sentence(restart));
    }
    fit_guesses::append(document, level, lab, &host.guesses, &host.defaults);
    document.heading(level, "Cautions");
    document.cautions(&host.cautions);
}

/// What the figures are for: "35 guests", "2 guests that must run".
fn at(host: &HostAnswer) -> String {
    match host.fits.unwrap_or(0) {
        0 if host.guests > 0 => format!(
            "{} that must run",
            format::plural(host.guests, "guest", "guests")
        ),
        n => counted(host, n),
    }
}

/// "62 guests: 41 web and 21 build. The next would be a web: memory would need 54.9 GiB of 54.3 GiB."
fn mix(host: &HostAnswer, lab: &Lab) -> String {
    let parts: Vec<String> = lab
        .guests
        .iter()
        .filter_map(|guest| {
            Some(format!(
                "{} {}",
                format::count(*host.mix.get(&guest.name)?),
                guest.name
            ))
        })
        .collect();
    if host.guests == 0 {
        return "So it runs no guests.".to_owned();
    }
    let guests = format::plural(host.guests, "guest", "guests");
    let mut text = format!("{guests}: {}.", format::listed(&parts));
    if let Some(next) = &host.next {
        text.push(' ');
        text.push_str(&one_more(next));
    }
    text
}

fn one_more(next: &Next) -> String {
    let who = match &next.guest {
        Some(name) => format!("one more ({name})"),
        None => "one more set".to_owned(),
    };
    let needs: Vec<String> = next
        .resources
        .iter()
        .map(|one| {
            let label = resource_label(one.resource, &one.name);
            let (need, limit) = (one.resource.text(one.at_risk), one.resource.text(one.limit));
            if need == limit {
                format!("{label} just past {limit}")
            } else {
                format!("{label} {need} of {limit}")
            }
        })
        .collect();
    format!("With {who} the need would be: {}.", format::listed(&needs))
}

fn resources(host: &HostAnswer) -> Table {
    let needs = match host.fits.unwrap_or(0) {
        0 if host.guests > 0 => "needs by these".to_owned(),
        n => format!("needs at {}", counted(host, n)),
    };
    let mut table = Table::new(&[
        ("runs out", Align::Left),
        ("holds", Align::Right),
        (&needs, Align::Right),
        ("limit", Align::Right),
        ("load", Align::Right),
        ("", Align::Left),
    ]);
    for one in &host.resources {
        let label = resource_label(one.resource, &one.name);
        let binds = host.binds.contains(&one.name);
        let weighed = |text: String| {
            if binds {
                Cell::strong(text)
            } else {
                Cell::text(text)
            }
        };
        let label = if binds && one.state == State::Bound {
            format!("{label} (first)")
        } else {
            label
        };
        table.row([
            weighed(label),
            weighed(holds(one)),
            Cell::text(one.resource.text(one.at_risk)),
            Cell::text(one.resource.text(one.limit)),
            Cell::text(load(one.load)),
            Cell::bar(one.load.min(9.99)),
        ]);
    }
    table
}

/// What was left out, and what would bring it in.
fn not_considered(host: &HostAnswer, lab: &Lab) -> Option<String> {
    let (mut facts, mut limits) = (Vec::new(), Vec::new());
    let no_disk = host.disk.is_empty();
    for name in &host.not_considered {
        let base = name.split(':').next().unwrap_or(name);
        if no_disk && matches!(base, "disk_iops" | "disk_writes") {
            continue;
        }
        let name = if no_disk && base == "disk_space" {
            "disks".to_owned()
        } else {
            name_label(name)
        };
        let missing = match base {
            "disk_space" => "[[host.disk]]",
            "disk_iops" => "read_iops and write_iops",
            "disk_writes" => "endurance",
            "network" => "[host.network]",
            "backup" => "[host.backup]",
            "power" if lab.policy.power_budget.is_some() => "[host.power]",
            "power" => {
                limits.push("power_budget");
                continue;
            }
            "cpu_wait" => {
                limits.push("max_mean_wait");
                continue;
            }
            "vcpus" => {
                limits.push("max_vcpus_per_thread");
                continue;
            }
            _ => {
                limits.push("max_guests");
                continue;
            }
        };
        facts.push(format!("{name} (no {missing} given)"));
    }
    let mut sentences = Vec::new();
    if !facts.is_empty() {
        sentences.push(format!("Not considered: {}.", facts.join(", ")));
    }
    if !limits.is_empty() {
        sentences.push(format!(
            "Limits that [policy] could set and does not: {}.",
            limits.join(", ")
        ));
    }
    (!sentences.is_empty()).then(|| sentences.join(" "))
}

fn memory_counts(host: &HostAnswer) -> Table {
    let mut table = Table::new(&[
        ("most that memory alone holds", Align::Left),
        (host.unit, Align::Right),
    ]);
    let own = host
        .resources
        .iter()
        .find(|one| one.resource == Resource::Memory);
    let lived_in = Cell::strong(own.map_or_else(String::new, holds));
    table.row([
        Cell::strong("within the safe limit, guests that have been busy"),
        lived_in,
    ]);
    let mut rows = vec![
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
        count_or(host.breaks_at, "not reached"),
    ));
    if host.breaks_at_sudden != host.breaks_at {
        let sudden = count_or(host.breaks_at_sudden, "not reached");
        rows.push((
            "cliff when guests grow faster than the file cache lets go",
            sudden,
        ));
    }
    for (words, count) in rows {
        table.row([Cell::text(words), Cell::text(count)]);
    }
    table
}
