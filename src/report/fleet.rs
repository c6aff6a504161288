//! The document of `fleet`.

use super::document::{Align, Cell, Document, Sheet, Table};
use crate::fleet::{FleetAnswer, FleetHost};
use crate::lab::Lab;
use crate::unit::format;
use crate::words::name::{load, name_label, resource_label};

/// Builds the document of an answer of `fleet`.
#[must_use]
pub fn document(answer: &FleetAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(
        1,
        if answer.lab.is_empty() {
            "Guests on several hosts".to_owned()
        } else {
            format!("Guests on several hosts: {}", answer.lab)
        },
    );
    document.lead(sentence(answer));
    document.heading(2, "Where each guest goes");
    document.table(hosts(answer, lab));
    if !answer.unplaced.is_empty() {
        document.heading(2, "Left over");
        document.list(answer.unplaced.iter().map(|(name, n)| {
            let reason = answer.reasons.get(name).map_or("", String::as_str);
            format!("{} {name}: {}", format::count(*n), in_words(reason))
        }));
        if answer.proven {
            document.paragraph(
                "These hosts do not hold all of them, however they are placed: every way was tried or ruled out.",
            );
        }
    }
    document.paragraph(needed(answer));
    document.heading(2, "How full each host is");
    document.table(loads(answer));
    if answer.hosts.iter().any(|host| host.empty_s.is_some()) {
        document.heading(2, "To empty a host");
        document.table(emptying(answer));
    }
    document.heading(2, "Cautions");
    document.cautions(&answer.cautions);
    document.sheet = sheet(answer);
    document
}

/// A reason with the resources that it ends in by the names they have on screens.
fn in_words(reason: &str) -> String {
    match reason.split_once(": ") {
        Some((why, names)) => {
            let labels: Vec<String> = names.split(", ").map(name_label).collect();
            format!("{why}: {}", format::listed(&labels))
        }
        None => reason.to_owned(),
    }
}

/// "All 46 guests are placed on 3 hosts; survives losing any 1."
fn sentence(answer: &FleetAnswer) -> String {
    let asked: u64 = answer.asked.values().sum();
    let left: u64 = answer.unplaced.values().sum();
    let used = answer
        .hosts
        .iter()
        .filter(|host| !host.guests.is_empty())
        .count() as u64;
    let on = format::plural(used, "host", "hosts");
    let placed = match (asked - left, left) {
        (1, 0) => format!("The 1 guest is placed on {on}"),
        (all, 0) => format!("All {} guests are placed on {on}", format::count(all)),
        (some, _) => format!(
            "{} of {} {} placed on {on}; {} left over",
            format::count(some),
            format::plural(asked, "guest", "guests"),
            // The verb goes with how many are: "1 of 2 guests is", "0 of 2 guests are".
            if some == 1 || asked == 1 { "is" } else { "are" },
            format::plural(left, "is", "are")
        ),
    };
    let spare = match (answer.spare, answer.survives) {
        (0, _) => "losing a host was not asked about (--spare 1)".to_owned(),
        (spare, true) => format!("survives losing any {spare}"),
        (spare, false) => format!("does not survive losing any {spare}"),
    };
    format!("{placed}; {spare}.")
}

/// "At least 2 hosts are needed, and 2 were found to do: no placement needs fewer."
fn needed(answer: &FleetAnswer) -> String {
    let spare = match answer.spare {
        0 => String::new(),
        spare => format!(", {spare} of them to spare"),
    };
    let hosts = |n: usize| format::plural(n as u64, "host", "hosts");
    match (answer.needed.at_least, answer.needed.found) {
        (None, _) => "One of these guests fits on no host, whatever runs beside it.".to_owned(),
        (Some(least), None) => format!(
            "No fewer than {} would do for all of them{spare}.",
            hosts(least)
        ),
        (Some(least), Some(found)) if least == found => {
            format!("{} will do{spare}, and fewer cannot.", hosts(found))
        }
        (Some(least), Some(found)) => format!(
            "{} will do{spare}; fewer than {} cannot, what lies between is open (a gap of {}).",
            hosts(found),
            format::count(least as u64),
            format::count((found - least.min(found)) as u64)
        ),
    }
}

