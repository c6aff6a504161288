//! The rows of `compare`: each with its value for every host, in words and numbers, and the host that is better.

use crate::model::YEAR;
use crate::purchase::compare::CompareAnswer;
use crate::purchase::compare::{
    Better, best_host, cost_per_guest, held, life, runs, watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::name::{count_or, found, holds, load, or_dash, resource_label};

/// A row.
pub(super) struct Row {
    /// What it is.
    pub label: String,
    /// Unit of the values; empty for words.
    pub unit: String,
    /// Values for a spreadsheet, in the order of the hosts.
    pub values: Vec<Option<f64>>,
    /// The same as a person reads them.
    pub texts: Vec<String>,
    /// Place of the host that is better than all others.
    pub winner: Option<usize>,
}

impl Row {
    /// Whether nothing is known of any host.
    pub fn is_empty(&self) -> bool {
        self.texts.iter().all(|text| text == "–")
    }
}

/// A row of numbers.
fn numbers(
    hosts: &[HostAnswer],
    label: impl Into<String>,
    unit: &str,
    better: Option<Better>,
    value: impl Fn(&HostAnswer) -> Option<f64>,
    text: impl Fn(&HostAnswer) -> String,
) -> Row {
    Row {
        label: label.into(),
        unit: unit.to_owned(),
        winner: better.and_then(|better| best_host(hosts, &value, better)),
        values: hosts.iter().map(&value).collect(),
        texts: hosts.iter().map(text).collect(),
    }
}

/// A row of words.
fn words(hosts: &[HostAnswer], label: &str, text: impl Fn(&HostAnswer) -> String) -> Row {
    numbers(hosts, label, "", None, |_| None, text)
}

/// All rows, those without any value included.
pub(super) fn rows(answer: &CompareAnswer) -> Vec<Row> {
    let mut rows = counts(answer);
    rows.extend(money_and_power(answer));
    rows
}

fn counts(answer: &CompareAnswer) -> Vec<Row> {
    let hosts = &answer.hosts;
    let unit = hosts.first().map_or("guests", |host| host.unit);
    let fits = |host: &HostAnswer| match host.fits {
        Some(n) => format::count(n),
        None if runs(host) => "any number".to_owned(),
        None => "does not fit".to_owned(),
    };
    type Count = fn(&HostAnswer) -> Option<u64>;
    let count = |label: String, count: Count, text: fn(&HostAnswer) -> String| {
        let value = |host: &HostAnswer| held(host, count(host));
        numbers(hosts, label, unit, Some(Better::More), value, text)
    };
    let alone = |label: &str| format!("memory alone: {label}");
    vec![
        count(format!("safely holds, {unit}"), |h| h.fits, fits),
        words(hosts, "runs out first", first),
        words(hosts, "then", then),
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
        numbers(
            hosts,
            alone("by the plain sum"),
            unit,
            None,
            |h| h.plain_sum.bound().map(|n| n as f64),
            |h| found(h.plain_sum),
        ),
        numbers(hosts, "memory load", "share", None, memory, |h| {
            or_dash(memory(h), load)
        }),
    ]
}

fn memory(host: &HostAnswer) -> Option<f64> {
    let mut resources = host.resources.iter();
    let memory = resources.find(|one| one.resource == Resource::Memory);
    memory.map(|one| one.load).filter(|load| load.is_finite())
}

/// What binds on a host.
fn first(host: &HostAnswer) -> String {
    let binding = host
        .resources
        .iter()
        .filter(|one| host.binds.contains(&one.name));
    let labels: Vec<String> = binding
        .map(|one| resource_label(one.resource, &one.name))
        .collect();
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
        Some(one) => format!(
            "{} at {}",
            resource_label(one.resource, &one.name),
            holds(one)
        ),
        None => "nothing".to_owned(),
    }
}

fn money_and_power(answer: &CompareAnswer) -> Vec<Row> {
    let unit = if answer.currency.is_empty() {
        "money"
    } else {
        &answer.currency
    };
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
    type Text<'a> = &'a dyn Fn(f64) -> String;
    let less: [(&str, &str, Value, Text); 6] = [
        ("price", unit, |h| h.cost.as_ref()?.price, &money),
        (&per_guest, unit, cost_per_guest, &money),
        (
            "watts at the wall",
            "W",
            |h| Some(h.power.as_ref()?.watts),
            &format::power,
        ),
        ("watts per guest", "W", watts_per_guest, &format::power),
        (
            "energy a year, at most",
            "kWh",
            |h| Some(h.power.as_ref()?.kwh_per_year),
            &format::energy,
        ),
        (
            "money a year for energy",
            unit,
            |h| h.cost.as_ref()?.running_per_year,
            &money,
        ),
    ];
    let row = |label: &str, unit: &str, better: Better, value: Value, text: Text| {
        let text = |host: &HostAnswer| or_dash(value(host), text);
        numbers(&answer.hosts, label, unit, Some(better), value, text)
    };
    let less = less.into_iter();
    let mut rows: Vec<Row> = less
        .map(|(label, unit, value, text)| row(label, unit, Better::Less, value, text))
        .collect();
    let label = "disk: rated writes used up in";
    rows.push(row(label, "years", Better::More, life, &ends));
    rows
}
