//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::YEAR;
use crate::purchase::compare::{
    Better, CompareAnswer, best_host, cost_per_guest, held, life, runs, watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::caution::Caution;
use crate::words::choose::break_even;
use crate::words::compare::{guessed, not_alike};
use crate::words::name::{binding, count_or, found, holds, label, load, or_dash, titled};
use crate::words::sentence::sentence;

/// Builds the document of an answer of `compare`.
#[must_use]
pub fn document(answer: &CompareAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("Hosts side by side", &answer.lab));
    for host in &answer.hosts {
        document.lead(sentence(host, lab));
    }
    document.table(table(answer));
    let pairs = answer.break_even.iter();
    document.list(pairs.map(|pair| break_even(pair, &lab.currency)));
    if let Some(note) = not_alike(&answer.hosts) {
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

/// A row.
struct Row {
    /// What it is.
    label: String,
    /// What is known of each host, in their order.
    texts: Vec<String>,
    /// Place of the host that is better than all others.
    winner: Option<usize>,
}

impl Row {
    /// Whether nothing is known of any host.
    fn is_empty(&self) -> bool {
        self.texts.iter().all(|text| text == "–")
    }

    /// A row of words.
    fn words(
        hosts: &[HostAnswer],
        label: impl Into<String>,
        text: impl Fn(&HostAnswer) -> String,
    ) -> Row {
        Row {
            label: label.into(),
            texts: hosts.iter().map(text).collect(),
            winner: None,
        }
    }

    /// The row with the host that is better by a value.
    fn best(
        self,
        hosts: &[HostAnswer],
        better: Better,
        value: impl Fn(&HostAnswer) -> Option<f64>,
    ) -> Row {
        Row {
            winner: best_host(hosts, value, better),
            ..self
        }
    }
}

/// All rows, those without any value included.
fn rows(answer: &CompareAnswer) -> Vec<Row> {
    let mut rows = counts(&answer.hosts);
    rows.extend(money_and_power(answer));
    rows
}

fn counts(hosts: &[HostAnswer]) -> Vec<Row> {
    let unit = hosts.first().map_or("guests", |host| host.unit);
    let fits = |host: &HostAnswer| match host.fits {
        Some(n) => format::count(n),
        None if runs(host) => "any number".to_owned(),
        None => "does not fit".to_owned(),
    };
    type Count = fn(&HostAnswer) -> Option<u64>;
    let count = |label: String, count: Count, text: fn(&HostAnswer) -> String| {
        let value = |host: &HostAnswer| held(host, count(host));
        Row::words(hosts, label, text).best(hosts, Better::More, value)
    };
    let alone = |label: &str| format!("memory alone: {label}");
    vec![
        count(format!("safely holds, {unit}"), |h| h.fits, fits),
        Row::words(hosts, "runs out first", first),
        Row::words(hosts, "then", then),
        count(
            "kernel kills guests at".to_owned(),
            |h| h.breaks_at,
            |h| count_or(h.breaks_at, "not reached"),
        ),
        count(
            alone("fresh guests"),
            |h| h.fresh.bound(),
            |h| found(h.fresh),
        ),
        count(
            alone("without page sharing"),
            |h| h.unshared.bound(),
            |h| found(h.unshared),
        ),
        Row::words(hosts, alone("by the plain sum"), |h| found(h.plain_sum)),
        Row::words(hosts, "memory load", |h| or_dash(memory(h), load)),
    ]
}

fn memory(host: &HostAnswer) -> Option<f64> {
    let mut resources = host.resources.iter();
    let memory = resources.find(|one| one.resource == Resource::Memory);
    memory.map(|one| one.load).filter(|load| load.is_finite())
}

/// What binds on a host.
fn first(host: &HostAnswer) -> String {
    let labels: Vec<String> = binding(host).iter().map(|one| label(&one.name)).collect();
    if labels.is_empty() {
        "nothing".to_owned()
    } else {
        labels.join(", ")
    }
}

/// What would bind next.
fn then(host: &HostAnswer) -> String {
    let mut after = host
        .resources
        .iter()
        .filter(|one| !host.binds.contains(&one.name));
    match after.find(|one| one.fits.is_some()) {
        Some(one) => format!("{} at {}", label(&one.name), holds(one)),
        None => "nothing".to_owned(),
    }
}

fn money_and_power(answer: &CompareAnswer) -> Vec<Row> {
    let money = |amount| format::money(amount, &answer.currency);
    let per_guest = format!(
        "price and energy per guest, {}",
        format::years(answer.years)
    );
    let ends = |years: f64| match years.is_finite() {
        true => format::seconds(years * YEAR),
        false => "never".to_owned(),
    };
    type Value = fn(&HostAnswer) -> Option<f64>;
    let row = |label: &str, better: Better, value: Value, text: &dyn Fn(f64) -> String| {
        let words = |host: &HostAnswer| or_dash(value(host), text);
        Row::words(&answer.hosts, label, words).best(&answer.hosts, better, value)
    };
    let less = |label: &str, value: Value, text: &dyn Fn(f64) -> String| {
        row(label, Better::Less, value, text)
    };
    let watts: Value = |h| Some(h.power.as_ref()?.watts);
    let energy: Value = |h| Some(h.power.as_ref()?.kwh_per_year);
    let running: Value = |h| h.cost.as_ref()?.running_per_year;
    vec![
        less("price", |h| h.cost.as_ref()?.price, &money),
        less(&per_guest, cost_per_guest, &money),
        less("watts at the wall", watts, &format::power),
        less("watts per guest", watts_per_guest, &format::power),
        less("energy a year, at most", energy, &format::energy),
        less("money a year for energy", running, &money),
        row("disk: rated writes used up in", Better::More, life, &ends),
    ]
}
