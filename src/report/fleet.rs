//! The document of `fleet`.

use super::document::{Align, Cell, Document, Sheet, Table};
use crate::fleet::answer::{FleetAnswer, FleetHost};
use crate::lab::Lab;
use crate::sizing::named::Named;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::fleet::{needed, reason, sentence};
use crate::words::name::{load, resource_label};

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
            let reason = answer.reasons.get(name).map(reason);
            format!(
                "{} {name}: {}",
                format::count(*n),
                reason.unwrap_or_default()
            )
        }));
        if answer.proven {
            document.paragraph(
                "These hosts do not hold all of them, however they are placed: every way was tried or ruled out.",
            );
        }
    }
    document.paragraph(needed(&answer.needed, answer.spare));
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
    let mut most: Option<&(Named, f64)> = None;
    for one in &host.loads.0 {
        if most.is_none_or(|seen| one.1 > seen.1) {
            most = Some(one);
        }
    }
    most.map_or_else(String::new, |(named, share)| {
        format!("{} {}", label(named), load(*share))
    })
}

fn label(named: &Named) -> String {
    resource_label(named.resource, &named.name)
}

fn loads(answer: &FleetAnswer) -> Table {
    let mut resources: Vec<&Named> = Vec::new();
    for (named, _) in answer.hosts.iter().flat_map(|host| &host.loads.0) {
        if !resources.iter().any(|seen| seen.name == named.name) {
            resources.push(named);
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
    for resource in resources {
        let mut cells = vec![Cell::text(label(resource))];
        cells.extend(answer.hosts.iter().map(|host| {
            let loads = host.loads.by_name();
            let share = loads.get(resource.name.as_str());
            Cell::text(share.map_or_else(|| "–".to_owned(), |share| load(*share)))
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
        for (name, share) in &host.loads.by_name() {
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
        let reason = answer.reasons.get(name).map(ToString::to_string);
        sheet.row(["", "reason", name, &reason.unwrap_or_default(), ""]);
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
        sheet.row(["", "caution", caution.id(), &caution.text(), ""]);
    }
    sheet
}
