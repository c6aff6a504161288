//! The document of `fleet`.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::fleet::answer::{FleetAnswer, FleetHost, Takeover};
use crate::lab::Lab;
use crate::sizing::named::Named;
use crate::unit::format;
use crate::words::fleet::{STOPPED, emptied, full, left_over, moves, needed, sentence};
use crate::words::name::{label, load, or_dash, titled};

/// Builds the document of an answer of `fleet`.
pub fn document(answer: &FleetAnswer, lab: &Lab) -> Document {
    let title = titled("Guests on several hosts", &answer.lab);
    let mut document = Document::answering(title, sentence(answer));
    document.table(hosts(answer, lab));
    document.say(answer.stopped.then_some(STOPPED));
    document.say(left_over(answer));
    if !answer.unplaced.is_empty() && answer.proven {
        document.paragraph("No placement holds all of them: every way was tried or ruled out.");
    }
    if answer.holds.is_none() {
        document.paragraph(needed(&answer.needed, answer.spare));
    }
    document.say(full(answer));
    document.section(Rank::Brief).say(emptied(answer));
    document.caution_lines(&answer.cautions, "Everything: --full.");
    if !answer.after.is_empty() {
        document.heading(2, "Where guests go when hosts fail");
        document.table(takeovers(answer));
    }
    document.heading(2, "How full each host is");
    document.table(loads(answer));
    document.heading(2, "To empty a host");
    document.table(emptying(answer));
    document.cautions(2, &answer.cautions);
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
    // Of equal ones the first.
    let loads = host.loads.0.iter().rev();
    let most = loads.max_by(|(_, one), (_, other)| one.total_cmp(other));
    let said = most.map(|(named, share)| {
        let period = host.periods.get(&named.name);
        let period = period.map(|period| format!(", {period}"));
        let period = period.unwrap_or_default();
        format!("{} {}{period}", label(&named.name), load(*share))
    });
    said.unwrap_or_default()
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
    let unknown = || "no link given".to_owned();
    let time = |seconds: Option<f64>| seconds.map_or_else(unknown, format::seconds);
    Table::of(&answer.hosts)
        .left("host", |host| host.name.as_str())
        .right("memory of its machines", |host| time(host.empty_s))
        .right("with their disks", |host| time(host.empty_with_disks_s))
        .left("in this order", |host| moves(host.empty_to.as_deref()))
}

fn takeovers(answer: &FleetAnswer) -> Rows<&Takeover> {
    Table::of(&answer.after)
        .left("if these fail", |after| format::listed(&after.failed))
        .left("their guests start again", |one| {
            moves(one.moves.as_deref())
        })
}
