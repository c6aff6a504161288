//! The document of `fleet`.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::fleet::answer::{FleetAnswer, FleetHost, Takeover};
use crate::lab::Lab;
use crate::sizing::named::Named;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::fleet::{STOPPED, emptied, full, left_over, moves, needed, sentence};
use crate::words::name::{label, load, or_dash, titled};

/// Builds the document of an answer of `fleet`.
pub fn document(answer: &FleetAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("Guests on several hosts", &answer.lab));
    document.section(Rank::Answer);
    document.lead(sentence(answer));
    document.table(hosts(answer, lab));
    if answer.stopped {
        document.paragraph(STOPPED);
    }
    for line in left_over(answer) {
        document.paragraph(line);
    }
    if !answer.unplaced.is_empty() && answer.proven {
        document.paragraph("No placement holds all of them: every way was tried or ruled out.");
    }
    if answer.holds.is_none() {
        document.paragraph(needed(&answer.needed, answer.spare));
    }
    if let Some(full) = full(answer) {
        document.paragraph(full);
    }
    document.section(Rank::Brief);
    if let Some(emptied) = emptied(answer) {
        document.paragraph(emptied);
    }
    let cautions: Vec<_> = answer.cautions.iter().map(Caution::worded).collect();
    document.caution_lines(&cautions, "Everything: --full.");
    if !answer.after.is_empty() {
        document.heading(2, "Where guests go when hosts fail");
        document.table(takeovers(answer));
    }
    document.heading(2, "How full each host is");
    document.table(loads(answer));
    document.heading(2, "To empty a host");
    document.table(emptying(answer));
    document.cautions(2, &cautions);
    document
}

fn hosts<'a>(answer: &'a FleetAnswer, lab: &'a Lab) -> Rows<&'a FleetHost> {
    let mut table = Table::of(&answer.hosts)
        .left("host", |host| Cell::strong(&host.name))
        .right("guests", |host| format::count(host.guests.values().sum()));
    let names = lab.guests.iter().map(|guest| &guest.name);
    for name in names.filter(|name| answer.asked.contains_key(*name)) {
        table = table.right(name, |host| {
            format::count(host.guests.get(name).copied().unwrap_or(0))
        });
    }
    table.left("fullest", |host| fullest(host))
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
        let period = host.periods.get(&named.name);
        let period = period.map_or_else(String::new, |period| format!(", {period}"));
        format!("{} {}{period}", label(&named.name), load(*share))
    })
}

fn loads(answer: &FleetAnswer) -> Rows<&Named> {
    let mut resources: Vec<&Named> = Vec::new();
    for (named, _) in answer.hosts.iter().flat_map(|host| &host.loads.0) {
        if !resources.iter().any(|seen| seen.name == named.name) {
            resources.push(named);
        }
    }
    let mut table = Table::of(resources).left("needs of the limit", |one| label(&one.name));
    for host in &answer.hosts {
        let loads = host.loads.by_name();
        table = table.right(&host.name, |one| {
            or_dash(loads.get(one.name.as_str()).copied(), load)
        });
    }
    table
}

fn emptying(answer: &FleetAnswer) -> Rows<&FleetHost> {
    let time =
        |seconds: Option<f64>| seconds.map_or_else(|| "no link given".to_owned(), format::seconds);
    Table::of(&answer.hosts)
        .left("host", |host| host.name.as_str())
        .right("memory of its machines", |host| time(host.empty_s))
        .right("with their disks", |host| time(host.empty_with_disks_s))
        .left("in this order", |host| moves(host.empty_to.as_deref()))
}

fn takeovers(answer: &FleetAnswer) -> Rows<&Takeover> {
    Table::of(&answer.after)
        .left("if these fail", |after| format::listed(&after.failed))
        .left("their guests start again", |after| {
            moves(after.moves.as_deref())
        })
}
