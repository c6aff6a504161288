//! The rows of `compare`: each with its value for every host, in words and numbers, and the host that is better.

use crate::model::YEAR;
use crate::purchase::compare::CompareAnswer;
use crate::purchase::compare::{
    Better, best_host, cost_per_guest, held, life, runs, watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::name::{count_or, found, holds, label, load, or_dash};

/// A row.
pub(super) struct Row {
    /// What it is.
    pub label: String,
    /// What is known of each host, in their order.
    pub texts: Vec<String>,
    /// Place of the host that is better than all others.
    pub winner: Option<usize>,
}

impl Row {
    /// Whether nothing is known of any host.
    pub fn is_empty(&self) -> bool {
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
pub(super) fn rows(answer: &CompareAnswer) -> Vec<Row> {
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
    let binding = host
        .resources
        .iter()
        .filter(|one| host.binds.contains(&one.name));
    let labels: Vec<String> = binding.map(|one| label(&one.name)).collect();
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
