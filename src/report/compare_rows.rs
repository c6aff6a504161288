//! The rows of `compare`: each with its value for every host, in words and numbers, and the host that is better.

use crate::model::YEAR;
use crate::purchase::compare::CompareAnswer;
use crate::purchase::compare::{
    Better, best_host, cost_per_guest, held, life, runs, watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::name::{count_or, found, holds, load, resource_label};

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

/// What stands where a value is not known.
const UNKNOWN: &str = "–";

impl Row {
    /// Whether nothing is known of any host.
    pub fn is_empty(&self) -> bool {
        self.texts.iter().all(|text| text == UNKNOWN)
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
    let more = Some(Better::More);
    let memory = |host: &HostAnswer| {
        let found = host
            .resources
            .iter()
            .find(|one| one.resource == Resource::Memory);
        found.map(|one| one.load).filter(|load| load.is_finite())
    };
    let fits = |host: &HostAnswer| match host.fits {
        Some(n) => format::count(n),
        None if runs(host) => "any number".to_owned(),
        None => "does not fit".to_owned(),
    };
    let alone = |label: &str| format!("memory alone: {label}");
    vec![
        numbers(
            hosts,
            format!("safely holds, {unit}"),
            unit,
            more,
            |h| held(h, h.fits),
            fits,
        ),
        words(hosts, "runs out first", first),
        words(hosts, "then", then),
        numbers(
            hosts,
            "kernel kills guests at",
            unit,
            more,
            |h| held(h, h.breaks_at),
            |h| count_or(h.breaks_at, "not reached"),
        ),
        numbers(
            hosts,
            alone("fresh guests"),
            unit,
            more,
            |h| held(h, h.fresh),
            |h| found(h.counts.fresh),
        ),
        numbers(
            hosts,
            alone("without page sharing"),
            unit,
            more,
            |h| held(h, h.unshared),
            |h| found(h.counts.unshared),
        ),
        numbers(
            hosts,
            alone("by the plain sum"),
            unit,
            None,
            |h| h.plain_sum.map(|n| n as f64),
            |h| found(h.counts.plain_sum),
        ),
        numbers(hosts, "memory load", "share", None, memory, |h| {
            memory(h).map_or_else(|| UNKNOWN.to_owned(), load)
        }),
    ]
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
    let hosts = &answer.hosts;
    let less = Some(Better::Less);
    let unit = if answer.currency.is_empty() {
        "money"
    } else {
        &answer.currency
    };
    let money = |amount: Option<f64>| {
        amount.map_or_else(
            || UNKNOWN.to_owned(),
            |amount| format::money(amount, &answer.currency),
        )
    };
    let shown = |value: Option<f64>, text: fn(f64) -> String| {
        value.map_or_else(|| UNKNOWN.to_owned(), text)
    };
    let price = |host: &HostAnswer| host.cost.as_ref().and_then(|cost| cost.price);
    let yearly = |host: &HostAnswer| host.cost.as_ref().and_then(|cost| cost.running_per_year);
    let watts = |host: &HostAnswer| host.power.as_ref().map(|power| power.watts);
    let energy = |host: &HostAnswer| host.power.as_ref().map(|power| power.kwh_per_year);
    let years = format::years(answer.years);
    let ends = |host: &HostAnswer| match life(host) {
        Some(years) if years.is_finite() => format::seconds(years * YEAR),
        Some(_) => "never".to_owned(),
        None => UNKNOWN.to_owned(),
    };
    vec![
        numbers(hosts, "price", unit, less, price, |h| money(price(h))),
        numbers(
            hosts,
            format!("price and energy per guest, {years}"),
            unit,
            less,
            cost_per_guest,
            |h| money(cost_per_guest(h)),
        ),
        numbers(hosts, "watts at the wall", "W", less, watts, |h| {
            shown(watts(h), format::power)
        }),
        numbers(hosts, "watts per guest", "W", less, watts_per_guest, |h| {
            shown(watts_per_guest(h), format::power)
        }),
        numbers(hosts, "energy a year, at most", "kWh", less, energy, |h| {
            shown(energy(h), format::energy)
        }),
        numbers(hosts, "money a year for energy", unit, less, yearly, |h| {
            money(yearly(h))
        }),
        numbers(
            hosts,
            "disk: rated writes used up in",
            "years",
            Some(Better::More),
            life,
            ends,
        ),
    ]
}
