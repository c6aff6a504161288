//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::document::{Align, Cell, Document, Sheet, Table};
use super::sentence::sentence;
use super::words::{count_or, load, resource_label};
use crate::inventory::lab::Lab;
use crate::sizing::answer::{CompareAnswer, HostAnswer};
use crate::sizing::compare::{Better, best, cost_per_guest, life, watts_per_guest};
use crate::unit::format;

/// A row of numbers: what it is, its unit in the sheet, which way is better, and its value and text for a host.
struct Row {
    label: String,
    unit: String,
    better: Option<Better>,
    values: Vec<Option<f64>>,
    texts: Vec<String>,
}

/// Builds the document of an answer of `compare`.
#[must_use]
pub fn document(answer: &CompareAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(
        1,
        if answer.lab.is_empty() {
            "Hosts side by side".to_owned()
        } else {
            format!("Hosts side by side: {}", answer.lab)
        },
    );
    for host in &answer.hosts {
        document.lead(sentence(host, lab));
    }
    let rows = rows(answer, lab);
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
    for row in &rows {
        let winner = row.better.and_then(|better| best(&row.values, better));
        let cells = row.texts.iter().enumerate().map(|(index, text)| {
            if winner == Some(index) {
                Cell::strong(format!("{text} ({word})"))
            } else {
                Cell::text(text.clone())
            }
        });
        table.row(std::iter::once(Cell::text(row.label.clone())).chain(cells));
    }
    document.table(table);
    document.heading(3, "Cautions");
    for (caution, names) in shared_cautions(&answer.hosts) {
        let whose = if names.len() == answer.hosts.len() {
            String::new()
        } else {
            format!("{}: ", names.join(", "))
        };
        document.caution(caution.id, format!("{whose}{}", caution.text));
    }
    document.sheet = sheet(answer, &rows);
    document
}

/// Cautions with the hosts they apply to, each text once.
fn shared_cautions(
    hosts: &[HostAnswer],
) -> Vec<(&crate::sizing::answer::CautionAnswer, Vec<&str>)> {
    let mut shared: Vec<(&crate::sizing::answer::CautionAnswer, Vec<&str>)> = Vec::new();
    for host in hosts {
        for caution in &host.cautions {
            match shared.iter_mut().find(|(seen, _)| *seen == caution) {
                Some((_, names)) => names.push(&host.name),
                None => shared.push((caution, vec![&host.name])),
            }
        }
    }
    // The estimate is said last whatever host comes first.
    shared.sort_by_key(|(caution, _)| caution.id == "estimate");
    shared
}

