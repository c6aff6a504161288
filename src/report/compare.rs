//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::choose::several_of_a_kind;
use super::document::{Document, Rank};
use super::hosts;
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::YEAR;
use crate::purchase::compare::{
    Better, CompareAnswer, best_host, cost_per_guest, held, lasts, life, price_per_month, runs,
    watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::unit::format;
use crate::words::choose::{best, break_even, guessed, holds_more, several};
use crate::words::fit::{holds, lead, not_alike, total, total_found};
use crate::words::growth;
use crate::words::name::{count_or, label, load, or_dash, titled};

/// Pairs of hosts that a short screen says something of.
const PAIRS: usize = 3;

/// Builds the document of an answer of `compare`.
pub fn document(answer: &CompareAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("Hosts side by side", &answer.lab));
    document.section(Rank::Answer);
    document.lead(best(answer));
    document.section(Rank::Brief);
    document.table(short(answer, lab));
    let pairs = answer.break_even.iter();
    let pairs = pairs.map(|pair| break_even(pair, &lab.currency, &answer.hosts));
    let pairs: Vec<String> = pairs.collect();
    for pair in pairs.iter().take(PAIRS) {
        document.paragraph(pair);
    }
    document.section(Rank::Answer);
    if let Some(several) = several(&answer.multiples, &lab.currency) {
        document.paragraph(several);
    }
    if let Some(draws) = holds_more(&answer.holds_more) {
        document.paragraph(draws);
    }
    if let Some(note) = not_alike(&answer.hosts) {
        document.paragraph(note);
    }
    document.caution_lines(&hosts::caution_lines(&answer.hosts), "Everything: --full.");
    document.heading(2, "Each host");
    document.list(answer.hosts.iter().map(|host| lead(host, lab)));
    document.table(table(answer, lab));
    document.list(pairs);
    several_of_a_kind(&mut document, &answer.multiples, lab);
    document.paragraph(guessed(&answer.hosts));
    document.cautions(2, &hosts::cautions(&answer.hosts));
    document
}

/// A line a host; what is known of none has no column.
fn short<'a>(answer: &'a CompareAnswer, lab: &Lab) -> Rows<&'a HostAnswer> {
    type Value = fn(&HostAnswer) -> Option<f64>;
    type Column<'a> = (&'a str, Value, &'a dyn Fn(f64) -> String);
    let money = |amount| format::money(amount, &answer.currency);
    let watts: Value = |host| Some(host.power.as_ref()?.watts);
    let years: Value = |host| life(host).filter(|years| years.is_finite());
    let horizon = format!("per guest, {}", format::years(answer.years));
    let columns: [Column; 4] = [
        ("price a month", price_per_month, &money),
        (&horizon, cost_per_guest, &money),
        ("at the wall", watts, &format::power),
        ("disks last", years, &|years| format::seconds(years * YEAR)),
    ];
    let mut table = hosts::table(&answer.hosts, lab);
    for (heading, value, text) in columns {
        if answer.hosts.iter().any(|host| value(host).is_some()) {
            table = table.right(heading, |host| or_dash(value(host), text));
        }
    }
    table
}

fn table(answer: &CompareAnswer, lab: &Lab) -> Rows<Row> {
    let word = if answer.hosts.len() > 2 {
        "best"
    } else {
        "better"
    };
    let known = rows(answer, lab).into_iter().filter(|row| !row.is_empty());
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
fn rows(answer: &CompareAnswer, lab: &Lab) -> Vec<Row> {
    let mut rows = counts(&answer.hosts, lab);
    rows.extend(money_and_power(answer));
    rows
}

fn counts(hosts: &[HostAnswer], lab: &Lab) -> Vec<Row> {
    let fits = |host: &HostAnswer| match host.fits {
        Some(n) => format::count(total(host, lab, n)),
        None if runs(host) => "no limit".to_owned(),
        None => "does not fit".to_owned(),
    };
    type Count = fn(&HostAnswer) -> Option<u64>;
    let count = |label: &str, count: Count, text: &dyn Fn(&HostAnswer) -> String| {
        let value = |host: &HostAnswer| held(host, count(host));
        Row::words(hosts, label, text).best(hosts, Better::More, value)
    };
    let reached = |host: &HostAnswer| {
        let n = host.breaks_at.map(|n| total(host, lab, n));
        count_or(n, "not reached")
    };
    vec![
        count("safely holds, guests", |h| h.fits, &fits),
        Row::words(hosts, "runs out first", hosts::first),
        Row::words(hosts, "then", |host| then(host, lab)),
        count("cliff at the latest", |h| h.breaks_at, &reached),
        count("memory alone: fresh guests", |h| h.fresh.bound(), &|h| {
            total_found(h, lab, h.fresh)
        }),
        count(
            "memory alone: without page sharing",
            |h| h.unshared.bound(),
            &|h| total_found(h, lab, h.unshared),
        ),
        Row::words(hosts, "memory alone: by the plain sum", |h| {
            total_found(h, lab, h.plain_sum)
        }),
        Row::words(hosts, "memory load", |h| or_dash(memory(h), load)),
    ]
}

fn memory(host: &HostAnswer) -> Option<f64> {
    let mut resources = host.resources.iter();
    let memory = resources.find(|one| one.resource == Resource::Memory);
    memory.map(|one| one.load).filter(|load| load.is_finite())
}

/// What would bind next.
fn then(host: &HostAnswer, lab: &Lab) -> String {
    let mut after = host
        .resources
        .iter()
        .filter(|one| !host.binds.contains(&one.name));
    match after.find(|one| one.fits.is_some()) {
        Some(one) => format!("{} at {}", label(&one.name), holds(host, lab, one)),
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
        row(
            "full if guests keep coming in",
            Better::More,
            lasts,
            &growth::lasts,
        ),
        less("price a month until then", price_per_month, &money),
        less("price", |h| h.cost.as_ref()?.price, &money),
        less(&per_guest, cost_per_guest, &money),
        less("watts at the wall", watts, &format::power),
        less("watts per guest", watts_per_guest, &format::power),
        less("energy a year, at most", energy, &format::energy),
        less("money a year for energy", running, &money),
        row("disk: rated writes used up in", Better::More, life, &ends),
    ]
}
