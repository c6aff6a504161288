//! Several hosts on a short screen: a line each, what they have in common once.

use super::document::Document;
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::compare::{lasts, runs};
use crate::sizing::answer::HostAnswer;
use crate::unit::format;
use crate::words::caution::{Caution, Worded};
use crate::words::fit::{range, total, total_found};
use crate::words::growth;
use crate::words::name::{binding, count_or, label, or_dash};

/// A line a host: what it holds, what runs out first, where its cliff is.
pub(super) fn short(document: &mut Document, hosts: &[HostAnswer], lab: &Lab) {
    let counts = table(hosts, lab)
        .right("cliff at the latest", |host| {
            count_or(host.breaks_at.map(|n| total(host, lab, n)), "–")
        })
        .right("plain sum", |host| total_found(host, lab, host.plain_sum));
    document.table(counts);
    for (at_once, may) in [(true, "all guests may"), (false, "not all may")] {
        let restarts = |host: &HostAnswer| Some(host.restart.as_ref()?.all_at_once);
        let such = hosts.iter().filter(|host| restarts(host) == Some(at_once));
        let names = format::listed(such.map(|host| &host.name));
        if !names.is_empty() {
            document.paragraph(format!("After a power cut {may} start at once on {names}."));
        }
    }
}

/// Name, what it holds, what runs out first.
pub(super) fn table<'a>(hosts: &'a [HostAnswer], lab: &Lab) -> Rows<&'a HostAnswer> {
    let grows = hosts.iter().any(|host| host.full_in.is_some());
    Table::of(hosts)
        .left("host", |host| Cell::strong(&host.name))
        .right("holds", |host| match host.fits {
            _ if !runs(host) => "not these".to_owned(),
            Some(n) => format!("{}{}", format::count(total(host, lab, n)), range(host, lab)),
            None => "no limit".to_owned(),
        })
        .left("runs out first", |host| first(host))
        .right_if(grows, "full in", |host| or_dash(lasts(host), growth::lasts))
}

/// What binds on a host.
pub(super) fn first(host: &HostAnswer) -> String {
    let labels = binding(host).into_iter().map(|one| label(&one.name));
    let labels = format::joined(labels, ", ");
    match labels.is_empty() {
        true => "nothing".to_owned(),
        false => labels,
    }
}

/// The cautions of all hosts, each text once, with the hosts it applies to where those are not all.
pub(super) fn cautions(hosts: &[HostAnswer]) -> Vec<Worded> {
    shared(hosts, |one| &one.text)
}

/// The same by their lines.
pub(super) fn caution_lines(hosts: &[HostAnswer]) -> Vec<Worded> {
    shared(hosts, |one| &one.line)
}

fn shared(hosts: &[HostAnswer], by: impl Fn(&Worded) -> &str) -> Vec<Worded> {
    let mut shared: Vec<(Worded, Vec<&str>)> = Vec::new();
    for host in hosts {
        for caution in host.cautions.iter().map(Caution::worded) {
            match shared.iter_mut().find(|(seen, _)| by(seen) == by(&caution)) {
                Some((_, names)) => names.push(&host.name),
                None => shared.push((caution, vec![&host.name])),
            }
        }
    }
    // The estimate is said last whatever host comes first.
    shared.sort_by_key(|(one, _)| one.id == "estimate");
    let all = shared.into_iter().map(|(mut one, names)| {
        if names.len() < hosts.len() && !one.line.is_empty() {
            let names = names.join(", ");
            one.line = format!("{names}: {}", one.line).into();
            one.text = format!("{names}: {}", one.text).into();
        }
        one
    });
    all.collect()
}
