//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::compare_rows::{Row, rows};
use super::document::{Align, Cell, Document, Sheet, Table};
use crate::lab::Lab;
use crate::purchase::compare::CompareAnswer;
use crate::sizing::answer::HostAnswer;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::choose::break_even;
use crate::words::name::name_label;
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
    let rows = rows(answer);
    document.table(table(answer, &rows));
    let pairs = answer.break_even.iter();
    document.list(pairs.map(|pair| break_even(pair, &lab.currency)));
    if let Some(note) = considered(&answer.hosts) {
        document.paragraph(note);
    }
    document.paragraph(guessed(&answer.hosts));
    document.heading(2, "Cautions");
    for ((id, text), names) in shared_cautions(&answer.hosts) {
        document.caution(id, whose(&names, answer.hosts.len()) + &text);
    }
    document.sheet = sheet(answer, &rows);
    document
}

fn table(answer: &CompareAnswer, rows: &[Row]) -> Table {
    let mut headings = vec![("", Align::Left)];
    headings.extend(
        answer
            .hosts
            .iter()
            .map(|host| (host.name.as_str(), Align::Right)),
    );
    let mut table = Table::new(&headings);
    let word = if answer.hosts.len() > 2 {
        "best"
    } else {
        "better"
    };
    for row in rows.iter().filter(|row| !row.is_empty()) {
        let cells = row.texts.iter().enumerate().map(|(index, text)| {
            if row.winner == Some(index) {
                Cell::strong(format!("{text} ({word})"))
            } else {
                Cell::text(text.clone())
            }
        });
        table.row(std::iter::once(Cell::text(row.label.clone())).chain(cells));
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
                let labels: Vec<String> = lacks.iter().map(|name| name_label(name)).collect();
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

fn sheet(answer: &CompareAnswer, rows: &[Row]) -> Sheet {
    let mut header = vec!["measure".to_owned(), "unit".to_owned()];
    header.extend(answer.hosts.iter().map(|host| host.name.clone()));
    header.push("better".to_owned());
    let mut sheet = Sheet::new(header);
    for row in rows {
        let values = row
            .values
            .iter()
            .zip(&row.texts)
            .map(|(value, text)| match value {
                Some(value) if value.is_finite() => value.to_string(),
                _ if row.unit.is_empty() => text.clone(),
                _ => String::new(),
            });
        let cells = [row.label.clone(), row.unit.clone()]
            .into_iter()
            .chain(values);
        let winner = row
            .winner
            .map_or_else(String::new, |index| answer.hosts[index].name.clone());
        sheet.row(cells.chain([winner]));
    }
    for ((id, text), names) in shared_cautions(&answer.hosts) {
        let texts = answer.hosts.iter().map(|host| {
            let applies = names.contains(&host.name.as_str());
            if applies { text.clone() } else { String::new() }
        });
        let cells = [format!("caution {id}"), String::new()]
            .into_iter()
            .chain(texts);
        sheet.row(cells.chain([String::new()]));
    }
    sheet
}