fn rows(answer: &CompareAnswer, lab: &Lab) -> Vec<Row> {
    let hosts = &answer.hosts;
    let count = |value: Option<u64>| value.map(|value| value as f64);
    let row = |label: &str,
               unit: &str,
               better,
               value: &dyn Fn(&HostAnswer) -> Option<f64>,
               text: &dyn Fn(&HostAnswer) -> String| Row {
        label: label.to_owned(),
        unit: unit.to_owned(),
        better,
        values: hosts.iter().map(value).collect(),
        texts: hosts.iter().map(text).collect(),
    };
    let money = |amount: Option<f64>| {
        amount.map_or_else(
            || "–".to_owned(),
            |amount| format::money(amount, &lab.currency),
        )
    };
    let unit = hosts.first().map_or("guests", |host| host.unit);
    let more = Some(Better::More);
    let less = Some(Better::Less);
    let years = format::number(lab.years);
    let first = |host: &HostAnswer| {
        let labels: Vec<String> = host
            .resources
            .iter()
            .filter(|one| host.binds.contains(&one.name))
            .map(|one| resource_label(one.resource, &one.name))
            .collect();
        if labels.is_empty() {
            "nothing".to_owned()
        } else {
            labels.join(", ")
        }
    };
    let next = |host: &HostAnswer| {
        let after = host
            .resources
            .iter()
            .find(|one| !host.binds.contains(&one.name));
        after.map_or_else(
            || "nothing".to_owned(),
            |one| {
                format!(
                    "{} at {}",
                    resource_label(one.resource, &one.name),
                    super::words::holds(one)
                )
            },
        )
    };
    let memory_load = |host: &HostAnswer| {
        host.resources
            .iter()
            .find(|one| one.name == "memory")
            .map(|one| one.load)
    };
    let mut rows = vec![
        row(
            &format!("safely holds, {unit}"),
            unit,
            more,
            &|h| count(h.fits),
            &|h| {
                count_or(
                    h.fits,
                    if h.binds.is_empty() {
                        "no limit"
                    } else {
                        "does not fit"
                    },
                )
            },
        ),
        row("runs out first", "", None, &|_| None, &first),
        row("then", "", None, &|_| None, &next),
        row(
            "kernel kills guests at",
            unit,
            more,
            &|h| count(h.breaks_at),
            &|h| count_or(h.breaks_at, "not reached"),
        ),
        row("fresh guests", unit, more, &|h| count(h.fresh), &|h| {
            count_or(h.fresh, "–")
        }),
        row(
            "without page sharing",
            unit,
            more,
            &|h| count(h.unshared),
            &|h| count_or(h.unshared, "–"),
        ),
        row(
            "by the plain sum",
            unit,
            None,
            &|h| count(h.plain_sum),
            &|h| count_or(h.plain_sum, "–"),
        ),
        row("memory load", "share", None, &memory_load, &|h| {
            memory_load(h).map_or_else(String::new, load)
        }),
        row(
            "price",
            "money",
            less,
            &|h| h.cost.as_ref().and_then(|c| c.price),
            &|h| money(h.cost.as_ref().and_then(|c| c.price)),
        ),
        row(
            &format!("cost per guest, {years} years"),
            "money",
            less,
            &cost_per_guest,
            &|h| money(cost_per_guest(h)),
        ),
        row(
            "watts at the wall",
            "W",
            less,
            &|h| h.power.as_ref().map(|p| p.watts),
            &|h| {
                h.power
                    .as_ref()
                    .map_or_else(|| "–".to_owned(), |p| format::power(p.watts))
            },
        ),
        row("watts per guest", "W", less, &watts_per_guest, &|h| {
            watts_per_guest(h).map_or_else(|| "–".to_owned(), format::power)
        }),
        row(
            "energy a year, at most",
            "kWh",
            less,
            &|h| h.power.as_ref().map(|p| p.kwh_per_year),
            &|h| {
                h.power
                    .as_ref()
                    .map_or_else(|| "–".to_owned(), |p| format::energy(p.kwh_per_year))
            },
        ),
    ];
    let yearly = |host: &HostAnswer| {
        host.power
            .as_ref()
            .zip(lab.tariff)
            .map(|(power, tariff)| power.kwh_per_year * tariff)
    };
    rows.push(row("money a year for it", "money", less, &yearly, &|h| {
        money(yearly(h))
    }));
    rows.push(row(
        "disk: rated writes used up in",
        "years",
        more,
        &life,
        &|h| {
            life(h).map_or_else(
                || "–".to_owned(),
                |years| format::seconds(years * crate::model::YEAR),
            )
        },
    ));
    rows
}

fn sheet(answer: &CompareAnswer, rows: &[Row]) -> Sheet {
    let mut header = vec!["measure".to_owned(), "unit".to_owned()];
    header.extend(answer.hosts.iter().map(|host| host.name.clone()));
    header.push("better".to_owned());
    let mut sheet = Sheet::new(header);
    for row in rows {
        let winner = row.better.and_then(|better| best(&row.values, better));
        let values = row
            .values
            .iter()
            .zip(&row.texts)
            .map(|(value, text)| match value {
                Some(value) => value.to_string(),
                None if row.unit.is_empty() => text.clone(),
                None => String::new(),
            });
        let cells = [row.label.clone(), row.unit.clone()]
            .into_iter()
            .chain(values);
        sheet
            .row(cells.chain([
                winner.map_or_else(String::new, |index| answer.hosts[index].name.clone()),
            ]));
    }
    sheet
}