fn hosts(answer: &FleetAnswer, lab: &Lab) -> Table {
    let asked: Vec<&str> = lab
        .guests
        .iter()
        .map(|guest| guest.name.as_str())
        .filter(|name| answer.asked.contains_key(*name))
        .collect();
    let mut columns = vec![("host", Align::Left), ("guests", Align::Right)];
    columns.extend(asked.iter().map(|name| (*name, Align::Right)));
    columns.push(("fullest", Align::Left));
    let mut table = Table::new(&columns);
    for host in &answer.hosts {
        let all: u64 = host.guests.values().sum();
        let mut cells = vec![
            Cell::strong(host.name.clone()),
            Cell::text(format::count(all)),
        ];
        cells.extend(
            asked.iter().map(|name| {
                Cell::text(format::count(host.guests.get(*name).copied().unwrap_or(0)))
            }),
        );
        cells.push(Cell::text(fullest(host)));
        table.row(cells);
    }
    table
}

/// "memory 81 %", the resource with the highest load.
fn fullest(host: &FleetHost) -> String {
    let mut most: Option<&(crate::sizing::resource::Resource, String, f64)> = None;
    for one in &host.resources {
        if most.is_none_or(|seen| one.2 > seen.2) {
            most = Some(one);
        }
    }
    most.map_or_else(String::new, |(resource, name, share)| {
        format!("{} {}", resource_label(*resource, name), load(*share))
    })
}

fn loads(answer: &FleetAnswer) -> Table {
    let mut names: Vec<(crate::sizing::resource::Resource, &str)> = Vec::new();
    for host in &answer.hosts {
        for (resource, name, _) in &host.resources {
            if !names.iter().any(|(_, seen)| seen == name) {
                names.push((*resource, name));
            }
        }
    }
    let mut columns = vec![("needs of the limit", Align::Left)];
    columns.extend(
        answer
            .hosts
            .iter()
            .map(|host| (host.name.as_str(), Align::Right)),
    );
    let mut table = Table::new(&columns);
    for (resource, name) in names {
        let mut cells = vec![Cell::text(resource_label(resource, name))];
        cells.extend(answer.hosts.iter().map(|host| {
            Cell::text(
                host.loads
                    .get(name)
                    .map_or_else(|| "–".to_owned(), |share| load(*share)),
            )
        }));
        table.row(cells);
    }
    table
}

fn emptying(answer: &FleetAnswer) -> Table {
    let mut table = Table::new(&[
        ("host", Align::Left),
        ("memory of its machines", Align::Right),
        ("with their disks", Align::Right),
    ]);
    let time =
        |seconds: Option<f64>| seconds.map_or_else(|| "no link given".to_owned(), format::seconds);
    for host in &answer.hosts {
        table.row([
            Cell::text(host.name.clone()),
            Cell::text(time(host.empty_s)),
            Cell::text(time(host.empty_with_disks_s)),
        ]);
    }
    table
}

fn sheet(answer: &FleetAnswer) -> Sheet {
    let mut sheet = Sheet::new(["host", "section", "item", "value", "unit"]);
    let whole = |value: Option<usize>| value.map_or_else(String::new, |value| value.to_string());
    for host in &answer.hosts {
        let mut add = |section: &str, item: &str, value: String, unit: &str| {
            sheet.row([host.name.as_str(), section, item, &value, unit]);
        };
        for (name, n) in &host.guests {
            add("guests", name, n.to_string(), "guests");
        }
        for (name, share) in &host.loads {
            let share = if share.is_finite() {
                share.to_string()
            } else {
                String::new()
            };
            add("load", name, share, "share");
        }
        for (item, seconds) in [
            ("memory", host.empty_s),
            ("memory_and_disks", host.empty_with_disks_s),
        ] {
            if let Some(seconds) = seconds {
                add("empty", item, seconds.to_string(), "s");
            }
        }
    }
    for (name, n) in &answer.unplaced {
        sheet.row(["", "unplaced", name, &n.to_string(), "guests"]);
        let reason = answer.reasons.get(name).map_or("", String::as_str);
        sheet.row(["", "reason", name, reason, ""]);
    }
    sheet.row(["", "answer", "spare", &answer.spare.to_string(), "hosts"]);
    sheet.row(["", "answer", "survives", &answer.survives.to_string(), ""]);
    sheet.row([
        "",
        "answer",
        "at_least",
        &whole(answer.needed.at_least),
        "hosts",
    ]);
    sheet.row(["", "answer", "found", &whole(answer.needed.found), "hosts"]);
    for caution in &answer.cautions {
        sheet.row(["", "caution", caution.id, &caution.text, ""]);
    }
    sheet
}
