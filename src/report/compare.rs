//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::compare_rows::{Row, rows};
use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::compare::CompareAnswer;
use crate::sizing::answer::HostAnswer;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::choose::break_even;
use crate::words::name::label;
use crate::words::sentence::sentence;

/// Builds the document of an answer of `compare`.
#[must_use]
pub fn document(answer: &CompareAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    let title = match answer.lab.as_str() {
        "" => "Hosts side by side".to_owned(),
        name => format!("Hosts side by side: {name}"),
    };
    document.heading(1, title);
    for host in &answer.hosts {
        document.lead(sentence(host, lab));
    }
    document.table(table(answer));
    let pairs = answer.break_even.iter();
    document.list(pairs.map(|pair| break_even(pair, &lab.currency)));
    if let Some(note) = considered(&answer.hosts) {
        document.paragraph(note);
    }
    document.paragraph(guessed(&answer.hosts));
    document.section(Rank::Reasons, 2, "Cautions");
    for ((id, text), names) in shared_cautions(&answer.hosts) {
        document.caution(id, whose(&names, answer.hosts.len()) + &text);
    }
    document
}

fn table(answer: &CompareAnswer) -> Rows<Row> {
    let word = if answer.hosts.len() > 2 {
        "best"
    } else {
        "better"
    };
    let known = rows(answer).into_iter().filter(|row| !row.is_empty());
    let mut table = Table::of(known).left("", |row| row.label.clone());
    for (index, host) in answer.hosts.iter().enumerate() {
        table = table.right(&host.name, |row| {
            let text = &row.texts[index];
            if row.winner == Some(index) {
                Cell::strong(format!("{text} ({word})"))
            } else {
                text.clone().into()
            }
        });
    }
    table
}

/// What is considered on some hosts and not on others: their counts are then not of the same kind.
fn considered(hosts: &[HostAnswer]) -> Option<String> {
    let base = |name: &str| name.split(':').next().unwrap_or(name).to_owned();
    let limits = |host: &HostAnswer| -> Vec<String> {
        host.resources.iter().map(|one| base(&one.name)).collect()
    };
    let anywhere: Vec<String> = hosts.iter().flat_map(limits).collect();
    let lacking: Vec<String> = hosts
        .iter()
        .filter_map(|host| {
            let mut lacks: Vec<String> = Vec::new();
            for name in host.not_considered.iter().map(|name| base(name)) {
                if anywhere.contains(&name) && !lacks.contains(&name) {
                    lacks.push(name);
                }
            }
            (!lacks.is_empty()).then(|| {
                let labels: Vec<String> = lacks.iter().map(|name| label(name)).collect();
                format!("{} ({})", host.name, labels.join(", "))
            })
        })
        .collect();
    (!lacking.is_empty()).then(|| {
        format!(
            "Not considered on some hosts and considered on others, so that their counts are not of the same kind: {}.",
            format::listed(&lacking)
        )
    })
}

/// How many values were guessed, and where they are listed.
fn guessed(hosts: &[HostAnswer]) -> String {
    let counts: Vec<String> = hosts
        .iter()
        .map(|host| {
            let guessed = format::plural(host.guesses.len() as u64, "value", "values");
            format!("{guessed} for {}", host.name)
        })
        .collect();
    format!(
        "Guessed, because nobody gave them: {} (`fit` lists them).",
        format::listed(&counts)
    )
}

/// Cautions with the hosts they apply to, each text once.
fn shared_cautions(hosts: &[HostAnswer]) -> Vec<((&'static str, String), Vec<&str>)> {
    let mut shared: Vec<((&'static str, String), Vec<&str>)> = Vec::new();
    for host in hosts {
        for caution in host.cautions.iter().map(Caution::worded) {
            match shared.iter_mut().find(|(seen, _)| *seen == caution) {
                Some((_, names)) => names.push(&host.name),
                None => shared.push((caution, vec![&host.name])),
            }
        }
    }
    // The estimate is said last whatever host comes first.
    shared.sort_by_key(|((id, _), _)| *id == "estimate");
    shared
}

fn whose(names: &[&str], hosts: usize) -> String {
    if names.len() == hosts {
        String::new()
    } else {
        format!("{}: ", names.join(", "))
    }
}
